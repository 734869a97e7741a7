"""`elbowroom record release`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools


@click.command("release", epilog='Example:  elbowroom record release 4f1c... --reason "Examined, full motion, no pain"')
@click.argument("athlete_id")
@click.option("--reason", required=True, help="What was examined, and why throwing is allowed again.")
@click.option("--sign", "signs", multiple=True, help="Key of a warning sign; all that hold where left out.")
@add_person_option
def release_hold(athlete_id: str, reason: str, signs: tuple[str, ...], person: str) -> None:
    """Release the warning signs of an athlete, as a clinician, by name and reason.

    The release stays in the record. A later intake is judged anew.
    """
    from elbowroom.service import holds, plan_words

    tools = open_tools()
    standing = holds.release_hold(tools, athlete_id, signs, reason, make_stamp(tools, person))
    for line in plan_words.list_standing_lines(standing):
        click.echo(line)
