"""`elbowroom record trail`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import open_tools


@click.command("trail", epilog="Example:  elbowroom record trail 4f1c...")
@click.argument("athlete_id", default="")
def show_trail(athlete_id: str) -> None:
    """Show who looked at or changed what, and when, for one athlete or for everybody.

    Times are UTC. An athlete who was forgotten is here by id only.
    """
    from elbowroom.service import athletes
    from elbowroom.service.record_tools import list_people

    tools = open_tools()
    people = list_people(tools)
    for entry in athletes.list_trail(tools, athlete_id):
        who = people[entry.recorded_by].name if entry.recorded_by in people else entry.recorded_by
        click.echo(
            f"{entry.recorded_at:%Y-%m-%d %H:%M:%S}  {who}  {entry.act}  {entry.athlete_id}  {entry.what}".rstrip()
        )
