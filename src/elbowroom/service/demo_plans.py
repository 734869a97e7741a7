"""Use cases: intakes, exams and drills for an invented club, so that their pages show something to try on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

import numpy as np

from elbowroom.core.plan.drills import TrainingStage
from elbowroom.core.plan.exam import ReadingGroup
from elbowroom.core.plan.warnings import Clear, Released
from elbowroom.service.drilling import keep_drill_plan
from elbowroom.service.exams import keep_exam
from elbowroom.service.holds import find_standing, release_hold
from elbowroom.service.intake import keep_intake
from elbowroom.service.plan_tables import PlanTables
from elbowroom.service.record_tools import RecordTools, get_athlete
from elbowroom.service.record_types import VisitEntry
from elbowroom.service.record_values import Stamp

SEED = 20_27
ASKED = 7
"""How many athletes of the club were asked; the others have no intake yet."""
HELD, RELEASED, SORE = 4, 3, 5
"""Places of those with a warning sign, with one that was released, and with pain outside the arm."""
REASON = "Invented for the demo club: examined, full motion, no pain on pressing."
TYPICAL = {
    "shoulder_external_rotation": (118, 105, 6),
    "shoulder_internal_rotation": (44, 60, 6),
    "shoulder_flexion": (172, 174, 4),
    "shoulder_horizontal_adduction": (28, 34, 5),
    "elbow_flexion": (146, 147, 3),
    "elbow_extension": (1, 2, 2),
    "hip_internal_rotation": (30, 36, 6),
    "hip_external_rotation": (45, 45, 6),
    "trunk_rotation": (52, 56, 6),
    "external_rotation_strength": (84, 88, 9),
    "internal_rotation_strength": (118, 116, 10),
    "scaption_strength": (70, 74, 8),
    "grip_strength": (230, 222, 20),
}
"""Throwing side, glove side and scatter from which the demo's readings are drawn; invented, no reference."""
KITS = {ReadingGroup.MOTION: "inclinometer", ReadingGroup.STRENGTH: "handheld_dynamometer"}


def add_demo_plans(tools: RecordTools, tables: PlanTables, athlete_ids: Sequence[str], stamp: Stamp) -> int:
    """Add intakes, exams and drills for the first athletes of an invented club; returns how many were asked.

    The same club gets the same. One is on hold, one was released, one hurts outside the arm.
    """
    rng = np.random.default_rng(SEED)
    asked = athlete_ids[:ASKED]
    for place, athlete_id in enumerate(asked):
        keep_intake(tools, tables, athlete_id, _draw_intake(tools, tables, athlete_id, place, stamp, rng), stamp)
        if place == RELEASED:
            release_hold(tools, athlete_id, (), REASON, stamp)
        keep_exam(tools, tables, athlete_id, _draw_exam(tables, stamp, rng), stamp)
        if isinstance(find_standing(tools, athlete_id, stamp.at.date()), Clear | Released):
            keep_drill_plan(tools, tables, athlete_id, TrainingStage.LEARNING, stamp)
    return len(asked)


def _draw_intake(
    tools: RecordTools, tables: PlanTables, athlete_id: str, place: int, stamp: Stamp, rng: np.random.Generator
) -> dict[str, Any]:
    visits = tools.entries.find_entries(VisitEntry, athlete_id=athlete_id)
    height_cm = round(100 * max(visits, key=lambda visit: visit.made_on).height_m, 1) if visits else 150.0
    answers = {sign.key: "no" for sign in tables.signs if sign.question}
    if place in (HELD, RELEASED):
        answers["heaviness"] = "yes"
    today = stamp.at.date()
    knee = {"place": "knee", "side": "glove side", "when": ["after throwing"], "worst": 2, "days": 6}
    return {
        "taken_on": today.isoformat(),
        "sex": str(rng.choice(["female", "male"])),
        "height_cm": height_cm,
        "sitting_height_cm": round(height_cm * float(rng.uniform(0.51, 0.53)), 1),
        "mass_kg": round(22 * (height_cm / 100) ** 2 * float(rng.uniform(0.85, 1.1)), 1),
        "hand": str(get_athlete(tools, athlete_id).hand),
        "positions": ["pitcher", "infield"],
        "teams": ["Invented Otters"],
        "months_off": int(rng.integers(1, 5)),
        "sleep_hours": int(rng.integers(7, 10)),
        "grown_cm": int(rng.integers(2, 9)),
        "count": [
            {"day": (today - timedelta(days=days)).isoformat(), "team": "Invented Otters", "pitches": pitches}
            for days, pitches in ((3, 38), (7, 44))
        ],
        "pain": [knee] if place == SORE else [],
        "answers": answers,
    }


def _draw_exam(tables: PlanTables, stamp: Stamp, rng: np.random.Generator) -> dict[str, Any]:
    groups = {item.key: item for item in tables.exam.items}
    reading = []
    for key, (throwing, glove, scatter) in TYPICAL.items():
        kit = "grip_dynamometer" if key == "grip_strength" else KITS[groups[key].group]
        for side, usual in (("throwing side", throwing), ("glove side", glove)):
            middle = usual + scatter * float(rng.standard_normal())
            values = [round(middle + 0.2 * scatter * float(rng.standard_normal())) for _ in range(2)]
            low, high = groups[key].limits
            kept = [float(min(max(value, low), high)) for value in values]
            reading.append({"item": key, "side": side, "values": kept, "instrument": kit})
    return {"examined_on": stamp.at.date().isoformat(), "rater": "Invented rater", "reading": reading}
