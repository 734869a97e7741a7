"""What correcting needs from outside."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from elbowroom.core.chain.workings import Workings
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.service.record_values import KeptReport


class ReviewFiles(Protocol):
    """Reads workings and writes reports, as the vault keeps them."""

    def read_workings(self, content: bytes) -> Workings:
        """The workings of a screening; raises `RecordError` where the content is none of this version."""
        ...

    def render_report(self, report: ScreeningReport) -> bytes:
        """The file of a report; raises `ScreeningError` where a number is not finite."""
        ...

    def read_kept(self, path: Path) -> KeptReport:
        """What the record takes out of a report's file; raises `RecordError` where it is none."""
        ...
