"""`elbowroom export`."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

FORMATS = ("csv", "parquet", "c3d", "fhir")


@click.command("export", epilog="Example:  elbowroom export elbowroom-report data-for-study --code A-17")
@click.argument("report", type=click.Path(path_type=Path))
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--code", required=True, help="What stands for the athlete; names are left out.")
@click.option(
    "--format",
    "formats",
    type=click.Choice(FORMATS),
    multiple=True,
    help="csv, parquet, c3d or fhir; may be given more than once; all where left out.",
)
@click.option("--patient", default="", help="Reference for the health record, such as Patient/123; may be left out.")
@click.option("--replace", is_flag=True, help="Replace what an earlier export wrote to the folder.")
def write_exported(report: Path, out: Path, code: str, formats: tuple[str, ...], patient: str, replace: bool) -> None:
    """Write a screening's data in open formats, under a code and without names.

    REPORT is the report.json of a screening or its folder. OUT becomes a folder of tables (CSV, Parquet) with their
    dictionary, one C3D file a throw, and a health record (HL7 FHIR R4): docs/data.md says what they hold.
    """
    from elbowroom import bootstrap_exchange
    from elbowroom.bootstrap_exchange import HandOut

    wanted = HandOut(code=code, formats=formats or FORMATS, patient=patient, made_at=datetime.now(UTC))
    names = bootstrap_exchange.write_export(report, out, wanted, may_replace=replace)
    click.echo(f"{len(names)} files in {out}: {', '.join(names)}")
