"""`elbowroom record passphrase`."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from elbowroom.cli.record.opening import read_passphrase, read_place


@click.command("passphrase", epilog="Example:  elbowroom record passphrase")
@click.option("--new-file", type=click.Path(path_type=Path), help="File that holds the new one; asked for otherwise.")
def change_passphrase(new_file: Path | None) -> None:
    """Change the passphrase; nothing has to be encrypted anew.

    Backups made before keep the old one.
    """
    from elbowroom import bootstrap

    settings = read_place()
    old = read_passphrase(settings)
    new = read_passphrase(replace(settings, passphrase_file=new_file), "New passphrase", is_new=True)
    bootstrap.change_passphrase(settings, old, new)
    click.echo("The new passphrase holds.")
