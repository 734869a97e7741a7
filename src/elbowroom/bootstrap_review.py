"""The wiring of the review of a visit: workings, corrections, reports."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

from elbowroom.adapters.report.json_file import render_report_json
from elbowroom.adapters.report.kept import read_kept_report
from elbowroom.adapters.tables.loads import read_load_tables
from elbowroom.adapters.workings.files import read_workings, render_workings
from elbowroom.bootstrap import find_landmark_tables
from elbowroom.bootstrap_pages import find_judge_tables, find_own_limits
from elbowroom.core.chain.judging import JudgeTables
from elbowroom.core.chain.workings import Workings
from elbowroom.core.findings.report import MadeWith, ScreeningReport
from elbowroom.core.landmarks.models import LandmarkTables
from elbowroom.core.loads.types import LoadTables
from elbowroom.service.correcting import CorrectingTools
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_values import KeptReport
from elbowroom.service.reviewing import ReviewTools


class PackagedReviewFiles:
    """A `ReviewFiles` over the formats of this package."""

    def __init__(self, find_table: Callable[[], MadeWith]) -> None:
        """`find_table` names the table of limits by which a corrected report is judged."""
        self._find_table = find_table

    def read_workings(self, content: bytes) -> Workings:
        """The workings of a screening."""
        return read_workings(content)

    def render_workings(self, workings: Workings) -> bytes:
        """The file of workings."""
        return render_workings(workings)

    def render_report(self, report: ScreeningReport) -> bytes:
        """The file of a report, which names the table that judged it."""
        table = self._find_table()
        made_with = tuple(table if item.name.startswith("tolerances") else item for item in report.made_with)
        return render_report_json(replace(report, made_with=made_with)).encode("utf-8")

    def read_kept(self, path: Path) -> KeptReport:
        """What the record takes out of a report's file."""
        return read_kept_report(path)


def build_review_tools(record: RecordTools) -> ReviewTools:
    """Return what the review of visits in an opened record needs."""
    return ReviewTools(
        record=record,
        files=PackagedReviewFiles(lambda: find_own_limits(record)[1]),
        correcting=lambda: build_correcting_tools(find_judge_tables(record)),
    )


def build_correcting_tools(judge_tables: JudgeTables) -> CorrectingTools:
    """Return the tables that a correction measures and judges by."""
    landmarks, loads = read_fixed_tables()
    return CorrectingTools(landmark_tables=landmarks, load_tables=loads, judge_tables=judge_tables)


@cache
def read_fixed_tables() -> tuple[LandmarkTables, LoadTables]:
    """Return the tables that no clinic changes, read once."""
    return find_landmark_tables(), read_load_tables()
