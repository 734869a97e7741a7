"""`elbowroom record keys`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import read_passphrase, read_place


@click.command("keys", epilog="Example:  elbowroom record keys")
def change_keys() -> None:
    """Seal database and files under new keys and drop the old ones.

    May be cut off and run again. Backups made before keep the old keys. Nobody else may use the record meanwhile.
    """
    from elbowroom import bootstrap

    settings = read_place()
    count = bootstrap.change_keys(settings, read_passphrase(settings))
    click.echo(f"{count} files are sealed under the new key.")
