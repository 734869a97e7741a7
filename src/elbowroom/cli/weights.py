"""`elbowroom weights`."""

from __future__ import annotations

import os
from pathlib import Path

import click

from elbowroom.settings import read_settings


@click.command("weights", epilog="Example:  elbowroom weights --from downloads/weights.tgz")
@click.option(
    "--from",
    "files",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A package or weight file fetched by hand; may be given several times.",
)
def prepare_weights(files: tuple[Path, ...]) -> None:
    """Fetch and check the weights of the landmark model.

    They come through the package client of this machine, each file is checked by its SHA-256, and they are kept in
    the folder that ELBOWROOM_MODELS names, or in the user's cache folder. Without a network, give the package by
    hand.
    """
    from elbowroom import bootstrap

    folder = bootstrap.prepare_weights(read_settings(os.environ), files, click.echo)
    click.echo(f"All weights are in {folder} and are the right ones.")
