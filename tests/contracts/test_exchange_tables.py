"""The tables that are handed out.

Sides: CSV read back by the standard library and Parquet by another engine (DuckDB) give the numbers of the report;
both formats hold the same; the dictionary names every column; units against an independent units library (pint);
nothing names the athlete.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

import duckdb
import pint
import pytest

from elbowroom.adapters.exchange.columns import COLUMNS
from elbowroom.adapters.exchange.reading import build_handed_visit
from elbowroom.adapters.exchange.tables import render_csv_tables, render_parquet_tables
from elbowroom.adapters.exchange.units import UCUM
from elbowroom.core.quantities.types import Uncertain
from elbowroom.errors import ResultError
from tests.makers.handed import CODE, make_handed_visit, make_report_bytes
from tests.makers.reports import ATHLETE, make_report


def read_csv(name: str) -> list[dict[str, str]]:
    text = render_csv_tables(make_handed_visit())[f"{name}.csv"].decode("utf-8")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_csv_gives_the_numbers_of_the_report() -> None:
    rows = {(row["measure"], int(row["throw"])): row for row in read_csv("measures")}
    for finding in make_report().findings:
        for throw, quantity in enumerate((finding.typical, *finding.throws)):
            row = rows[finding.definition.key, throw]
            if isinstance(quantity, Uncertain):
                assert float(row["value"]) == quantity.value
                assert float(row["standard_uncertainty"]) == pytest.approx(quantity.standard, rel=1e-12)
                assert float(row["half_width_95"]) == pytest.approx(quantity.half_width, rel=1e-12)
                assert row["unit"] == quantity.unit
            else:
                assert row["value"] == ""
                assert row["absent"] == quantity.reason


def test_budgets_add_up_to_the_standard_uncertainty() -> None:
    sums: dict[tuple[str, str], float] = {}
    for row in read_csv("budgets"):
        key = row["measure"], row["throw"]
        sums[key] = sums.get(key, 0.0) + float(row["standard_uncertainty"]) ** 2
    measured = {(row["measure"], row["throw"]): row for row in read_csv("measures") if row["value"]}
    assert set(sums) == set(measured)
    for key, row in measured.items():
        assert sums[key] == pytest.approx(float(row["standard_uncertainty"]) ** 2, rel=1e-9), key


@pytest.mark.parametrize("table", COLUMNS)
def test_another_engine_reads_the_same_from_parquet(table: str, tmp_path: Path) -> None:
    path = tmp_path / "table.parquet"
    path.write_bytes(render_parquet_tables(make_handed_visit())[f"{table}.parquet"])
    with duckdb.connect() as engine:
        found = engine.execute("select * from read_parquet($1)", [str(path)])
        names = [column[0] for column in found.description]
        rows = found.fetchall()
    plain = read_csv(table)
    assert names == [column.name for column in COLUMNS[table]]
    assert len(rows) == len(plain)
    for row, line in zip(rows, plain, strict=True):
        for value, text in zip(row, line.values(), strict=True):
            same = text == "" if value is None else float(text) == value if isinstance(value, float) else None
            assert same or str(value).lstrip("'") == text.lstrip("'")


def test_parquet_carries_units_and_meanings(tmp_path: Path) -> None:
    path = tmp_path / "joints.parquet"
    path.write_bytes(render_parquet_tables(make_handed_visit())["joints.parquet"])
    with duckdb.connect() as engine:
        facts = engine.execute("select key, value from parquet_kv_metadata($1)", [str(path)]).fetchall()
    assert {key.decode() for key, _ in facts} >= {"table", "dictionary", "made_by"}


def test_dictionary_names_every_column() -> None:
    named = {(row["table"], row["column"]) for row in read_csv("dictionary")}
    assert named == {(table, column.name) for table, columns in COLUMNS.items() for column in columns}


def test_units_are_known_to_a_units_library() -> None:
    registry = pint.UnitRegistry()
    written = {"%": "percent", "1": "dimensionless", "N m": "N*m", "% BW H": "percent", "% BW": "percent"}
    for unit, ucum in UCUM.items():
        ours = registry(written.get(unit, unit))
        plain = ucum.split("{")[0].replace("N.m", "N*m").replace("%", "percent")
        theirs = registry("dimensionless" if plain == "1" else plain)
        assert ours.to_base_units() == theirs.to_base_units(), unit


def test_nothing_names_the_athlete() -> None:
    for name, content in render_csv_tables(make_handed_visit()).items():
        assert ATHLETE.name.encode() not in content, name
        assert CODE.encode() in content or name in ("definitions.csv", "dictionary.csv")


def test_a_text_is_no_formula() -> None:
    rows = render_csv_tables(build_handed_visit(make_report_bytes(), "=1+1"))["instants.csv"].decode("utf-8")
    assert "\n'=1+1," in rows.replace("\r", "")


@pytest.mark.parametrize("content", [b"", b"{}", b"[1]", b"\xff\xfe", b'{"format": "other"}'])
def test_what_is_no_report_is_refused(content: bytes) -> None:
    with pytest.raises(ResultError, match="screen the visit again"):
        build_handed_visit(content, CODE)
