"""`elbowroom record withdraw`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools


@click.command("withdraw", epilog="Example:  elbowroom record withdraw 4f1c... --for research")
@click.argument("athlete_id")
@click.option("--for", "purpose", type=click.Choice(["care", "teaching", "research"]), required=True, help="Which one.")
@add_person_option
def withdraw_consent(athlete_id: str, purpose: str, person: str) -> None:
    """Withdraw an athlete's consent for one purpose, from today on.

    The consent stays in the record with the day on which it ended.
    """
    from elbowroom.service import athletes
    from elbowroom.service.record_types import Purpose

    tools = open_tools()
    stamp = make_stamp(tools, person)
    athletes.withdraw_consent(tools, athlete_id, Purpose(purpose), stamp.at.astimezone().date(), stamp)
    click.echo(f"The consent for {purpose} is withdrawn.")
