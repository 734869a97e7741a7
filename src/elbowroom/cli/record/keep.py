"""`elbowroom record keep`."""

from __future__ import annotations

from pathlib import Path

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools


@click.command("keep", epilog="Example:  elbowroom record keep visits/player-12 --athlete 4f1c...")
@click.argument("visit", type=click.Path(path_type=Path))
@click.option("--athlete", "athlete_id", required=True, help="Id of the athlete, as `record list` prints it.")
@click.option(
    "--report",
    type=click.Path(path_type=Path),
    help="report.json of the visit; in elbowroom-report beside the visit file where left out.",
)
@add_person_option
def keep_visit(visit: Path, athlete_id: str, report: Path | None, person: str) -> None:
    """Put a screened visit into the record: clips, visit file and report, sealed.

    The visit is in the record whole or not at all. The same report is kept once; another report on the same clips
    becomes a new version beside the old one. The files outside stay where they are: remove them yourself.
    """
    from elbowroom import bootstrap
    from elbowroom.service import keeping, uploading

    beside = visit if visit.is_dir() else visit.parent
    parcel = bootstrap.read_parcel(visit, report or beside / "elbowroom-report" / "report.json")
    tools = open_tools()
    stamp = make_stamp(tools, person)
    kept = keeping.keep_visit(tools, athlete_id, parcel, stamp)
    waiting = uploading.add_proxy_jobs(tools, kept.visit_id, stamp)
    words = "is kept" if kept.is_new else "was in the record already"
    click.echo(f"Visit {kept.visit_id}, screening {kept.version}, {words}.")
    if waiting:
        click.echo(f"{waiting} clips wait to be made ready for the review: `record work` or `open` does it.")
