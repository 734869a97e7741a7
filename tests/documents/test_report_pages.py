"""The pages on the report file and on tolerance tables name everything that they describe.

Sides: the pages against the schema and against the columns that the reader asks for.
"""

from __future__ import annotations

import re
from pathlib import Path

from elbowroom.adapters.report.json_file import read_report_schema
from elbowroom.adapters.tables.tolerances import COLUMNS, MARKS

DOCS = Path(__file__).resolve().parents[2] / "docs"


def _read_first_cells(name: str) -> set[str]:
    rows = re.findall(r"^\| (`.*?) \|", (DOCS / name).read_text(encoding="utf-8"), flags=re.MULTILINE)
    return {key for row in rows for key in re.findall(r"`(\w+)`", row)}


def test_every_key_of_the_report_file_has_its_row() -> None:
    assert _read_first_cells("report-file.md") == set(read_report_schema()["properties"])


def test_every_column_of_a_tolerance_table_has_its_row() -> None:
    assert _read_first_cells("tolerance-tables.md") == set(COLUMNS)


def test_every_mark_is_named() -> None:
    page = (DOCS / "tolerance-tables.md").read_text(encoding="utf-8")
    assert all(mark in page for mark in MARKS)
