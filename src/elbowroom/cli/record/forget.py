"""`elbowroom record forget`."""

from __future__ import annotations

import json
from pathlib import Path

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools


@click.command("forget", epilog="Example:  elbowroom record forget 4f1c... --certificate 4f1c.json")
@click.argument("athlete_id")
@click.option("--certificate", type=click.Path(path_type=Path), help="File for what was removed, as JSON.")
@click.option("--yes", is_flag=True, help="Do not ask first.")
@add_person_option
def forget_athlete(athlete_id: str, certificate: Path | None, yes: bool, person: str) -> None:
    """Remove an athlete and everything about the athlete for good, and say what was removed.

    Files are overwritten and removed, entries are removed and the database is rewritten. Only the trail keeps the id.
    Backups made before still hold the athlete: the certificate names them.
    """
    from elbowroom import bootstrap
    from elbowroom.service import forgetting

    tools = open_tools()
    stamp = make_stamp(tools, person)
    if not yes:
        click.confirm(f"Remove {athlete_id} for good?", abort=True, err=True)
    done = forgetting.forget_athlete(tools, athlete_id, stamp)
    text = json.dumps(forgetting.describe_certificate(done), indent=1)
    click.echo(text)
    if certificate:
        bootstrap.write_certificate(certificate, text)
