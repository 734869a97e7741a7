"""Use cases: take an exam into the record, and hold it against thresholds and the throw."""

from __future__ import annotations

import json
from datetime import date

from elbowroom.core.plan.exam import Exam, measure_exam
from elbowroom.core.plan.intake import Problem
from elbowroom.core.plan.thresholds import ExamFinding, judge_exam
from elbowroom.core.quantities.types import Absent
from elbowroom.service.athletes import check_consent
from elbowroom.service.clinic_settings import find_settings
from elbowroom.service.intake_plain import DAYS_A_YEAR, describe_exam, get_whole, read_exam
from elbowroom.service.intake_types import ExamEntry
from elbowroom.service.plan_tables import PlanTables
from elbowroom.service.record_tools import RecordTools, get_athlete, note_act
from elbowroom.service.record_types import Act, Purpose
from elbowroom.service.record_values import Stamp

NO_EXAM = Absent(reason="No exam was made.", advice="Examine the athlete: `elbowroom record examine`.")


def check_plain_exam(tables: PlanTables, plain: object, stamp: Stamp) -> tuple[Exam | Absent, tuple[Problem, ...]]:
    """Return the exam that plain values hold and everything that is wrong with it; nothing is kept."""
    return read_exam(plain, tables.exam, stamp.at.date())


def keep_exam(tools: RecordTools, tables: PlanTables, athlete_id: str, plain: object, stamp: Stamp) -> int:
    """Take an exam, given as plain values, into the record and return its version.

    Raises `IntakeError` with everything that is wrong, and `ConsentError` without a consent for care.
    """
    get_athlete(tools, athlete_id)
    exam = get_whole(*check_plain_exam(tables, plain, stamp), "The exam")
    check_consent(tools, athlete_id, Purpose.CARE)
    entry = ExamEntry(
        id=tools.make_id(),
        athlete_id=athlete_id,
        version=1 + len(tools.entries.find_entries(ExamEntry, athlete_id=athlete_id)),
        examined_on=exam.examined_on,
        content=json.dumps(describe_exam(exam), ensure_ascii=False, sort_keys=True),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.entries.add_entries([entry, note_act(tools, stamp, Act.ADDED, athlete_id, f"exam {entry.version}")])
    return entry.version


def find_exam(tools: RecordTools, tables: PlanTables, athlete_id: str, on: date) -> Exam | Absent:
    """Find the newest exam that was made on a day or before."""
    get_athlete(tools, athlete_id)
    entries = tools.entries.find_entries(ExamEntry, athlete_id=athlete_id)
    made = [entry for entry in entries if entry.examined_on <= on]
    if not made:
        return NO_EXAM
    entry = max(made, key=lambda item: (item.examined_on, item.version))
    exam, _ = read_exam(json.loads(entry.content), tables.exam, entry.examined_on)
    return exam


def judge_athlete_exam(tools: RecordTools, tables: PlanTables, athlete_id: str, on: date) -> tuple[ExamFinding, ...]:
    """Return the findings of the newest exam up to a day, by the clinic's decision rule; empty where there was none."""
    exam = find_exam(tools, tables, athlete_id, on)
    if isinstance(exam, Absent):
        return ()
    age_years = (exam.examined_on - get_athlete(tools, athlete_id).born_on).days / DAYS_A_YEAR
    return judge_exam(measure_exam(exam, tables.exam), tables.thresholds, age_years, find_settings(tools).rule)
