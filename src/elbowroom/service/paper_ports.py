"""What handing out papers needs from the outside."""

from __future__ import annotations

from typing import Protocol

from elbowroom.core.findings.report import ScreeningReport
from elbowroom.service.paper_values import NextSteps, PaperKind, PaperOrder


class PaperMaker(Protocol):
    """Makes papers of kept reports."""

    def read_report(self, content: bytes) -> ScreeningReport:
        """A kept report's bytes as the report that was written, but for its pictures; raises `DamageError`."""
        ...

    def render_paper(self, report: ScreeningReport, kind: PaperKind, order: PaperOrder, steps: NextSteps) -> bytes:
        """One paper as the content of a file; raises `ResultError` where it cannot be laid out."""
        ...

    def draw_drill(self, key: str, is_left_handed: bool = False) -> str:
        """Figure of a drill of the library as SVG, without words; an empty text for a drill that is not there."""
        ...

    def name_file(self, kind: PaperKind) -> str:
        """Name of the file of a paper."""
        ...
