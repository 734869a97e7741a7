"""Reading the pitch-count tables and the rules that go with them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

from elbowroom.adapters.tables.rows import TableRow, raise_problems, read_rows, read_table_text
from elbowroom.core.plan.rest import CONDUCT_KEYS, Bindingness, Conduct, RestRow, RestTable

PACKAGED_REST, PACKAGED_CONDUCT = "rest_days.csv", "rest_conduct.csv"
REST_COLUMNS = tuple(f"rest_{days}_from" for days in range(1, 6))
COLUMNS = (
    *("table", "words", "issued", "kind", "age_from", "age_to", "daily_most", *REST_COLUMNS),
    *("open", "mark", "source", "note"),
)
"""Columns of a pitch-count table; the later days of rest and note may be empty."""
CONDUCT_COLUMNS = ("table", "rule", "age_from", "age_to", "number", "rule_words", "mark", "source")
MARKS = ("seen", "second-hand copy", "chosen by this clinic", "chosen by this project")
"""How a row may be known; nothing from memory alone decides when an athlete pitches."""


def read_rest_tables(path: Path | None = None, conduct_path: Path | None = None) -> tuple[RestTable, ...]:
    """Return the pitch-count tables, the packaged ones where no path is given.

    Raises one `TableError` that names line and column of everything that is wrong, a row without source included.
    """
    name = path.name if path else PACKAGED_REST
    rows = read_rows(read_table_text(path, PACKAGED_REST), name, COLUMNS)
    read = [(row, _read_rest_row(row)) for row in rows]
    keys = list(dict.fromkeys(row.read_text("table", "name the table") for row in rows))
    kinds = {row.cells["table"]: _read_kind(row) for row in reversed(rows)}
    for key in keys:
        _check_bands([(row, item) for row, item in read if row.cells["table"] == key])
    raise_problems(rows, name)
    conduct = _read_conduct(conduct_path, keys)
    first = {row.cells["table"]: row for row in reversed(rows)}
    return tuple(
        RestTable(
            key=key,
            words=first[key].cells["words"],
            issued=first[key].cells["issued"],
            kind=kinds[key],
            rows=tuple(item for row, item in read if row.cells["table"] == key),
            conduct=tuple(item for named, item in conduct if key in named),
        )
        for key in keys
    )


def _read_rest_row(row: TableRow) -> RestRow:
    for column, wanted in (
        ("words", "name the table in words"),
        ("issued", "say when it was issued, or that it is not"),
    ):
        row.read_text(column, wanted)
    ages = row.read_range("age_from", "age_to")
    least = [_read_count(row, column) for column in REST_COLUMNS if row.cells.get(column)]
    daily_most = _read_count(row, "daily_most")
    if least != sorted(set(least)) or not least or least[0] < 1:
        row.refuse("rest_1_from", "and those after it do not rise: give the smallest count that owes each day of rest")
    elif least[-1] > daily_most and not row.read_flag("open"):
        row.refuse("daily_most", f"holds {daily_most}, below the last count that owes rest: correct one of them")
    mark = row.read_text("mark", f"give one of {', '.join(MARKS)}")
    if mark and mark not in MARKS:
        row.refuse("mark", f"holds {mark!r}: give one of {', '.join(MARKS)}")
    return RestRow(
        ages_years=(int(ages[0]), int(ages[1])),
        daily_most=daily_most,
        rest_from=tuple(least),
        is_open=row.read_flag("open"),
        mark=mark,
        source=row.read_text("source", "say where the row comes from"),
        note=row.read_text("note"),
    )


def _read_count(row: TableRow, column: str) -> int:
    number = row.read_number(column)
    if number < 0 or number != int(number):
        row.refuse(column, f"holds {number:g}: give a whole number, 0 or more")
    return int(number)


def _read_kind(row: TableRow) -> Bindingness:
    text = row.read_text("kind", "say what kind of table it is")
    known = {str(kind): kind for kind in Bindingness}
    if text and text not in known:
        row.refuse("kind", f"holds {text!r}: give one of {', '.join(known)}")
    return known.get(text, Bindingness.GUIDELINE)


def _check_bands(rows: Sequence[tuple[TableRow, RestRow]]) -> None:
    """Refuse ages that stand in two rows of one table."""
    for (_, before), (row, after) in pairwise(rows):
        if after.ages_years[0] <= before.ages_years[1]:
            row.refuse(
                "age_from", f"holds {after.ages_years[0]}, which the row before has too: each age belongs to one"
            )


def _read_conduct(path: Path | None, keys: Sequence[str]) -> list[tuple[list[str], Conduct]]:
    name = path.name if path else PACKAGED_CONDUCT
    rows = read_rows(read_table_text(path, PACKAGED_CONDUCT), name, CONDUCT_COLUMNS)
    read = [_read_conduct_row(row, keys) for row in rows]
    raise_problems(rows, name)
    return read


def _read_conduct_row(row: TableRow, keys: Sequence[str]) -> tuple[list[str], Conduct]:
    named = [part.strip() for part in row.read_text("table", "name the table").split("|")]
    unknown = [part for part in named if part and part not in keys]
    if unknown:
        row.refuse("table", f"holds {', '.join(unknown)}, which is no table: correct the name")
    key, mark = (
        row.read_text("rule", f"give one of {', '.join(CONDUCT_KEYS)}"),
        row.read_text("mark", "say how it is known"),
    )
    if key and key not in CONDUCT_KEYS:
        row.refuse("rule", f"holds {key!r}: give one of {', '.join(CONDUCT_KEYS)}")
    if mark and mark not in MARKS:
        row.refuse("mark", f"holds {mark!r}: give one of {', '.join(MARKS)}")
    ages = row.read_range("age_from", "age_to")
    return named, Conduct(
        key=key,
        ages_years=(int(ages[0]), int(ages[1])),
        number=_read_count(row, "number"),
        words=row.read_text("rule_words", "say the rule in a sentence"),
        source=row.read_text("source", "say where the rule comes from"),
    )
