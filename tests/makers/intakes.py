"""Invented intakes, exams and faults, and the packaged tables that judge them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cache

from elbowroom.adapters.tables.drill_tables import read_drill_rules, read_drills
from elbowroom.adapters.tables.exam_tables import read_exam_tables, read_links, read_thresholds
from elbowroom.adapters.tables.intake_tables import read_growth_care, read_growth_equations, read_warning_signs
from elbowroom.core.findings.types import VerdictWord
from elbowroom.core.loads.types import Sex
from elbowroom.core.measures.registry import MEASURES
from elbowroom.core.plan.exam import Exam, Reading
from elbowroom.core.plan.intake import Answer, BodySide, Intake, Pain, PainMoment, PainPlace, Position
from elbowroom.core.plan.links import Fault, FaultSide
from elbowroom.core.throws.types import ThrowingHand

DAY = date(2026, 3, 1)
KEYS = frozenset(measure.key for measure in MEASURES)
SIGNS = read_warning_signs()
EXAM_TABLES, THRESHOLDS = read_exam_tables(), read_thresholds()
EQUATIONS, CARE = read_growth_equations(), read_growth_care()
T, G = BodySide.THROWING, BodySide.GLOVE


@cache
def find_links():  # type: ignore[no-untyped-def]
    return read_links(KEYS)


@cache
def find_drills():  # type: ignore[no-untyped-def]
    return read_drills(KEYS)


@cache
def find_rules():  # type: ignore[no-untyped-def]
    return read_drill_rules(find_drills(), KEYS)


def make_answers(**given: Answer) -> Mapping[str, Answer]:
    """Return no to every question but those given."""
    return {sign.key: given.get(sign.key, Answer.NO) for sign in SIGNS if sign.question}


def make_intake(**changes: object) -> Intake:
    """Return the intake of an invented boy of 13 without any warning sign, with some fields changed."""
    values: dict[str, object] = {
        "taken_on": DAY,
        "age_years": 13.0,
        "sex": Sex.MALE,
        "height_m": 1.58,
        "sitting_height_m": 0.82,
        "mass_kg": 47.0,
        "hand": ThrowingHand.RIGHT,
        "positions": (Position.PITCHER, Position.INFIELD),
        "teams": ("River Otters",),
        "months_off": 4,
        "counts": (),
        "pains": (),
        "past": (),
        "sleep_hours": 9,
        "grown_m": 0.06,
        "answers": make_answers(),
    }
    return Intake(**{**values, **changes})  # type: ignore[arg-type]


def make_pain(
    place: PainPlace = PainPlace.INNER_ELBOW,
    worst: int = 3,
    days: int = 5,
    side: BodySide = T,
    moments: tuple[PainMoment, ...] = (PainMoment.RELEASE,),
) -> Pain:
    return Pain(place=place, side=side, moments=moments, worst=worst, days=days)


def read(item: str, side: BodySide, *values: float, instrument: str = "inclinometer", rater: str = "Rowan") -> Reading:
    return Reading(item=item, side=side, values=values, instrument=instrument, rater=rater)


def make_exam(*readings: Reading) -> Exam:
    return Exam(examined_on=DAY, readings=readings)


def make_fault(
    measure: str,
    place: int = 1,
    side: FaultSide = FaultSide.HIGH,
    word: VerdictWord = VerdictWord.BEYOND,
) -> Fault:
    return Fault(
        measure=measure, words=measure.replace("_", " "), side=side, word=word, place=place, reason="Invented."
    )
