"""`elbowroom record due`."""

from __future__ import annotations

from datetime import datetime

import click

from elbowroom.cli.record.opening import open_tools


@click.command("due", epilog="Example:  elbowroom record due")
def list_due() -> None:
    """List the athletes whom the clinic's rule of retention lets go.

    Nobody is removed by this: `record forget` does that, one athlete at a time.
    """
    from elbowroom.service import forgetting

    tools = open_tools()
    for line in forgetting.list_overdue(tools, datetime.now().astimezone().date()):
        click.echo(f"{line.athlete_id}  last seen {line.last_seen}  {line.name}")
