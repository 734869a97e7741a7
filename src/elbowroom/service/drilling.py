"""Use cases: choose drills for an athlete, keep what was chosen, and change the clinic's rules."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from typing import Any

from elbowroom.core.findings.types import VerdictWord
from elbowroom.core.plan.choose_drills import DrillChoice, DrillRule, Situation, choose_drills
from elbowroom.core.plan.drills import TrainingStage, find_cautions
from elbowroom.core.plan.links import Fault, FaultSide, FoundLink, link_exam
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import AccessError, IntakeError
from elbowroom.service.exams import judge_athlete_exam
from elbowroom.service.holds import check_not_held, find_standing
from elbowroom.service.intake import find_intake, view_growth
from elbowroom.service.intake_plain import DAYS_A_YEAR
from elbowroom.service.intake_types import DrillPlanEntry, DrillRulesEntry
from elbowroom.service.plan_tables import PlanTables
from elbowroom.service.record_tools import RecordTools, get_athlete, list_people, note_act
from elbowroom.service.record_types import Act, FileEntry, Role, ScreeningEntry
from elbowroom.service.record_values import Stamp


@dataclass(frozen=True, kw_only=True)
class DrillView:
    """What is chosen for an athlete, and from what."""

    situation: Situation
    """What was known."""
    choice: DrillChoice
    """What was chosen and what not."""
    links: tuple[FoundLink, ...]
    """Links from the exam to the throw."""
    rules_version: int
    """Version of the clinic's rules; 0 for the packaged ones."""


def choose_for_athlete(
    tools: RecordTools, tables: PlanTables, athlete_id: str, stage: TrainingStage, on: date
) -> DrillView:
    """Return the drills for an athlete by the newest screening, exam and intake up to a day; nothing is kept."""
    situation = view_situation(tools, tables, athlete_id, stage, on)
    rules, version = find_drill_rules(tools, tables)
    return DrillView(
        situation=situation,
        choice=choose_drills(situation, tables.drills, rules),
        links=link_exam(situation.exam, situation.faults, tables.links),
        rules_version=version,
    )


def view_situation(
    tools: RecordTools, tables: PlanTables, athlete_id: str, stage: TrainingStage, on: date
) -> Situation:
    """Return what drills are chosen for."""
    intake, growth = find_intake(tools, tables, athlete_id, on), view_growth(tools, tables, athlete_id, on)
    is_in_spurt = not isinstance(growth, Absent) and growth.is_in_spurt
    return Situation(
        standing=find_standing(tools, athlete_id, on, tables.signs),
        age_years=(on - get_athlete(tools, athlete_id).born_on).days / DAYS_A_YEAR,
        stage=stage,
        faults=collect_faults(tools, athlete_id, on),
        exam=judge_athlete_exam(tools, tables, athlete_id, on),
        cautions=() if isinstance(intake, Absent) else find_cautions(intake, is_in_spurt),
    )


def list_links(tools: RecordTools, tables: PlanTables, athlete_id: str, on: date) -> tuple[str, ...]:
    """Return the links from the newest exam to the newest screening, a sentence each."""
    exam, faults = judge_athlete_exam(tools, tables, athlete_id, on), collect_faults(tools, athlete_id, on)
    return tuple(item.words for item in link_exam(exam, faults, tables.links))


