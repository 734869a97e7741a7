"""Handing out where there is little or nothing to hand out, or nowhere to put it.

Sides: a report without any measure, throw, motion or load still gives whole tables and a whole health record; one
format that needs motion says so; a folder that cannot be written leaves nothing behind.
"""

from __future__ import annotations

import csv
import io
import json
import resource
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from elbowroom.adapters.exchange.parcel import FORMATS, render_parcel
from elbowroom.adapters.exchange.reading import build_handed_visit
from elbowroom.adapters.report.json_file import render_report_json
from elbowroom.bootstrap_exchange import HandOut, write_export
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ResultError
from elbowroom.service.exchange_types import HandedVisit
from tests.makers.handed import CODE, LINK, make_report_bytes
from tests.makers.reports import make_report

WANTED = HandOut(code=CODE, formats=FORMATS, patient="", made_at=LINK.made_at)


def make_empty_visit() -> HandedVisit:
    nothing = replace(
        make_report(),
        findings=(),
        throws=(),
        priorities=(),
        curves=(),
        pictures=(),
        motions=(),
        bands=(),
        loads=Absent(reason="Nothing was asked for."),
    )
    return build_handed_visit(render_report_json(nothing).encode("utf-8"), CODE)


def test_a_report_without_measures_gives_whole_tables() -> None:
    files = render_parcel(make_empty_visit(), FORMATS, LINK)
    rows = list(csv.reader(io.StringIO(files["measures.csv"].decode("utf-8"))))
    assert len(rows) == 1
    kinds = {entry["resource"]["resourceType"] for entry in json.loads(files["health-record.json"])["entry"]}
    assert kinds == {"DiagnosticReport", "Device", "Provenance"}
    assert not any(name.endswith(".c3d") for name in files)


def test_motion_alone_without_motion_says_what_to_do() -> None:
    with pytest.raises(ResultError, match="screen the visit again, or name csv"):
        render_parcel(make_empty_visit(), ("c3d",), LINK)


@contextmanager
def limiting_files(size: int) -> Iterator[None]:
    """Let no file grow beyond a size, as on a disk that is full."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def test_a_full_disk_leaves_nothing_half(tmp_path: Path) -> None:
    (tmp_path / "report.json").write_bytes(make_report_bytes())
    before = sorted(tmp_path.rglob("*"))
    with limiting_files(20_000), pytest.raises(ResultError, match="check room and permissions"):
        write_export(tmp_path / "report.json", tmp_path / "out", replace(WANTED, formats=("csv",)), may_replace=False)
    assert sorted(tmp_path.rglob("*")) == before


def test_a_place_below_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "report.json").write_bytes(make_report_bytes())
    with pytest.raises(ResultError):
        write_export(tmp_path / "report.json", tmp_path / "report.json" / "out", WANTED, may_replace=False)
