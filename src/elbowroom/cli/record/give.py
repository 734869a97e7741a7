"""`elbowroom record give`."""

from __future__ import annotations

from pathlib import Path

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools


@click.command("give", epilog="Example:  elbowroom record give 4f1c... player-12.elbowroom")
@click.argument("athlete_id")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--seal-file",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    help="Text file with the archive's own passphrase; asked for where left out.",
)
@click.option("--unsealed", is_flag=True, help="Write a plain ZIP file that anybody can read.")
@add_person_option
def write_archive(athlete_id: str, file: Path, seal_file: Path | None, unsealed: bool, person: str) -> None:
    """Write everything about one athlete to one archive, clips and trail among it.

    It is sealed under a passphrase of its own, which you tell to who receives it by another way. With --unsealed it
    is a plain ZIP file, for a family that wants to look into it. `record take` puts an archive into a record.
    """
    from elbowroom import bootstrap_exchange

    tools = open_tools()
    stamp = make_stamp(tools, person)
    passphrase = "" if unsealed else bootstrap_exchange.read_seal(seal_file)
    if not unsealed and not passphrase:
        passphrase = str(click.prompt("Passphrase of the archive", hide_input=True, confirmation_prompt=True, err=True))
    facts = bootstrap_exchange.write_athlete_archive(tools, athlete_id, file, passphrase, stamp)
    click.echo(f"{file} holds {facts.entry_count} entries and {facts.file_count} files of {facts.athlete_id}.")
