"""`elbowroom record papers`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from elbowroom.cli.paper_options import add_paper_options
from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools

if TYPE_CHECKING:
    from elbowroom.bootstrap_papers import Wish


@click.command("papers", epilog="Example:  elbowroom record papers 7c2e... --papers family --language es")
@click.argument("visit_id")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("elbowroom-papers"),
    show_default=True,
    help="Folder for the papers.",
)
@add_paper_options
@click.option("--replace", is_flag=True, help="Replace papers that are in the folder already.")
@add_person_option
def write_papers(visit_id: str, out: Path, wish: Wish, replace: bool, person: str) -> None:
    """Write papers about a kept visit: all three where none is named.

    They come from the newest screening of the visit, and they leave the protection of the record: keep them where
    only the family and the clinic can read them. That they were given is written into the trail.
    """
    from dataclasses import replace as change

    from elbowroom import bootstrap_papers

    tools = open_tools()
    asked = wish if wish.kinds else change(wish, kinds=tuple(bootstrap_papers.PAPER_NAMES))
    names = bootstrap_papers.write_visit_papers(
        tools, visit_id, out, asked, make_stamp(tools, person), may_replace=replace
    )
    click.echo(f"{out} holds {', '.join(names)}.")
