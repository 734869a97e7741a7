"""Reading tolerance tables: the packaged one or the clinic's own copy."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf, isinf
from pathlib import Path

from elbowroom.adapters.tables.rows import (
    TableRow,
    find_table_digest,
    raise_problems,
    read_rows,
    read_table_text,
)
from elbowroom.core.findings.types import Tolerance
from elbowroom.core.measures.types import ThrowKind

PACKAGED_TOLERANCES = "tolerances.csv"
COLUMNS = (
    "measure", "lower", "upper", "unit", "aim", "age_from", "age_to", "height_from_m", "height_to_m", "kinds",
    "judged", "consequence", "consequence_reason", "source", "mark", "note", "version",
)  # fmt: skip
"""Columns of a tolerance table; lower, upper, aim and note may be empty."""

JUDGED_MARKS = ("seen", "common practice", "chosen by this project", "chosen by this clinic")
"""How a limit that may be judged is known."""
MARKS = (*JUDGED_MARKS, "second-hand", "from memory")
UNITS = ("deg", "m", "s", "deg/s", "m/s", "%", "1")


def read_tolerances(path: Path | None = None, units: Mapping[str, str] | None = None) -> tuple[Tolerance, ...]:
    """Return the rows of a tolerance table, the packaged one where no path is given.

    `units` maps every known measure to its unit; where it is given, rows for unknown measures or in another unit are
    refused. Raises one `TableError` that names line and column of everything that is wrong.
    """
    name = path.name if path else PACKAGED_TOLERANCES
    return read_tolerance_text(read_table_text(path, PACKAGED_TOLERANCES), name, units)


def read_tolerance_text(text: str, name: str, units: Mapping[str, str] | None = None) -> tuple[Tolerance, ...]:
    """Return the rows of a tolerance table that is at hand as text; `name` is what errors call it."""
    rows = read_rows(text, name, COLUMNS)
    tolerances = tuple(_read_tolerance(row) for row in rows)
    for row, tolerance in zip(rows, tolerances, strict=True):
        _check_limits(row, tolerance)
        _check_measure(row, tolerance, units)
    raise_problems(rows, name)
    return tolerances


def find_tolerances_digest(path: Path | None = None) -> str:
    """Return the SHA-256 of a tolerance table's text."""
    return find_table_digest(path, PACKAGED_TOLERANCES)


def _read_tolerance(row: TableRow) -> Tolerance:
    has_aim = bool(row.cells.get("aim"))
    return Tolerance(
        measure=row.read_text("measure", "name the measure"),
        lower=row.read_number("lower", -inf),
        upper=row.read_number("upper", inf),
        unit=row.read_text("unit", f"give one of {', '.join(UNITS)}"),
        aim=row.read_number("aim") if has_aim else None,
        ages_years=row.read_range("age_from", "age_to"),
        heights_m=row.read_range("height_from_m", "height_to_m"),
        kinds=_read_kinds(row),
        source=row.read_text("source", "say where the limits come from"),
        judged=_read_judged(row),
        version=row.read_text("version", "give the version of the table"),
        consequence=row.read_number("consequence"),
        consequence_reason=row.read_text("consequence_reason", "say why it matters that much"),
        note=row.read_text("note"),
    )


def _read_kinds(row: TableRow) -> tuple[ThrowKind, ...]:
    allowed = {str(kind): kind for kind in ThrowKind}
    named = [part.strip() for part in row.cells.get("kinds", "").split("|") if part.strip()]
    unknown = [part for part in named if part not in allowed]
    if unknown or not named:
        said = f"holds {', '.join(unknown)}" if unknown else "is empty"
        row.refuse("kinds", f"{said}: name one or more of {', '.join(allowed)}, with | between them")
    return tuple(allowed[part] for part in named if part in allowed)


def _read_judged(row: TableRow) -> bool:
    """Return whether the row may judge; a limit from memory or second hand alone may not."""
    judged, mark = row.read_flag("judged"), row.read_text("mark", f"give one of {', '.join(MARKS)}")
    if mark and mark not in MARKS:
        row.refuse("mark", f"holds {mark!r}: give one of {', '.join(MARKS)}")
    elif judged and mark and mark not in JUDGED_MARKS:
        row.refuse("judged", f"is yes but the limit is {mark}: such a row is shown, never judged, so write no")
    return judged


def _check_limits(row: TableRow, tolerance: Tolerance) -> None:
    lower, upper, aim = tolerance.lower, tolerance.upper, tolerance.aim
    if isinf(lower) and isinf(upper):
        row.refuse("lower", "and upper are both empty: give at least one limit")
    elif lower >= upper:
        row.refuse("lower", f"holds {lower:g}, which is not below {upper:g} in upper: exchange them")
    elif (isinf(lower) or isinf(upper)) and aim is None:
        row.refuse("aim", "is empty: a row with one limit needs an aim, from which the distance is counted")
    elif aim is not None and not lower < aim < upper:
        row.refuse("aim", f"holds {aim:g}, which is not inside the limits: correct it")
    if not 0 <= tolerance.consequence <= 1:
        row.refuse("consequence", f"holds {tolerance.consequence:g}: give a number from 0 to 1")


def _check_measure(row: TableRow, tolerance: Tolerance, units: Mapping[str, str] | None) -> None:
    if tolerance.unit and tolerance.unit not in UNITS:
        row.refuse("unit", f"holds {tolerance.unit!r}: give one of {', '.join(UNITS)}")
    if units is None or not tolerance.measure:
        return
    known = units.get(tolerance.measure)
    if known is None:
        row.refuse("measure", f"holds {tolerance.measure!r}, which is no measure: correct the name")
    elif tolerance.unit in UNITS and tolerance.unit != known:
        row.refuse("unit", f"holds {tolerance.unit!r}, but {tolerance.measure} is in {known}: convert the limits")
