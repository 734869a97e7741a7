"""Use case: kept screenings judged by the clinic's limits of today, as new versions beside the old."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from elbowroom.core.findings.choose import choose_tolerance
from elbowroom.core.findings.judge import judge_measure
from elbowroom.core.findings.order import order_findings
from elbowroom.core.findings.phrases import name_verdict
from elbowroom.core.findings.report import MadeWith
from elbowroom.core.findings.types import DecisionRule, Finding, Tolerance
from elbowroom.core.quantities.types import Absent
from elbowroom.service.clinic_settings import find_settings
from elbowroom.service.clinic_tools import ClinicTools, get_screening, get_visit, read_screening
from elbowroom.service.keeping import KeptVisit, keep_visit
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_types import FileKind, ScreeningEntry, VisitEntry
from elbowroom.service.record_values import ParcelFile, Stamp, VisitParcel
from elbowroom.service.report_values import StoredReport
from elbowroom.service.tolerances import find_table_text, see_tolerances


def judge_kept_visit(clinic: ClinicTools, visit_id: str, stamp: Stamp) -> KeptVisit:
    """Judge the newest screening of a visit by the limits and the rule that hold now.

    The numbers stay as they were measured. A new version of the screening is kept where any limit or verdict differs;
    where none does, the version that is there is returned. Raises `ConsentError` and `RecordError`.
    """
    visit = get_visit(clinic.record, visit_id)
    screening = get_screening(clinic.record, visit_id)
    stored = read_screening(clinic, screening)
    rule = find_settings(clinic.record).rule
    findings = judge_again(stored, clinic.tables.read_rows(find_table_text(clinic)), rule)
    pairs = zip(stored.findings, findings, strict=True)
    if rule == stored.rule and all(is_same_judgement(before, now) for before, now in pairs):
        return KeptVisit(visit_id=visit_id, version=screening.version, is_new=False)
    content = clinic.reports.write_judged(stored, findings, order_findings(findings), rule, name_table(clinic))
    return _keep_report(clinic, visit, screening, content, stamp)


def judge_kept_visits(clinic: ClinicTools, athlete_id: str, stamp: Stamp) -> tuple[int, int]:
    """Judge every screened visit of an athlete again; returns how many got a new version, and how many were looked at.

    Raises what `judge_kept_visit` raises, after the visits before the one that failed.
    """
    lines = [line for line in clinic.record.days.list_athlete_visits(athlete_id) if line.version]
    kept = [judge_kept_visit(clinic, line.visit_id, stamp) for line in lines]
    return sum(item.is_new for item in kept), len(kept)


def judge_again(stored: StoredReport, rows: Sequence[Tolerance], rule: DecisionRule) -> tuple[Finding, ...]:
    """Return the findings of a stored report held against rows and a rule; its numbers stay."""
    athlete = stored.athlete
    findings = []
    for finding in stored.findings:
        key = finding.definition.key
        tolerance = choose_tolerance(rows, key, athlete.age_years, athlete.height_m, athlete.kind)
        findings.append(judge_measure(finding.definition, finding.throws, tolerance, rule))
    return tuple(findings)


def name_table(clinic: ClinicTools) -> MadeWith:
    """Return the name of the table that holds now, with the SHA-256 of its text."""
    version = see_tolerances(clinic).version
    name = f"the clinic's version {version}" if version else "tolerances.csv"
    return MadeWith(name=f"tolerances, {name}", version=hashlib.sha256(find_table_text(clinic).encode()).hexdigest())


def is_same_judgement(before: Finding, now: Finding) -> bool:
    """Return whether two findings of one measure hold the same limits and the same verdict."""
    if name_verdict(before.verdict) is not name_verdict(now.verdict):
        return False
    return _list_limits(before.tolerance) == _list_limits(now.tolerance)


def _list_limits(tolerance: Tolerance | Absent) -> tuple[object, ...]:
    if isinstance(tolerance, Absent):
        return ()
    return tolerance.lower, tolerance.upper, tolerance.aim, tolerance.judged, tolerance.source


def _keep_report(
    clinic: ClinicTools, visit: VisitEntry, judged: ScreeningEntry, content: bytes, stamp: Stamp
) -> KeptVisit:
    """Keep a report that was made here; it lies outside the vault only in a folder that this user alone may read."""
    with TemporaryDirectory(prefix="elbowroom-") as folder:
        path = Path(folder) / "report.json"
        path.write_bytes(content)
        parcel = VisitParcel(
            made_on=visit.made_on,
            height_m=visit.height_m,
            kind=visit.kind,
            files=(ParcelFile(path=path, kind=FileKind.REPORT, view=ABSENT),),
            report=replace(clinic.reports.read_kept(path), corrections_version=judged.corrections_version),
        )
        return keep_visit(clinic.record, visit.athlete_id, parcel, stamp)
