"""`elbowroom record consent`."""

from __future__ import annotations

from datetime import datetime

import click

from elbowroom.cli.record.opening import DAY, add_person_option, make_stamp, open_tools


@click.command("consent", epilog='Example:  elbowroom record consent 4f1c... --guardian "A. Parent" --for care')
@click.argument("athlete_id")
@click.option(
    "--for",
    "purposes",
    multiple=True,
    type=click.Choice(["care", "teaching", "research"]),
    required=True,
    help="What it covers; may be given several times.",
)
@click.option("--guardian", default="", help="Name of the guardian who gives it; left out, the adult athlete does.")
@click.option("--relation", default="guardian", show_default=True, help="What the guardian is to the athlete.")
@click.option("--given", type=DAY, help="Day on which it was given; today where left out.")
@add_person_option
def add_consent(
    athlete_id: str, purposes: tuple[str, ...], guardian: str, relation: str, given: datetime | None, person: str
) -> None:
    """Record who consents, for what, and when.

    Nothing is kept of an athlete's visits without a consent for care.
    """
    from elbowroom.service import athletes
    from elbowroom.service.record_lines import ABSENT
    from elbowroom.service.record_types import Purpose

    tools = open_tools()
    stamp = make_stamp(tools, person)
    day = given.date() if given else stamp.at.astimezone().date()
    giver = athletes.add_guardian(tools, athlete_id, guardian, relation, stamp) if guardian else ABSENT
    for purpose in purposes:
        athletes.add_consent(tools, athlete_id, giver, Purpose(purpose), day, stamp)
    click.echo(f"Consent for {', '.join(purposes)} from {day} on is in the record.")
