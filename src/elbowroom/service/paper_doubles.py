"""A maker of papers for tests: what it would print, as plain text."""

from __future__ import annotations

from dataclasses import dataclass, field

from elbowroom.core.findings.report import ScreeningReport
from elbowroom.service.paper_values import NextSteps, PaperKind, PaperOrder


@dataclass
class PlainPaperMaker:
    """A `PaperMaker` that knows its reports by their bytes and writes one line a paper."""

    reports: dict[bytes, ScreeningReport] = field(default_factory=dict)

    def read_report(self, content: bytes) -> ScreeningReport:
        """Return the report that these bytes stand for."""
        return self.reports[content]

    def render_paper(self, report: ScreeningReport, kind: PaperKind, order: PaperOrder, steps: NextSteps) -> bytes:
        """Return a line that says what was asked for."""
        drills = ", ".join(drill.name for drill in steps.drills)
        return f"{kind} of {report.athlete.name} in {order.language} on {order.choice.paper}: {drills}".encode()

    def draw_drill(self, key: str, is_left_handed: bool = False) -> str:
        """Return a square that is called by the key."""
        return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1" id="{key} {is_left_handed}"/>'

    def name_file(self, kind: PaperKind) -> str:
        """Return the kind with the ending of a text."""
        return f"{kind}.txt"
