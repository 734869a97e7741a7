"""Reading the table of field sizes."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files

from elbowroom.core.cameras.types import FieldSize
from elbowroom.errors import TableError

METRES = {"in": 0.0254, "ft": 0.3048, "m": 1.0}
"""Metres in each unit that the table may use (international inch and foot, exact)."""

COLUMNS = ("thing", "level", "dimension", "size", "unit", "mark", "source", "note")
"""Columns of the table."""

MARKS = ("second-hand copy", "from memory", "computed")
"""How a size may be known."""


@cache
def read_field_sizes() -> tuple[FieldSize, ...]:
    """Return the sizes of the table that ships with the package."""
    text = files("elbowroom").joinpath("tables", "field_geometry.csv").read_text(encoding="utf-8")
    return collect_field_sizes(text.splitlines())


def collect_field_sizes(lines: Iterable[str]) -> tuple[FieldSize, ...]:
    """Return the sizes that the lines of a table hold.

    Raises TableError naming every row without a source, a known unit, a known mark or a number.
    """
    rows = list(csv.DictReader(lines))
    problems = [f"row {number}: {problem}" for number, row in enumerate(rows, 2) for problem in find_row_problems(row)]
    if problems:
        raise TableError(f"Mend the table of field sizes: {'; '.join(problems)}.")
    return tuple(build_field_size(row) for row in rows)


def find_row_problems(row: Mapping[str, str | None]) -> list[str]:
    """Return what is wrong with a row, in words."""
    problems = [f"no {name}" for name in COLUMNS[:-1] if not (row.get(name) or "").strip()]
    if problems:
        return problems
    if row["unit"] not in METRES:
        problems.append(f"unit {row['unit']} is not one of {', '.join(METRES)}")
    if row["mark"] not in MARKS:
        problems.append(f"mark {row['mark']} is not one of {', '.join(MARKS)}")
    if not (row["size"] or "").replace(".", "", 1).isdigit():
        problems.append(f"size {row['size']} is not a number")
    return problems


def build_field_size(row: Mapping[str, str]) -> FieldSize:
    """Return the size that a sound row holds."""
    return FieldSize(
        thing=row["thing"],
        level=row["level"],
        dimension=row["dimension"],
        size_m=float(row["size"]) * METRES[row["unit"]],
        mark=row["mark"],
        source=row["source"],
        note=row["note"] or "",
    )


def get_field_size(thing: str, dimension: str, level: str = "standard") -> FieldSize:
    """Return one size of the shipped table.

    Raises TableError naming the levels that the table has for the thing.
    """
    same = [size for size in read_field_sizes() if (size.thing, size.dimension) == (thing, dimension)]
    for size in same:
        if size.level == level:
            return size
    levels = ", ".join(size.level for size in same) or "none"
    raise TableError(f"The table has no {dimension} of the {thing} for {level}; it has: {levels}.")
