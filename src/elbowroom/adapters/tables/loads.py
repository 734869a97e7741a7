"""Reading the tables of the loads: body segments, balls, and what laboratories found."""

from __future__ import annotations

from enum import StrEnum
from math import pi
from typing import TypeVar

from elbowroom.adapters.tables.rows import TableRow, raise_problems, read_packaged_text, read_rows
from elbowroom.core.loads.types import BallKind, BallRow, LoadBand, LoadTables, SegmentRow, Sex, TableName
from elbowroom.core.quantities.types import Absent

SEGMENTS, BALLS, BANDS = "segments.csv", "balls.csv", "load_bands.csv"
SEGMENT_COLUMNS = (
    *("table", "sex", "age_years", "segment", "ends", "mass_share", "centre_share", "radius_sagittal"),
    *("radius_transverse", "radius_long", "mark", "source", "note"),
)
BALL_COLUMNS = (
    *("ball", "mass_from_oz", "mass_to_oz", "circumference_from_in", "circumference_to_in"),
    *("mark", "source", "note"),
)
BAND_COLUMNS = ("load", "group", "age_from", "age_to", "mean", "sd", "unit", "seen", "source", "method")
Word = TypeVar("Word", bound=StrEnum)
"""A closed set of words."""
KG_AN_OUNCE = 0.028349523125
M_AN_INCH = 0.0254
NOT_IN_TABLE = Absent(reason="The table does not give this number.")
BAND_UNITS = ("N m", "N", "% BW H", "% BW")


def read_load_tables() -> LoadTables:
    """Return the packaged tables of the loads; raises `TableError` with all problems of a table."""
    return LoadTables(
        segments=read_segments(read_packaged_text(SEGMENTS)),
        balls=read_balls(read_packaged_text(BALLS)),
        bands=read_load_bands(read_packaged_text(BANDS)),
    )


def read_segments(text: str) -> tuple[SegmentRow, ...]:
    """Return the rows of a table of body segments; raises `TableError` with all problems."""
    rows = read_rows(text, SEGMENTS, SEGMENT_COLUMNS)
    segments = tuple(_read_segment(row) for row in rows)
    raise_problems(rows, SEGMENTS)
    return segments


def read_balls(text: str) -> tuple[BallRow, ...]:
    """Return the rows of a table of balls, ounces and inches turned into kilograms and metres; raises `TableError`."""
    rows = read_rows(text, BALLS, BALL_COLUMNS)
    balls = tuple(_read_ball(row) for row in rows)
    raise_problems(rows, BALLS)
    return balls


def read_load_bands(text: str) -> tuple[LoadBand, ...]:
    """Return the rows of a table of published loads; raises `TableError` with all problems."""
    rows = read_rows(text, BANDS, BAND_COLUMNS)
    bands = tuple(_read_band(row) for row in rows)
    raise_problems(rows, BANDS)
    return bands


def _read_segment(row: TableRow) -> SegmentRow:
    mark = row.read_text("mark", "say how the numbers are known")
    return SegmentRow(
        table=_read_word(row, "table", TableName),
        sex=_read_word(row, "sex", Sex) if row.read_text("sex") else NOT_IN_TABLE,
        age_years=_read_share(row, "age_years", 100.0),
        segment=row.read_text("segment", "name the segment"),
        mass_share=_read_share(row, "mass_share"),
        centre_share=_read_share(row, "centre_share"),
        sagittal_share=_read_share(row, "radius_sagittal"),
        transverse_share=_read_share(row, "radius_transverse"),
        long_share=_read_share(row, "radius_long"),
        source=f"{row.read_text('source', 'say where the numbers come from')} ({mark})",
    )


def _read_share(row: TableRow, column: str, highest: float = 1.0) -> float | Absent:
    """Return a number above 0 and below `highest`, or absent where the cell is empty."""
    if not row.read_text(column):
        return NOT_IN_TABLE
    number = row.read_number(column)
    if not 0.0 < number < highest:
        row.refuse(column, f"holds {number:g}: give a number above 0 and below {highest:g}")
    return number


def _read_word(row: TableRow, column: str, words: type[Word]) -> Word:
    text = row.read_text(column)
    if text not in list(words):
        row.refuse(column, f"holds {text!r}: use one of {', '.join(words)}")
        return next(iter(words))
    return words(text)


def _read_ball(row: TableRow) -> BallRow:
    masses = row.read_range("mass_from_oz", "mass_to_oz")
    rounds = row.read_range("circumference_from_in", "circumference_to_in")
    if masses[0] <= 0 or rounds[0] <= 0:
        row.refuse("mass_from_oz", "or the circumference is not above 0: give what the rules say")
    mark = row.read_text("mark", "say how the numbers are known")
    return BallRow(
        kind=_read_word(row, "ball", BallKind),
        masses_kg=(masses[0] * KG_AN_OUNCE, masses[1] * KG_AN_OUNCE),
        diameters_m=(rounds[0] * M_AN_INCH / pi, rounds[1] * M_AN_INCH / pi),
        source=f"{row.read_text('source', 'say where the numbers come from')} ({mark})",
    )


def _read_band(row: TableRow) -> LoadBand:
    unit = row.read_text("unit", "give the unit")
    if unit not in BAND_UNITS:
        row.refuse("unit", f"holds {unit!r}: use one of {', '.join(BAND_UNITS)}")
    has_sd = bool(row.read_text("sd"))
    return LoadBand(
        load=row.read_text("load", "name the load"),
        group=row.read_text("group", "say which group was studied"),
        ages_years=row.read_range("age_from", "age_to"),
        mean=row.read_number("mean"),
        sd=row.read_number("sd") if has_sd else Absent(reason="The source gives a mean alone."),
        unit=unit,
        source=row.read_text("source", "say where the numbers come from"),
        method=row.read_text("method", "say how the laboratory measured"),
        is_seen=row.read_flag("seen"),
    )
