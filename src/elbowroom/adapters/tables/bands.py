"""Reading the published bands that are shown beside the values."""

from __future__ import annotations

from pathlib import Path

from elbowroom.adapters.tables.rows import TableRow, raise_problems, read_rows, read_table_text
from elbowroom.core.findings.types import PublishedBand

PACKAGED_BANDS = "published_bands.csv"
COLUMNS = ("measure", "group", "age_from", "age_to", "mean", "sd", "unit", "seen", "source", "note")
"""Columns of a table of published bands; note may be empty."""


def read_published_bands(path: Path | None = None) -> tuple[PublishedBand, ...]:
    """Return the published bands, the packaged ones where no path is given; raises `TableError` with all
    problems."""
    name = path.name if path else PACKAGED_BANDS
    rows = read_rows(read_table_text(path, PACKAGED_BANDS), name, COLUMNS)
    bands = tuple(_read_band(row) for row in rows)
    raise_problems(rows, name)
    return bands


def _read_band(row: TableRow) -> PublishedBand:
    band = PublishedBand(
        measure=row.read_text("measure", "name the measure"),
        group=row.read_text("group", "say which group was studied"),
        ages_years=row.read_range("age_from", "age_to"),
        mean=row.read_number("mean"),
        sd=row.read_number("sd"),
        unit=row.read_text("unit", "give the unit"),
        source=row.read_text("source", "say where the numbers come from"),
        is_seen=row.read_flag("seen"),
        note=row.read_text("note"),
    )
    if band.sd < 0:
        row.refuse("sd", f"holds {band.sd:g}: a standard deviation is never negative")
    return band
