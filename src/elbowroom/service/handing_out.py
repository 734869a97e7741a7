"""Use case: papers about a kept visit."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

from elbowroom.core.findings.report import ScreeningReport, ThrowingHand
from elbowroom.core.plan.warnings import Hold
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ResultError
from elbowroom.service.athletes import check_consent
from elbowroom.service.clinic_tools import get_screening, get_visit
from elbowroom.service.drilling import find_drill_plan
from elbowroom.service.holds import find_standing
from elbowroom.service.paper_ports import PaperMaker
from elbowroom.service.paper_values import (
    FamilyDrill,
    HandedPaper,
    NextSteps,
    Paper,
    PaperChoice,
    PaperKind,
    PaperOrder,
)
from elbowroom.service.record_tools import RecordTools, get_athlete, note_act
from elbowroom.service.record_types import Act, FileEntry, Purpose, ScreeningEntry, VisitEntry
from elbowroom.service.record_values import Stamp

NOT_SET = Absent(reason="No day is set yet.")
"""Stands for the day of the next visit where none is set."""


def build_order(
    kinds: tuple[PaperKind, ...], paper: Paper, language: str, units: str, back_on: date | Absent = NOT_SET
) -> PaperOrder:
    """Return an order; `units` of lengths is cm or in."""
    choice = PaperChoice(paper=paper, lengths=LengthUnit(units))
    return PaperOrder(choice=choice, language=language, kinds=kinds, back_on=back_on)


def read_day(text: str) -> date | Absent:
    """Return the day of the next visit as a form sends it, empty for none; raises `ResultError`."""
    if not text:
        return NOT_SET
    try:
        return date.fromisoformat(text)
    except ValueError as e:
        raise ResultError("The day of the next visit is no day: write it as 2026-05-16.") from e


def make_papers(
    tools: RecordTools, maker: PaperMaker, visit_id: str, order: PaperOrder, stamp: Stamp
) -> tuple[HandedPaper, ...]:
    """Return papers of the newest screening of a visit, and note in the trail that they were given.

    They name the athlete as the record does now. Raises `RecordError` where there is no such visit or screening,
    `ConsentError` without a consent for care, `DamageError` or `ResultError`; nothing is noted then.
    """
    visit = get_visit(tools, visit_id)
    check_consent(tools, visit.athlete_id, Purpose.CARE)
    screening = get_screening(tools, visit_id)
    report = _read_report(tools, maker, visit, screening)
    steps = find_next_steps(tools, maker, visit.athlete_id, order, stamp.at.date())
    papers = tuple(
        HandedPaper(name=maker.name_file(kind), content=maker.render_paper(report, kind, order, steps))
        for kind in order.kinds
    )
    what = f"visit {visit_id}, screening {screening.version}: {', '.join(order.kinds)}"
    tools.entries.add_entries([note_act(tools, stamp, Act.GAVE, visit.athlete_id, what)])
    return papers


def find_next_steps(tools: RecordTools, maker: PaperMaker, athlete_id: str, order: PaperOrder, on: date) -> NextSteps:
    """Return the drills that were kept last, with their figures, and the day of the next visit.

    On hold there are no drills (design, section 5).
    """
    if isinstance(find_standing(tools, athlete_id, on), Hold):
        return NextSteps(retest_on=order.back_on, is_held=True)
    plan, is_left = find_drill_plan(tools, athlete_id), get_athlete(tools, athlete_id).hand is ThrowingHand.LEFT
    chosen = [] if isinstance(plan, Absent) else json.loads(plan.content)["chosen"]
    drills = tuple(
        FamilyDrill(name=item["name"], dose=item["dose"], figure=maker.draw_drill(item["drill"], is_left))
        for item in chosen
    )
    return NextSteps(drills=drills, retest_on=order.back_on)


def _read_report(
    tools: RecordTools, maker: PaperMaker, visit: VisitEntry, screening: ScreeningEntry
) -> ScreeningReport:
    (file,) = tools.entries.find_entries(FileEntry, id=screening.report_entry_id)
    report = maker.read_report(b"".join(tools.vault.read_range(file.file_id)))
    name = get_athlete(tools, visit.athlete_id).name
    return replace(report, athlete=replace(report.athlete, name=name))
