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
    turned about near the athlete's place, and then lying on the ground with its right end to the target. The poster is
    the one to lay on the ground; the smaller ones are seen from a few metres only.
    """
    from elbowroom import bootstrap

    words = bootstrap.write_board(file, paper, may_replace=replace)
    click.echo(words)
