"""Reading the tables of the exam: items, instruments, thresholds, and links to the throw."""

from __future__ import annotations

from math import inf, isinf
from pathlib import Path

from elbowroom.adapters.tables.intake_tables import read_mark
from elbowroom.adapters.tables.rows import TableRow, raise_problems, read_rows, read_table_text
from elbowroom.core.plan.exam import QUANTITIES, ExamItem, ExamTables, Instrument, ReadingGroup
from elbowroom.core.plan.links import EvidenceLink, Grade
from elbowroom.core.plan.thresholds import ExamBand, Threshold
from elbowroom.core.quantities.types import Absent

ITEMS, INSTRUMENTS, THRESHOLDS, LINKS = (
    "exam_items.csv",
    "exam_instruments.csv",
    "exam_thresholds.csv",
    "exam_links.csv",
)
ITEM_COLUMNS = (
    *("key", "words", "unit", "group", "how", "lowest", "highest", "same_rater_standard", "other_rater_standard"),
    *("source", "mark", "version"),
)
INSTRUMENT_COLUMNS = ("key", "words", "group", "standard", "unit", "source", "mark", "version")
THRESHOLD_COLUMNS = (
    *("quantity", "lower", "upper", "unit", "age_from", "age_to", "judged", "meaning", "source", "mark", "version"),
)
BANDS = "exam_bands.csv"
BAND_COLUMNS = ("quantity", "group", "mean", "sd", "unit", "source", "mark", "version")
LINK_COLUMNS = ("quantity", "measures", "reasoning", "grade", "source", "mark", "version")
NEVER_JUDGED = ("from memory", "second-hand")
"""A limit that is known in this way only is shown, never judged."""


def read_exam_tables() -> ExamTables:
    """Return items and instruments; raises `TableError`."""
    rows = read_rows(read_table_text(None, ITEMS), ITEMS, ITEM_COLUMNS)
    items = tuple(_read_item(row) for row in rows)
    raise_problems(rows, ITEMS)
    rows = read_rows(read_table_text(None, INSTRUMENTS), INSTRUMENTS, INSTRUMENT_COLUMNS)
    instruments = tuple(_read_instrument(row) for row in rows)
    raise_problems(rows, INSTRUMENTS)
    return ExamTables(items=items, instruments=instruments)


def read_thresholds(path: Path | None = None) -> tuple[Threshold, ...]:
    """Return the thresholds, the packaged ones where no path is given; raises `TableError` with all problems."""
    name = path.name if path else THRESHOLDS
    rows = read_rows(read_table_text(path, THRESHOLDS), name, THRESHOLD_COLUMNS)
    thresholds = tuple(_read_threshold(row) for row in rows)
    raise_problems(rows, name)
    return thresholds


def read_links(measures: frozenset[str]) -> tuple[EvidenceLink, ...]:
    """Return the links from the exam to measures of the throw, whose keys are given; raises `TableError`."""
    rows = read_rows(read_table_text(None, LINKS), LINKS, LINK_COLUMNS)
    links = tuple(_read_link(row, measures) for row in rows)
    raise_problems(rows, LINKS)
    return links


def read_exam_bands() -> tuple[ExamBand, ...]:
    """Return what studies found of the exam's quantities; raises `TableError`."""
    rows = read_rows(read_table_text(None, BANDS), BANDS, BAND_COLUMNS)
    bands = tuple(_read_band(row) for row in rows)
    raise_problems(rows, BANDS)
    return bands


def _read_band(row: TableRow) -> ExamBand:
    band = ExamBand(
        quantity=row.read_text("quantity", "name the quantity"),
        group=row.read_text("group", "say who was studied"),
        mean=row.read_number("mean"),
        sd=row.read_number("sd") if row.cells.get("sd") else Absent(reason="The source gives no SD."),
        unit=row.read_text("unit", "give deg or %"),
        source=row.read_text("source", "say where it comes from"),
        mark=read_mark(row),
    )
    _check_quantity(row, band.quantity, band.unit)
    return band


def _read_item(row: TableRow) -> ExamItem:
    return ExamItem(
        key=row.read_text("key", "name the item"),
        words=row.read_text("words", "give its name"),
        unit=row.read_text("unit", "write deg or N"),
        group=row.read_word("group", ReadingGroup),
        how=row.read_text("how", "say how it is read"),
        limits=row.read_range("lowest", "highest"),
        same_rater_standard=row.read_number("same_rater_standard"),
        other_rater_standard=row.read_number("other_rater_standard"),
        source=row.read_text("source", "say where the errors come from"),
        mark=read_mark(row),
    )


def _read_instrument(row: TableRow) -> Instrument:
    row.read_text("unit", "write deg or %")
    return Instrument(
        key=row.read_text("key", "name the instrument"),
        words=row.read_text("words", "give its name"),
        group=row.read_word("group", ReadingGroup),
        standard=row.read_number("standard"),
        source=row.read_text("source", "say where the error comes from"),
        mark=read_mark(row),
    )


def _read_threshold(row: TableRow) -> Threshold:
    threshold = Threshold(
        quantity=row.read_text("quantity", "name the quantity"),
        lower=row.read_number("lower", -inf),
        upper=row.read_number("upper", inf),
        unit=row.read_text("unit", "give deg or %"),
        ages_years=row.read_range("age_from", "age_to"),
        judged=row.read_flag("judged"),
        meaning=row.read_text("meaning", "say what was found beyond it"),
        source=row.read_text("source", "say where it comes from"),
        mark=read_mark(row),
        version=row.read_text("version", "give the version of the table"),
    )
    if threshold.judged and threshold.mark in NEVER_JUDGED:
        row.refuse(
            "judged", f"is yes but the limit is {threshold.mark}: such a row is shown, never judged, so write no"
        )
    if isinf(threshold.lower) and isinf(threshold.upper):
        row.refuse("lower", "and upper are both empty: give at least one")
    elif threshold.lower >= threshold.upper:
        row.refuse("lower", "is not below upper: exchange them")
    _check_quantity(row, threshold.quantity, threshold.unit)
    return threshold


def _check_quantity(row: TableRow, key: str, unit: str) -> None:
    known = {quantity.key: quantity.unit for quantity in QUANTITIES}
    if key and key not in known:
        row.refuse("quantity", f"holds {key!r}, which is no quantity of the exam: write one of {', '.join(known)}")
    elif key and unit and known[key] != unit:
        row.refuse("unit", f"holds {unit!r}, but {key} is in {known[key]}: convert the limits")


def _read_link(row: TableRow, measures: frozenset[str]) -> EvidenceLink:
    link = EvidenceLink(
        quantity=row.read_text("quantity", "name the quantity"),
        measures=row.read_parts("measures", "name measures of the throw, with | between them"),
        reasoning=row.read_text("reasoning", "say how one leads to the other"),
        grade=row.read_word("grade", Grade),
        source=row.read_text("source", "say where it comes from"),
        mark=read_mark(row),
    )
    strange = [key for key in link.measures if key not in measures]
    if strange:
        row.refuse("measures", f"holds {', '.join(strange)}: no such measure, so correct the name")
    if link.quantity and link.quantity not in {quantity.key for quantity in QUANTITIES}:
        row.refuse("quantity", f"holds {link.quantity!r}, which is no quantity of the exam: correct the name")
    return link
