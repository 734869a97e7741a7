"""The wiring of what the screens need beside the record: kept reports, limits, the demo club."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path

from elbowroom import __version__
from elbowroom.adapters.report import stored
from elbowroom.adapters.report.courses import (
    build_course_row,
    build_point_rows,
    draw_course,
    draw_growth,
    list_growth_rows,
)
from elbowroom.adapters.report.json_file import render_report_json
from elbowroom.adapters.report.kept import build_kept_report, read_kept_report
from elbowroom.adapters.report.sheets import build_gap_rows, build_plain_rows, build_sheet_rows, build_why
from elbowroom.adapters.tables.bands import read_published_bands
from elbowroom.adapters.tables.rows import read_table_text
from elbowroom.adapters.tables.tolerances import PACKAGED_TOLERANCES, read_tolerance_text
from elbowroom.core.chain.judging import JudgeTables
from elbowroom.core.findings.report import MadeWith, ScreeningReport
from elbowroom.core.findings.types import DecisionRule, Finding, Priority, PublishedBand, Tolerance
from elbowroom.core.measures.registry import MEASURES
from elbowroom.service import demo_club
from elbowroom.service.clinic_settings import find_settings
from elbowroom.service.clinic_tools import ClinicTools
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import FileKind
from elbowroom.service.record_values import KeptReport, ParcelFile, Stamp, VisitParcel
from elbowroom.service.rejudging import name_table
from elbowroom.service.report_values import StoredReport
from elbowroom.service.tolerances import find_table_text

__all__ = (
    "add_demo_club",
    "build_clinic",
    "build_course_row",
    "build_gap_rows",
    "build_plain_rows",
    "build_point_rows",
    "build_sheet_rows",
    "build_why",
    "draw_course",
    "draw_growth",
    "find_judge_tables",
    "find_own_limits",
    "list_growth_rows",
)


class KeptReportFiles:
    """A `ReportFiles` over the report's own format."""

    def read_report(self, content: bytes) -> StoredReport:
        """A kept report's bytes read back."""
        return stored.read_stored_report(content)

    def write_judged(
        self,
        stored_report: StoredReport,
        findings: Sequence[Finding],
        priorities: Sequence[Priority],
        rule: DecisionRule,
        table: MadeWith,
    ) -> bytes:
        """A report file with new limits and verdicts."""
        return stored.write_judged_report(stored_report, findings, priorities, rule, table)

    def read_kept(self, path: Path) -> KeptReport:
        """What the record takes out of a report file."""
        return read_kept_report(path)

    def find_picture(self, page: bytes, digest: str) -> bytes:
        """The picture of that SHA-256 in a report's page."""
        return stored.find_picture(page, digest)


class PackagedTables:
    """A `ToleranceTables` over the tables that come with elbowroom."""

    def read_packaged_text(self) -> str:
        """The text of the packaged table."""
        return read_table_text(None, PACKAGED_TOLERANCES)

    def read_rows(self, text: str) -> tuple[Tolerance, ...]:
        """The rows of a table."""
        return read_tolerance_text(text, "of limits", {measure.key: measure.unit for measure in MEASURES})

    def read_bands(self) -> tuple[PublishedBand, ...]:
        """Published values."""
        return read_published_bands()


def build_clinic(record: RecordTools) -> ClinicTools:
    """Return what the screens' use cases work with."""
    return ClinicTools(record=record, reports=KeptReportFiles(), tables=PackagedTables())


def find_judge_tables(record: RecordTools) -> JudgeTables:
    """Return the limits and the rule that hold in the clinic now, for judging a new visit."""
    clinic = build_clinic(record)
    return JudgeTables(
        tolerances=clinic.tables.read_rows(find_table_text(clinic)),
        bands=clinic.tables.read_bands(),
        rule=find_settings(record).rule,
    )


def find_own_limits(record: RecordTools) -> tuple[JudgeTables, MadeWith]:
    """Return the limits and the rule that hold in the clinic now, with the name and digest of their table."""
    return find_judge_tables(record), name_table(build_clinic(record))


def add_demo_club(
    record: RecordTools, stamp: Stamp, report: Callable[[int, int], None], size: int = demo_club.CLUB_SIZE
) -> tuple[str, ...]:
    """Put the invented club into the record and return the athletes' ids; raises `RecordError` where it is there."""
    tools = demo_club.DemoTools(
        tables=find_judge_tables(record),
        made_with=(MadeWith(name="elbowroom", version=__version__), name_table(build_clinic(record))),
        write_report=write_invented_visit,
    )
    return demo_club.add_demo_club(record, tools, stamp, report, size)


def write_invented_visit(screening: ScreeningReport, folder: Path) -> VisitParcel:
    """Write the report of an invented visit to a folder and return it as a visit to keep, without any clip."""
    path = folder / "report.json"
    text = render_report_json(screening)
    path.write_text(text, encoding="utf-8")
    return VisitParcel(
        made_on=screening.made_on,
        height_m=screening.athlete.height_m,
        kind=f"{screening.athlete.kind} (invented)",
        files=(ParcelFile(path=path, kind=FileKind.REPORT, view=ABSENT),),
        report=build_kept_report(json.loads(text)),
    )
