"""The plan of an invented athlete in a record: intake, release, exam, drills, the clinic's rules."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from elbowroom.bootstrap_plan import build_plan_tables
from elbowroom.core.plan.drills import TrainingStage
from elbowroom.service.drilling import change_drill_rules, keep_drill_plan
from elbowroom.service.exams import keep_exam
from elbowroom.service.holds import release_hold
from elbowroom.service.intake import keep_intake
from elbowroom.service.keeping import keep_visit
from elbowroom.service.plan_tables import PlanTables
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_values import Stamp
from tests.makers.record import STAMP, make_parcel

REASON = "Examined today: full motion, no pain on pressing."


@cache
def find_tables() -> PlanTables:
    return build_plan_tables()


def make_plain_intake(**changes: Any) -> dict[str, Any]:
    """Return an intake without any warning sign as a file would hold it, with some values changed."""
    answers = {sign.key: "no" for sign in find_tables().signs if sign.question}
    plain: dict[str, Any] = {
        "taken_on": "2026-03-01",
        "sex": "female",
        "height_cm": 152,
        "sitting_height_cm": 79,
        "mass_kg": 43,
        "positions": ["pitcher", "outfield"],
        "teams": ["River Otters", "Herons"],
        "months_off": 3,
        "sleep_hours": 9,
        "grown_cm": 7,
        "count": [{"day": "2026-02-27", "team": "Herons", "pitches": 34}],
        "past": [
            {"kind": "injury", "what": "broken wrist", "side": "glove side", "began_on": "2023-05-01", "settled": True}
        ],
        "answers": answers | changes.pop("answers", {}),
    }
    return plain | changes


def make_plain_exam(**changes: Any) -> dict[str, Any]:
    """Return an exam as a file would hold it."""

    def make(item: str, side: str, values: Sequence[float], instrument: str = "inclinometer") -> dict[str, Any]:
        return {"item": item, "side": side, "values": list(values), "instrument": instrument}

    plain: dict[str, Any] = {
        "examined_on": "2026-03-01",
        "rater": "Rowan",
        "reading": [
            make("shoulder_internal_rotation", "throwing side", [40, 42, 41]),
            make("shoulder_internal_rotation", "glove side", [62, 61, 63]),
            make("hip_internal_rotation", "throwing side", [18]),
            make("hip_internal_rotation", "glove side", [44]),
            make("grip_strength", "throwing side", [210], "grip_dynamometer"),
        ],
    }
    return plain | changes


def fill_plan(tools: RecordTools, athlete_id: str, stamp: Stamp = STAMP) -> None:
    """Put one entry of every kind of the plan into a record."""
    tables = find_tables()
    keep_intake(tools, tables, athlete_id, make_plain_intake(answers={"locking": "yes"}), stamp)
    release_hold(tools, athlete_id, (), REASON, stamp)
    keep_exam(tools, tables, athlete_id, make_plain_exam(), stamp)
    change_drill_rules(tools, tables, tables.rules_text, "our own", stamp)
    keep_drill_plan(tools, tables, athlete_id, TrainingStage.LEARNING, stamp)


def keep_faulty_visit(tools: RecordTools, athlete_id: str, folder: Path, stamp: Stamp = STAMP) -> None:
    """Keep a visit whose report orders two faults; the report holds only what the choice of drills reads."""
    parcel = make_parcel(folder)
    findings = [
        make_finding("stride_offset", 0.12, -0.051, 0.051, "beyond"),
        make_finding("trunk_opening_at_foot_contact", 62.0, None, 45.0, "beyond"),
    ]
    order = ["trunk_opening_at_foot_contact", "stride_offset"]
    report = {
        "findings": findings,
        "priorities": [{"measure": key, "weight": 0.5, "reason": f"{key} is past its limit."} for key in order],
    }
    (folder / "report.json").write_text(json.dumps(report), encoding="utf-8")
    keep_visit(tools, athlete_id, parcel, stamp)


def make_finding(measure: str, value: float, lower: float | None, upper: float, word: str) -> dict[str, Any]:
    return {
        "measure": measure,
        "words": measure.replace("_", " "),
        "typical": {"value": value},
        "tolerance": {"lower": lower, "upper": upper},
        "verdict": {"word": word, "reason": "Invented.", "probability_beyond": 0.97},
    }
