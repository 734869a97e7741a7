"""What the pages of intake, exam and drills offer to choose from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from elbowroom.core.loads.types import Sex
from elbowroom.core.plan.drills import TrainingStage
from elbowroom.core.plan.exam import ExamItem, Instrument, ReadingGroup
from elbowroom.core.plan.intake import BodySide, PainMoment, PainPlace, Position, Problem, TroubleKind
from elbowroom.core.plan.warnings import Hold, WarningSign
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import IntakeError
from elbowroom.service.drilling import DrillView
from elbowroom.service.plan_tables import PlanTables

FIRST_STAGE = str(TrainingStage.LEARNING)
KITS = {"motion": "inclinometer", "strength": "handheld_dynamometer", "grip": "grip_dynamometer"}
"""Kinds of instrument that the form of an exam asks for, each with what is offered first."""


def list_choices() -> dict[str, list[str]]:
    """Return the words of every closed set of the intake."""
    sets = {
        "sex": Sex,
        "positions": Position,
        "place": PainPlace,
        "side": BodySide,
        "when": PainMoment,
        "kind": TroubleKind,
    }
    return {name: [str(word) for word in words] for name, words in sets.items()}


def list_questions(tables: PlanTables) -> tuple[WarningSign, ...]:
    """Return the warning signs that are asked for."""
    return tuple(sign for sign in tables.signs if sign.question)


def choose_kit(item: ExamItem) -> str:
    """Return the kind of instrument that an item is read with."""
    if item.key == "grip_strength":
        return "grip"
    return "motion" if item.group is ReadingGroup.MOTION else "strength"


def list_kits(tables: PlanTables) -> dict[str, tuple[str, tuple[Instrument, ...]]]:
    """Return for every kind of instrument the one offered first and all that may be chosen."""
    groups = {"motion": ReadingGroup.MOTION, "strength": ReadingGroup.STRENGTH, "grip": ReadingGroup.STRENGTH}
    return {
        kit: (first, tuple(item for item in tables.exam.instruments if item.group is groups[kit]))
        for kit, first in KITS.items()
    }


def name_readings(problems: Sequence[Problem], plain: Mapping[str, Any]) -> tuple[Problem, ...]:
    """Return problems that name a reading by its number with the reading's item and side instead."""
    places = {
        f"reading {number}": f"{item['item']}, {item['side']}"
        for number, item in enumerate(plain.get("reading", ()), start=1)
    }
    named = []
    for problem in problems:
        place = next((name for name in places if f"{problem.where} ".startswith(f"{name} ")), "")
        named.append(Problem(where=places.get(place, problem.where), words=problem.words))
    return tuple(named)


def list_stages() -> tuple[str, ...]:
    """Return the stages of the work."""
    return tuple(str(stage) for stage in TrainingStage)


def find_stage(word: str) -> TrainingStage:
    """Return a stage by its word; raises `IntakeError` for another."""
    if word not in list_stages():
        raise IntakeError(f"There is no stage {word!r}: choose one of {', '.join(list_stages())}.")
    return TrainingStage(word)


def check_ticked(signs: Sequence[str]) -> None:
    """Raise `IntakeError` where no warning sign was ticked: on a page nothing is released by leaving it out."""
    if not signs:
        raise IntakeError("No warning sign was ticked: tick what was examined, one by one.")


def is_stopped(view: DrillView) -> bool:
    """Say whether nothing may be chosen: on hold, or no intake was taken."""
    return isinstance(view.situation.standing, Hold | Absent)
