"""Wiring of what is handed out: the report, the family page, the clinical report and the chart note."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path

from elbowroom.adapters.figures.drill import render_drill_figure
from elbowroom.adapters.languages.catalogue import read_wording
from elbowroom.adapters.report.html import render_report_html
from elbowroom.adapters.report.json_file import render_report_json
from elbowroom.adapters.report.papers.clinical import render_clinical_report
from elbowroom.adapters.report.papers.family import render_family_page
from elbowroom.adapters.report.whole import read_whole_report
from elbowroom.adapters.results.folders import check_results_folder, write_results
from elbowroom.adapters.tables.drill_tables import read_drills, read_poses
from elbowroom.bootstrap import DATA_NAME, PAGE_NAME
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.measures.registry import MEASURES
from elbowroom.core.plan.drills import Drill
from elbowroom.service.chart_note import write_chart_note
from elbowroom.service.family_page import build_family_page
from elbowroom.service.handing_out import NOT_SET, build_order, make_papers
from elbowroom.service.paper_values import NextSteps, Paper, PaperKind, PaperOrder
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_values import Stamp
from elbowroom.service.summary import describe_report


@dataclass(frozen=True)
class PackagedPapers:
    """A `PaperMaker` over the report's own format and the packaged templates."""

    def read_report(self, content: bytes) -> ScreeningReport:
        """A kept report's bytes as the report that was written."""
        return read_whole_report(content)

    def render_paper(self, report: ScreeningReport, kind: PaperKind, order: PaperOrder, steps: NextSteps) -> bytes:
        """One paper as the content of a file."""
        wording, lengths = read_wording(order.language), order.choice.lengths
        if kind is PaperKind.NOTE:
            return write_chart_note(report, steps, lengths, wording).encode("utf-8")
        if kind is PaperKind.CLINICAL:
            return render_clinical_report(report, order.choice, wording)
        return render_family_page(build_family_page(report, steps, lengths), report, order.choice, wording)

    def draw_drill(self, key: str, is_left_handed: bool = False) -> str:
        """Figure of a drill of the library, without words."""
        found = [drill for drill in _read_library() if drill.key == key]
        if not found:
            return ""
        return render_drill_figure(found[0], read_poses(), has_captions=False, is_mirrored=is_left_handed)

    def name_file(self, kind: PaperKind) -> str:
        """Name of the file of a paper."""
        return PAPER_NAMES[kind]


@cache
def _read_library() -> tuple[Drill, ...]:
    return read_drills(frozenset(measure.key for measure in MEASURES))


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
    back_on: date | None = None
    """Day of the next visit."""

    @property
    def order(self) -> PaperOrder:
        """The wish as the papers take it."""
        return build_order(
            tuple(map(PaperKind, self.kinds)), Paper(self.paper), self.language, self.units, self.back_on or NOT_SET
        )


def write_report(screening: ScreeningReport, folder: Path, wish: Wish, *, may_replace: bool) -> Path:
    """Write report, data and the papers asked for to a folder, whole or not at all; returns the page's path.

    Raises `ResultError` where that cannot be done.
    """
    files: dict[str, str | bytes] = {
        PAGE_NAME: render_report_html(screening, wish.order.choice.lengths, read_wording(wish.language)),
        DATA_NAME: render_report_json(screening),
    }
    for kind in wish.order.kinds:
        files[PAPER_NAMES[kind]] = PackagedPapers().render_paper(
            screening, kind, wish.order, NextSteps(retest_on=wish.order.back_on)
        )
    write_results(folder, files, may_replace)
    return folder / PAGE_NAME


def write_visit_papers(
    tools: RecordTools, visit_id: str, folder: Path, wish: Wish, stamp: Stamp, *, may_replace: bool
) -> tuple[str, ...]:
    """Write papers of a kept visit to a folder, whole or not at all; returns the names of the files.

    Raises `RecordError`, `ConsentError` or `ResultError`.
    """
    check_results_folder(folder, may_replace)
    papers = make_papers(tools, PackagedPapers(), visit_id, wish.order, stamp)
    write_results(folder, {paper.name: paper.content for paper in papers}, may_replace)
    return tuple(paper.name for paper in papers)


def describe_screening(screening: ScreeningReport, wish: Wish) -> tuple[str, ...]:
    """Return a screening in a few lines for the person at the screen."""
    say = read_wording(wish.language).translate_text
    return tuple(say(line) for line in describe_report(screening, wish.order.choice.lengths))
