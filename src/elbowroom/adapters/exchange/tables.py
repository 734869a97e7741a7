"""The tables as CSV and Parquet."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Sequence
from typing import Any

from elbowroom.adapters.exchange.columns import COLUMNS, DICTIONARY, Cell, Column, list_dictionary, list_rows
from elbowroom.adapters.exchange.motion_file import open_library
from elbowroom.adapters.exchange.units import UCUM
from elbowroom.service.exchange_types import HandedVisit

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""A text that begins so could be run as a formula by a spreadsheet, so a quote is put before it."""


def render_csv_tables(visit: HandedVisit) -> dict[str, bytes]:
    """Return file name -> content: every table and the data dictionary (RFC 4180, UTF-8, numbers with a point)."""
    files = {f"{table}.csv": render_csv(columns, list_rows(table, visit, UCUM)) for table, columns in COLUMNS.items()}
    return files | {"dictionary.csv": render_csv(DICTIONARY, list_dictionary())}


def render_csv(columns: Sequence[Column], rows: Iterable[Sequence[Cell]]) -> bytes:
    """Return a table as CSV; a number keeps every digit that it needs to come back the same."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow([column.name for column in columns])
    writer.writerows([_write_cell(cell) for cell in row] for row in rows)
    return text.getvalue().encode("utf-8")


def _write_cell(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return f"'{cell}" if cell.startswith(FORMULA_STARTS) else cell
    return repr(cell)


def render_parquet_tables(visit: HandedVisit) -> dict[str, bytes]:
    """Return file name -> content: every table as Parquet, with units and meanings in its schema.

    Raises `ResultError` where the optional part is not installed.
    """
    arrow = open_library("pyarrow")
    return {
        f"{table}.parquet": _render_parquet(arrow, table, columns, list(list_rows(table, visit, UCUM)))
        for table, columns in COLUMNS.items()
    }


def _render_parquet(arrow: Any, table: str, columns: Sequence[Column], rows: list[tuple[Cell, ...]]) -> bytes:
    kinds = {"text": arrow.string(), "number": arrow.float64(), "whole number": arrow.int32(), "day": arrow.string()}
    fields = [
        arrow.field(column.name, kinds[column.kind], metadata={"unit": column.unit, "meaning": column.meaning})
        for column in columns
    ]
    facts = {"made_by": "elbowroom", "table": table, "dictionary": json.dumps([vars(column) for column in columns])}
    arrays = [
        arrow.array([row[place] for row in rows], type=kinds[column.kind]) for place, column in enumerate(columns)
    ]
    schema = arrow.schema(fields, metadata=facts)
    sink = io.BytesIO()
    parquet = open_library("pyarrow.parquet")
    parquet.write_table(arrow.Table.from_arrays(arrays, schema=schema), sink, compression="zstd")
    return sink.getvalue()
