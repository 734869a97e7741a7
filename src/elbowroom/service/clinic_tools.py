"""What the screens' use cases work with, and how they read a kept report."""

from __future__ import annotations

from dataclasses import dataclass

from elbowroom.errors import NotThereError
from elbowroom.service.clinic_ports import ReportFiles, ToleranceTables
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import FileEntry, ScreeningEntry, VisitEntry
from elbowroom.service.report_values import StoredReport


@dataclass(frozen=True, kw_only=True)
class ClinicTools:
    """The opened record with what reads its reports and limits."""

    record: RecordTools
    """The record."""
    reports: ReportFiles
    """Reads and writes reports."""
    tables: ToleranceTables
    """Reads tolerance tables."""


def get_visit(tools: RecordTools, visit_id: str) -> VisitEntry:
    """Return a visit; raises `NotThereError` where there is none of that id."""
    found = tools.entries.find_entries(VisitEntry, id=visit_id)
    if not found:
        raise NotThereError("There is no such visit in the record: open the athlete again.")
    return found[0]


def get_screening(tools: RecordTools, visit_id: str, version: int = 0) -> ScreeningEntry:
    """Return a version of a visit's screening, the newest for 0; raises `NotThereError` where there is none."""
    screenings = tools.entries.find_entries(ScreeningEntry, visit_id=visit_id)
    found = [item for item in screenings if version in (0, item.version)]
    if not found:
        raise NotThereError("The visit has no such screening: screen it first.")
    return found[-1]


def read_screening(clinic: ClinicTools, screening: ScreeningEntry) -> StoredReport:
    """Read the report of a screening; raises `DamageError`."""
    (file,) = clinic.record.entries.find_entries(FileEntry, id=screening.report_entry_id)
    return clinic.reports.read_report(b"".join(clinic.record.vault.read_range(file.file_id)))
