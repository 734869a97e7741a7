"""`elbowroom demo`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from elbowroom.cli.paper_options import add_paper_options
from elbowroom.cli.screen import show_screening

if TYPE_CHECKING:
    from elbowroom.bootstrap_papers import Wish


@click.command("demo", epilog="Example:  elbowroom demo --out my-demo --open")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("elbowroom-demo"),
    show_default=True,
    help="Folder for the report; an earlier demo report in it is replaced.",
)
@add_paper_options
@click.option("--open/--no-open", "is_opened", default=False, help="Open the report in the browser at the end.")
def run_demo(out: Path, wish: Wish, is_opened: bool) -> None:
    """Screen the demo visit that comes with elbowroom.

    An invented athlete, rendered video: two clips and two board clips go through the whole chain, as your own clips
    would, and end in a report. The first time, the landmark weights are fetched (about 40 MB).
    """
    from elbowroom import bootstrap

    show_screening(bootstrap.find_demo_folder(), out, wish, is_opened=is_opened, may_replace=True)
