"""`elbowroom begin`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click


@click.command("begin", epilog="Example:  elbowroom begin visits/player-12")
@click.argument("folder", type=click.Path(path_type=Path))
def begin_visit(folder: Path) -> None:
    """Write a first visit.toml for the clips in FOLDER, to be filled in.

    A clip with `board` in its name is paired with the clip of the same name, and a view is taken from a name that
    says one: behind.mp4 and behind-board.mp4.
    """
    from elbowroom import bootstrap

    path, count = bootstrap.write_first_visit(folder, datetime.now().astimezone().date())
    clips = "1 clip" if count == 1 else f"{count} clips"
    click.echo(f"{path} names {clips}: fill in the lines marked with <-, then run `elbowroom screen {folder}`.")
