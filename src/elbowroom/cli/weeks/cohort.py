"""`elbowroom weeks cohort`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp
from elbowroom.cli.record.plan_files import show_result
from elbowroom.cli.weeks.opening import add_json_option, open_weeks


@click.command("cohort", epilog="Example:  elbowroom weeks cohort Herons")
@click.argument("team")
@add_json_option
@add_person_option
def show_cohort(team: str, is_json: bool, person: str) -> None:
    """Show a team at one look: who needs the clinician first and why, and how each measure spreads."""
    from elbowroom.service import cohorts, teams, week_json, week_lines

    tools = open_weeks()
    found = teams.get_team(tools.record, team)
    cohort, words = cohorts.see_cohort(tools, found.team_id, make_stamp(tools.record, person))
    show_result(week_lines.list_cohort_lines(cohort, words), week_json.describe_cohort(cohort), is_json)
