"""`elbowroom record take`."""

from __future__ import annotations

from pathlib import Path

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools


@click.command("take", epilog="Example:  elbowroom record take player-12.elbowroom")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--seal-file",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    help="Text file with the archive's passphrase; asked for where left out and needed.",
)
@add_person_option
def take_archive(file: Path, seal_file: Path | None, person: str) -> None:
    """Take an athlete's archive into this record, all of it or nothing.

    Every file is compared with its digest. An athlete who is in the record already is refused.
    """
    from elbowroom import bootstrap_exchange

    tools = open_tools()
    stamp = make_stamp(tools, person)
    passphrase = bootstrap_exchange.read_seal(seal_file)
    if not passphrase and bootstrap_exchange.is_sealed(file):
        passphrase = str(click.prompt("Passphrase of the archive", hide_input=True, err=True))
    facts = bootstrap_exchange.take_athlete(tools, file, passphrase, stamp)
    click.echo(f"Took in {facts.athlete_id}: {facts.entry_count} entries and {facts.file_count} files.")
