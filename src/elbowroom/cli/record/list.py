"""`elbowroom record list`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import open_tools


@click.command("list", epilog="Example:  elbowroom record list ann")
@click.argument("name", default="")
@click.option("--count", type=click.IntRange(1), default=50, show_default=True, help="Most athletes to list.")
@click.option("--skip", type=click.IntRange(0), default=0, help="Athletes to pass over first.")
def list_athletes(name: str, count: int, skip: int) -> None:
    """List the athletes, or those whose name holds NAME, with their ids.

    Each line gives the id, the day of birth, the number of visits, the day of the last one, and the name.
    """
    for line in open_tools().lists.list_athletes(name, count, skip):
        last = f"{line.last_visit}" if line.visit_count else "-"
        click.echo(f"{line.athlete_id}  {line.born_on}  {line.visit_count:3d}  {last:<10}  {line.name}")
