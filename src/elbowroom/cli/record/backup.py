"""`elbowroom record backup`."""

from __future__ import annotations

from pathlib import Path

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools


@click.command("backup", epilog="Example:  elbowroom record backup disk/2026-11-25.elbowroom")
@click.argument("file", type=click.Path(path_type=Path))
@add_person_option
def write_backup(file: Path, person: str) -> None:
    """Write everything to one file, sealed; today's passphrase opens it.

    It holds the whole record each time. Put it on another disk, and try `record restore` once in a while.
    """
    from elbowroom.service import backing_up

    tools = open_tools()
    facts = backing_up.back_up_record(tools, file, make_stamp(tools, person))
    click.echo(f"{file} holds {facts.entry_count} entries and {facts.file_count} files, digest {facts.digest}.")
