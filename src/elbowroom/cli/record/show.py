"""`elbowroom record show`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools


@click.command("show", epilog="Example:  elbowroom record show 4f1c...")
@click.argument("athlete_id")
@add_person_option
def show_athlete(athlete_id: str, person: str) -> None:
    """Show what the record holds about an athlete.

    That somebody looked is written into the trail.
    """
    from elbowroom.core.quantities.types import Absent
    from elbowroom.service import athletes

    tools = open_tools()
    story = athletes.see_athlete(tools, athlete_id, make_stamp(tools, person))
    known = story.versions[-1]
    click.echo(f"{known.name}, born {known.born_on}, throws with the {known.hand} hand (version {known.version})")
    for consent, end in story.consents:
        until = "" if isinstance(end, Absent) else f", withdrawn {end.withdrawn_on}"
        click.echo(f"  consent for {consent.purpose} from {consent.given_on}{until}")
    for visit in story.visits:
        versions = [item for item in story.screenings if item.visit_id == visit.id]
        click.echo(f"  visit {visit.made_on}, {visit.kind}: {len(versions)} screening(s), id {visit.id}")
