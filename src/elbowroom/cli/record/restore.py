"""`elbowroom record restore`."""

from __future__ import annotations

from pathlib import Path

import click

from elbowroom.cli.record.opening import read_passphrase, read_place


@click.command("restore", epilog="Example:  elbowroom record restore disk/2026-11-25.elbowroom")
@click.argument("file", type=click.Path(path_type=Path))
def restore_backup(file: Path) -> None:
    """Put a backup back where no record is, and compare all of it with what was backed up.

    The passphrase is the one of the day of the backup. From a sealed file to a PostgreSQL server and back, a record
    moves by a backup and a restore. Whoever was forgotten after the backup comes back: forget them again.
    """
    from elbowroom import bootstrap

    settings = read_place()
    facts = bootstrap.restore_backup(settings, read_passphrase(settings), file)
    click.echo(
        f"{facts.entry_count} entries and {facts.file_count} files of {facts.made_at:%Y-%m-%d %H:%M} UTC are in "
        f"{settings.folder}, as they were: digest {facts.digest}."
    )
