"""`elbowroom weeks team`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp
from elbowroom.cli.weeks.opening import open_weeks


@click.command("team", epilog="Example:  elbowroom weeks team Herons --table league-regulation-6 --athlete 4f1c...")
@click.argument("name")
@click.option("--table", default="", help="Pitch-count table of the team (`elbowroom weeks tables`).")
@click.option("--athlete", "athlete_ids", multiple=True, help="Athlete who plays for it from now on; may be repeated.")
@click.option("--leaves", "leaver_ids", multiple=True, help="Athlete who no longer plays for it; may be repeated.")
@add_person_option
def keep_team(name: str, table: str, athlete_ids: tuple[str, ...], leaver_ids: tuple[str, ...], person: str) -> None:
    """Add a team or change its table, and say who plays for it."""
    from elbowroom.service import teams

    tools = open_weeks()
    stamp = make_stamp(tools.record, person)
    known = {team.name: team.team_id for team in teams.list_teams(tools.record).values()}
    if table or name not in known:
        known[name] = teams.keep_team(tools, name, table or teams.USUAL_TABLES[0], stamp, known.get(name, ""))
    for athlete_id in athlete_ids:
        teams.set_membership(tools.record, athlete_id, known[name], stamp, is_member=True)
    for athlete_id in leaver_ids:
        teams.set_membership(tools.record, athlete_id, known[name], stamp, is_member=False)
    team = teams.get_team(tools.record, known[name])
    click.echo(f"{team.name}: {team.rest_table}, {len(teams.list_members(tools.record, team.team_id))} athlete(s)")
