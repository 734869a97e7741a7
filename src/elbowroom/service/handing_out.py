"""Use case: papers about a kept visit."""

from __future__ import annotations

from dataclasses import replace

from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.service.athletes import check_consent
from elbowroom.service.clinic_tools import get_screening, get_visit
from elbowroom.service.paper_ports import PaperMaker
from elbowroom.service.paper_values import HandedPaper, NextSteps, Paper, PaperChoice, PaperKind, PaperOrder
from elbowroom.service.record_tools import RecordTools, get_athlete, note_act
from elbowroom.service.record_types import Act, FileEntry, Purpose, ScreeningEntry, VisitEntry
from elbowroom.service.record_values import Stamp


def build_order(kinds: tuple[PaperKind, ...], paper: Paper, language: str, units: str) -> PaperOrder:
    """Return an order; `units` of lengths is cm or in."""
    return PaperOrder(choice=PaperChoice(paper=paper, lengths=LengthUnit(units)), language=language, kinds=kinds)


def make_papers(
    tools: RecordTools, maker: PaperMaker, visit_id: str, order: PaperOrder, steps: NextSteps, stamp: Stamp
) -> tuple[HandedPaper, ...]:
    """Return papers of the newest screening of a visit, and note in the trail that they were given.

    They name the athlete as the record does now. Raises `RecordError` where there is no such visit or screening,
    `ConsentError` without a consent for care, `DamageError` or `ResultError`; nothing is noted then.
    """
    visit = get_visit(tools, visit_id)
    check_consent(tools, visit.athlete_id, Purpose.CARE)
    screening = get_screening(tools, visit_id)
    report = _read_report(tools, maker, visit, screening)
    papers = tuple(
        HandedPaper(name=maker.name_file(kind), content=maker.render_paper(report, kind, order, steps))
        for kind in order.kinds
    )
    what = f"visit {visit_id}, screening {screening.version}: {', '.join(order.kinds)}"
    tools.entries.add_entries([note_act(tools, stamp, Act.GAVE, visit.athlete_id, what)])
    return papers


def _read_report(
    tools: RecordTools, maker: PaperMaker, visit: VisitEntry, screening: ScreeningEntry
) -> ScreeningReport:
    (file,) = tools.entries.find_entries(FileEntry, id=screening.report_entry_id)
    report = maker.read_report(b"".join(tools.vault.read_range(file.file_id)))
    name = get_athlete(tools, visit.athlete_id).name
    return replace(report, athlete=replace(report.athlete, name=name))
