"""`elbowroom record check`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools


@click.command("check", epilog="Example:  elbowroom record check")
@add_person_option
@click.pass_context
def check_record(context: click.Context, person: str) -> None:
    """Read the whole record and compare it with its digests.

    Ends with status 1 where something is not as it was written. What cut-off work left behind a day ago is removed.
    """
    from elbowroom.service import backing_up

    tools = open_tools()
    checked = backing_up.check_record(tools, make_stamp(tools, person))
    for problem in checked.problems:
        click.echo(problem)
    click.echo(f"{checked.file_count} files read, {checked.removed_count} left-over files removed.")
    if checked.problems:
        context.exit(1)
    click.echo("Everything is as it was written.")
