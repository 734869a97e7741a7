"""`elbowroom screen`."""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from elbowroom.cli.paper_options import add_paper_options
from elbowroom.cli.progress import ProgressLine
from elbowroom.settings import read_settings

if TYPE_CHECKING:
    from elbowroom.bootstrap_papers import Wish

REPORT_FOLDER = "elbowroom-report"


@click.command("screen", epilog="Example:  elbowroom screen visits/player-12 --units in")
@click.argument("visit", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder for the report; elbowroom-report beside the visit file where left out.",
)
@add_paper_options
@click.option("--replace", is_flag=True, help="Replace a report that is in the folder already.")
@click.option("--open/--no-open", "is_opened", default=False, help="Open the report in the browser at the end.")
def screen_visit(visit: Path, out: Path | None, wish: Wish, replace: bool, is_opened: bool) -> None:
    """Screen the throws of one visit and write the report.

    VISIT is a folder that holds visit.toml and the clips, or the visit file itself: docs/visit-file.md says what it
    holds, and `elbowroom begin` writes a first one. No clip and no number leaves this machine. The report
    appears whole or not at all.
    """
    beside = visit if visit.is_dir() else visit.parent
    show_screening(visit, out or beside / REPORT_FOLDER, wish, is_opened=is_opened, may_replace=replace)


def show_screening(visit: Path, out: Path, wish: Wish, *, is_opened: bool, may_replace: bool) -> None:
    """Screen a visit with a progress bar, write the report to `out`, and print it in a few lines."""
    from elbowroom import bootstrap, bootstrap_papers

    started_s = time.monotonic()
    progress = ProgressLine()
    bootstrap.check_report_folder(out, may_replace=may_replace)
    workings: list[Any] = []
    screen_file = bootstrap.build_screening(read_settings(os.environ), progress.show_line, workings.append)
    try:
        screening = screen_file(visit, progress)
    finally:
        progress.close_line()
    page = bootstrap_papers.write_report(screening, out, wish, may_replace=may_replace)
    bootstrap.write_workings(workings[0], out)
    for line in bootstrap_papers.describe_screening(screening, wish):
        click.echo(line)
    click.echo(f"Report: {page} ({time.monotonic() - started_s:.0f} s)")
    if is_opened:
        click.launch(page.absolute().as_uri())