def keep_drill_plan(
    tools: RecordTools, tables: PlanTables, athlete_id: str, stage: TrainingStage, stamp: Stamp
) -> DrillView:
    """Choose drills for an athlete today and keep them; raises `HoldError` where a warning sign shows."""
    today = stamp.at.date()
    check_not_held(tools, athlete_id, "drills", today)
    view = choose_for_athlete(tools, tables, athlete_id, stage, today)
    if isinstance(view.situation.standing, Absent):
        raise IntakeError(f"{view.situation.standing.reason} {view.situation.standing.advice}")
    entry = DrillPlanEntry(
        id=tools.make_id(),
        athlete_id=athlete_id,
        version=1 + len(tools.entries.find_entries(DrillPlanEntry, athlete_id=athlete_id)),
        made_on=today,
        content=json.dumps(describe_drill_view(view), ensure_ascii=False, sort_keys=True),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.entries.add_entries([entry, note_act(tools, stamp, Act.ADDED, athlete_id, f"drills {entry.version}")])
    return view


def find_drill_plan(tools: RecordTools, athlete_id: str) -> DrillPlanEntry | Absent:
    """Find the newest drills that were kept for an athlete."""
    get_athlete(tools, athlete_id)
    plans = tools.entries.find_entries(DrillPlanEntry, athlete_id=athlete_id)
    return plans[-1] if plans else Absent(reason="No drills were chosen yet.", advice="Choose them.")


def find_drill_rules(tools: RecordTools, tables: PlanTables) -> tuple[tuple[DrillRule, ...], int]:
    """Return the rules that hold, the clinic's newest or the packaged ones, and their version (0 for packaged)."""
    text, version = find_rules_text(tools, tables)
    return tables.read_rules(text), version


def find_rules_text(tools: RecordTools, tables: PlanTables) -> tuple[str, int]:
    """Return the text of the rules that hold and their version."""
    entries = tools.entries.find_entries(DrillRulesEntry)
    return (entries[-1].rules, entries[-1].version) if entries else (tables.rules_text, 0)


def change_drill_rules(tools: RecordTools, tables: PlanTables, text: str, reason: str, stamp: Stamp) -> int:
    """Put the clinic's own rules in the place of those that hold and return their version; the old ones stay.

    Only a clinician may. Raises `TableError` with every problem of the rules, `AccessError` or `IntakeError`.
    """
    person = list_people(tools).get(stamp.by)
    if person is None or person.role is not Role.CLINICIAN:
        raise AccessError("Only a clinician may change the rules that choose drills: let a clinician do it.")
    if not reason.strip():
        raise IntakeError("The change of rules has no reason: say why.")
    tables.read_rules(text)
    known = tools.entries.find_entries(DrillRulesEntry)
    entry = DrillRulesEntry(
        id=tools.make_id(),
        version=1 + len(known),
        rules=text,
        reason=reason.strip(),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.entries.add_entries([entry, note_act(tools, stamp, Act.CORRECTED, "", f"drill rules {entry.version}")])
    return entry.version


def collect_faults(tools: RecordTools, athlete_id: str, on: date) -> tuple[Fault, ...]:
    """Return what the newest screening up to a day found, in its order of work; empty where there was none."""
    screenings = [
        item for item in tools.entries.find_entries(ScreeningEntry, athlete_id=athlete_id) if item.made_on <= on
    ]
    if not screenings:
        return ()
    newest = max(screenings, key=lambda item: (item.made_on, item.version, item.recorded_at))
    (file,) = tools.entries.find_entries(FileEntry, id=newest.report_entry_id)
    report = json.loads(b"".join(tools.vault.read_range(file.file_id)))
    findings = {item["measure"]: item for item in report.get("findings", [])}
    return tuple(
        _build_fault(findings[item["measure"]], place, item["reason"])
        for place, item in enumerate(report.get("priorities", []), start=1)
    )


def _build_fault(finding: dict[str, Any], place: int, reason: str) -> Fault:
    return Fault(
        measure=finding["measure"],
        words=finding["words"],
        side=_find_side(finding),
        word=VerdictWord(finding["verdict"]["word"]),
        place=place,
        reason=reason,
    )


def _find_side(finding: dict[str, Any]) -> FaultSide:
    """Return on which side of its limits a value lies; the nearer limit where it lies between them."""
    value, tolerance = finding["typical"].get("value"), finding["tolerance"]
    lower, upper = tolerance.get("lower"), tolerance.get("upper")
    if value is None or (lower is None and upper is None):
        return FaultSide.ANY
    if lower is None:
        return FaultSide.HIGH
    if upper is None:
        return FaultSide.LOW
    return FaultSide.HIGH if upper - value < value - lower else FaultSide.LOW


def describe_drill_view(view: DrillView) -> dict[str, Any]:
    """Return what was chosen as plain values, by `drills.schema.json`."""
    return {
        "stage": str(view.situation.stage),
        "rules_version": view.rules_version,
        "cautions": [str(item) for item in view.situation.cautions],
        "chosen": [
            {"drill": item.drill.key, "name": item.drill.name, "dose": item.dose.words, "why": item.why}
            for item in view.choice.chosen
        ],
        "not_chosen": [{"drill": item.drill.key, "why_not": item.why_not} for item in view.choice.refused],
        "links": [
            {"quantity": item.link.quantity, "words": item.words, "grade": str(item.link.grade)} for item in view.links
        ],
    }
