"""What the screens' use cases need of reports and tables."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from elbowroom.core.findings.report import MadeWith
from elbowroom.core.findings.types import DecisionRule, Finding, Priority, PublishedBand, Tolerance
from elbowroom.service.record_values import KeptReport
from elbowroom.service.report_values import StoredReport


class ReportFiles(Protocol):
    """Reads kept reports and writes those that were judged anew."""

    def read_report(self, content: bytes) -> StoredReport:
        """A kept report's bytes read back; raises `DamageError`."""
        ...

    def write_judged(
        self,
        stored: StoredReport,
        findings: Sequence[Finding],
        priorities: Sequence[Priority],
        rule: DecisionRule,
        table: MadeWith,
    ) -> bytes:
        """A report file with new limits, verdicts and order of work, and everything else as it was."""
        ...

    def read_kept(self, path: Path) -> KeptReport:
        """What the record takes out of a report file; raises `RecordError`."""
        ...

    def find_picture(self, page: bytes, digest: str) -> bytes:
        """The picture of that SHA-256 in a report's page; raises `DamageError` where it is not there."""
        ...


class ToleranceTables(Protocol):
    """Reads tolerance tables and what stands beside them."""

    def read_packaged_text(self) -> str:
        """The text of the table that comes with elbowroom."""
        ...

    def read_rows(self, text: str) -> tuple[Tolerance, ...]:
        """The rows of a table in the order of its lines; raises one `TableError` that names every problem."""
        ...

    def read_bands(self) -> tuple[PublishedBand, ...]:
        """Published values to show beside."""
        ...
