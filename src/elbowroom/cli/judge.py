"""`elbowroom judge`."""

from __future__ import annotations

from pathlib import Path

import click

REPORT_FOLDER = "elbowroom-report"


@click.command("judge", epilog="Example:  elbowroom judge lab/player-12.toml --out lab/report")
@click.argument("capture", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder for report.html and report.json; elbowroom-report beside the capture file where left out.",
)
@click.option("--units", type=click.Choice(["cm", "in"]), default="cm", show_default=True, help="Unit of lengths.")
@click.option("--replace", is_flag=True, help="Replace a report that is in the folder already.")
def judge_capture(capture: Path, out: Path | None, units: str, replace: bool) -> None:
    """Judge throws that another laboratory recorded, by the same rules as clips.

    CAPTURE is a capture file that names C3D or CSV recordings and says which labels are which joint:
    docs/captures.md shows one.
    """
    from elbowroom import bootstrap, bootstrap_exchange

    folder = out or capture.parent / REPORT_FOLDER
    bootstrap.check_report_folder(folder, may_replace=replace)
    screening = bootstrap_exchange.judge_capture_file(capture)
    page = bootstrap.write_report(screening, folder, units, may_replace=replace)
    for line in bootstrap.describe_screening(screening, units):
        click.echo(line)
    click.echo(f"Report: {page}")
