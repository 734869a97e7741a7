"""`elbowroom record begin`."""

from __future__ import annotations

from datetime import UTC, datetime
from uuid import uuid4

import click

from elbowroom.cli.record.opening import read_passphrase, read_place


@click.command("begin", epilog='Example:  elbowroom record begin --clinic "River Street" --person Rowan')
@click.option("--clinic", required=True, help="Name of the clinic.")
@click.option("--person", required=True, help="Name of the clinician who begins the record.")
@click.option("--keep-years", type=click.IntRange(0, 200), default=0, help="Years to keep after the last visit.")
@click.option("--keep-until-age", type=click.IntRange(0, 200), default=0, help="Age to keep until in any case.")
def begin_record(clinic: str, person: str, keep_years: int, keep_until_age: int) -> None:
    """Make an empty record with keys of its own, opened by a passphrase.

    Without --keep-years no rule of retention is stated; local law says how long records must and may be kept.
    """
    from elbowroom import bootstrap
    from elbowroom.service import beginning
    from elbowroom.service.record_values import ClinicFacts, Stamp

    settings = read_place()
    tools = bootstrap.begin_record(settings, read_passphrase(settings, "New passphrase", is_new=True))
    facts = ClinicFacts(name=clinic, person_name=person, keep_years=keep_years, keep_until_age_years=keep_until_age)
    beginning.begin_clinic(tools, facts, Stamp(at=datetime.now(UTC), by=uuid4().hex))
    click.echo(f"The record of {clinic} is in {settings.folder}. Without the passphrase nobody can open it.")
    if settings.address:
        click.echo("The entries are on the server in the clear: its disk has to be encrypted.")
