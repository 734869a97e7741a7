"""`elbowroom record drills`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools
from elbowroom.cli.record.plan_files import show_result


@click.command("drills", epilog="Example:  elbowroom record drills 4f1c... --stage building --keep")
@click.argument("athlete_id")
@click.option(
    "--stage",
    type=click.Choice(["learning", "building", "returning"]),
    default="learning",
    show_default=True,
    help="Where the athlete stands in the work.",
)
@click.option("--keep", "is_kept", is_flag=True, help="Keep the choice in the record.")
@click.option("--json", "is_json", is_flag=True, help="Print JSON (`elbowroom schema drills`).")
@add_person_option
def choose_drills(athlete_id: str, stage: str, is_kept: bool, is_json: bool, person: str) -> None:
    """Choose drills by the newest screening, exam and intake, and say why, and why not the others.

    On hold nothing is chosen. The rules can be read and changed with `elbowroom record rules`.
    """
    from elbowroom import bootstrap_plan
    from elbowroom.service import drilling, holds, plan_choices, plan_words

    tables = bootstrap_plan.build_plan_tables()
    tools = open_tools()
    stamp = make_stamp(tools, person)
    if is_kept:
        view = drilling.keep_drill_plan(tools, tables, athlete_id, plan_choices.find_stage(stage), stamp)
    else:
        holds.note_look(tools, athlete_id, "drills", stamp)
        view = drilling.choose_for_athlete(tools, tables, athlete_id, plan_choices.find_stage(stage), stamp.at.date())
    show_result(plan_words.list_drill_lines(view), drilling.describe_drill_view(view), is_json)
