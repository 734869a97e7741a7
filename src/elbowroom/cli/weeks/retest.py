"""`elbowroom weeks retest`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp
from elbowroom.cli.record.plan_files import show_result
from elbowroom.cli.weeks.opening import add_json_option, open_weeks


@click.command("retest", epilog="Example:  elbowroom weeks retest 4f1c...")
@click.argument("athlete_id")
@click.option("--visits", nargs=2, default=None, help="Ids of two visits; the last two where left out.")
@click.option("--keep", "is_kept", is_flag=True, help="Keep the comparison in the record.")
@add_json_option
@add_person_option
def compare_visits(athlete_id: str, visits: tuple[str, str] | None, is_kept: bool, is_json: bool, person: str) -> None:
    """Hold a whole visit against an earlier one: what changed, and whether it is real."""
    from elbowroom.service import holds, retesting, week_lines

    tools = open_weeks()
    stamp = make_stamp(tools.record, person)
    comparison = retesting.compare_visits(tools, athlete_id, visits)
    if is_kept:
        retesting.keep_retest(tools, comparison, stamp)
    holds.note_look(tools.record, athlete_id, "retest", stamp)
    show_result(week_lines.list_comparison_lines(comparison), retesting.describe_comparison(comparison), is_json)
