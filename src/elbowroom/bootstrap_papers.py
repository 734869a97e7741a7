"""Wiring of what is handed out: the report, the family page, the clinical report and the chart note."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from elbowroom.adapters.languages.catalogue import read_wording
from elbowroom.adapters.report.html import render_report_html
from elbowroom.adapters.report.json_file import render_report_json
from elbowroom.adapters.report.papers.clinical import render_clinical_report
from elbowroom.adapters.report.papers.family import render_family_page
from elbowroom.adapters.results.folders import write_results
from elbowroom.bootstrap import DATA_NAME, PAGE_NAME
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.service.chart_note import write_chart_note
from elbowroom.service.family_page import build_family_page
from elbowroom.service.paper_values import NextSteps, Paper, PaperChoice, PaperKind
from elbowroom.service.summary import describe_report

PAPER_NAMES = {
    PaperKind.FAMILY: "family.pdf",
    PaperKind.CLINICAL: "clinical.pdf",
    PaperKind.NOTE: "note.txt",
}
"""Files of the papers."""


@dataclass(frozen=True, kw_only=True)
class Wish:
    """How papers are asked for."""

    units: str = "cm"
    """Unit of lengths: cm or in."""
    paper: str = "letter"
    """Sheet: letter or a4."""
    language: str = "en"
    """Tag of the language."""
    kinds: tuple[str, ...] = ()
    """Papers beside the report."""

    @property
    def choice(self) -> PaperChoice:
        """The choice as the papers take it."""
        return PaperChoice(paper=Paper(self.paper), lengths=LengthUnit(self.units))


def render_paper(screening: ScreeningReport, kind: PaperKind, wish: Wish, steps: NextSteps) -> bytes:
    """Return one paper of a screening; raises `ResultError` where it cannot be laid out."""
    wording, choice = read_wording(wish.language), wish.choice
    if kind is PaperKind.NOTE:
        return write_chart_note(screening, steps, choice.lengths, wording).encode("utf-8")
    if kind is PaperKind.CLINICAL:
        return render_clinical_report(screening, choice, wording)
    page = build_family_page(screening, steps, choice.lengths)
    return render_family_page(page, screening, choice, wording)


def write_report(screening: ScreeningReport, folder: Path, wish: Wish, *, may_replace: bool) -> Path:
    """Write report, data and the papers asked for to a folder, whole or not at all; returns the page's path.

    Raises `ResultError` where that cannot be done.
    """
    files: dict[str, str | bytes] = {
        PAGE_NAME: render_report_html(screening, wish.choice.lengths, read_wording(wish.language)),
        DATA_NAME: render_report_json(screening),
    }
    for kind in map(PaperKind, wish.kinds):
        files[PAPER_NAMES[kind]] = render_paper(screening, kind, wish, NextSteps())
    write_results(folder, files, may_replace)
    return folder / PAGE_NAME


def describe_screening(screening: ScreeningReport, wish: Wish) -> tuple[str, ...]:
    """Return a screening in a few lines for the person at the screen."""
    say = read_wording(wish.language).translate_text
    return tuple(say(line) for line in describe_report(screening, wish.choice.lengths))
