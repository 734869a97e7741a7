"""`elbowroom board`."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("board", epilog="Example:  elbowroom board --paper poster board.pdf")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--paper",
    type=click.Choice(["poster", "a3", "a4", "letter"]),
    default="poster",
    show_default=True,
    help="Sheet to print on; a poster (86 x 66 cm) comes from a print shop.",
)
@click.option("--replace", is_flag=True, help="Replace a file of that name.")
def print_board(file: Path, paper: str, replace: bool) -> None:
    """Write the board as PDF, to scale, for printing.

    Print at 100 %, measure the line under the board, and glue the sheet flat. Each phone films the board being
    turned about near the athlete's place, and then standing still where all phones see its print: on its long edge,
    leaning back a little, facing between them. Ground marks, the plate or a tape cross, say where the ground and the
    target are. Lying flat, the poster is found from nearby or from high up only; the smaller boards serve a few metres.
    """
    from elbowroom import bootstrap

    words = bootstrap.write_board(file, paper, may_replace=replace)
    click.echo(words)
