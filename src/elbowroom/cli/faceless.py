"""`elbowroom faceless`."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from elbowroom.cli.progress import ProgressLine
from elbowroom.settings import read_settings

if TYPE_CHECKING:
    from elbowroom.service.faceless import HiddenClip


@click.command("faceless", epilog="Example:  elbowroom faceless front.mp4 teaching/A-17.mp4")
@click.argument("clip", type=click.Path(path_type=Path))
@click.argument("out", type=click.Path(path_type=Path))
def write_faceless(clip: Path, out: Path) -> None:
    """Write a copy of a clip in which every head is hidden, without sound and without any note of its origin.

    Every picture is looked at, the copy is looked through again, and what was missed is hidden then. Look through it
    yourself before you give it away: numbers on shirts, voices of movement and places can name a person too. For a
    visit in the record use `elbowroom record faceless`, which asks for the consent.
    """
    from elbowroom import bootstrap_exchange

    progress = ProgressLine()
    try:
        hidden = bootstrap_exchange.write_faceless_clip(
            clip, out, read_settings(os.environ), progress.show_line, progress
        )
    finally:
        progress.close_line()
    click.echo(describe_hidden(out.name, hidden))


def describe_hidden(name: str, hidden: HiddenClip) -> str:
    """Return what was hidden in one clip, in a sentence."""
    return (
        f"{name}: heads hidden in {hidden.hidden_count} of {hidden.picture_count} pictures, nobody found in "
        f"{hidden.bare_count}, {hidden.mended_count} mended after a second look. Look through it before you give it "
        "away."
    )
