"""Intakes and exams as plain values: the one form that files, the programming face, pages and the record share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, TypeVar

from elbowroom.core.loads.types import Sex
from elbowroom.core.plan.exam import Exam, ExamTables, Reading, list_exam_problems
from elbowroom.core.plan.intake import (
    Answer,
    BodySide,
    Intake,
    Pain,
    PainMoment,
    PainPlace,
    PastTrouble,
    Position,
    Problem,
    RecentCount,
    TroubleKind,
    list_intake_problems,
    raise_problems,
)
from elbowroom.core.plan.warnings import WarningSign
from elbowroom.core.quantities.types import Absent
from elbowroom.core.throws.types import ThrowingHand
from elbowroom.errors import IntakeError
from elbowroom.service.plain_reading import PlainTable

NOT_GIVEN = Absent(reason="The intake does not say it.", advice="Ask and measure at the next visit.")
METRES = {"m": 1.0, "cm": 0.01, "in": 0.0254}
KG_A_POUND = 0.45359237
DAYS_A_YEAR = 365.2425
Given = TypeVar("Given", Intake, Exam)


def read_intake(
    plain: object, born_on: date, hand: ThrowingHand, signs: Sequence[WarningSign], today: date
) -> tuple[Intake | Absent, tuple[Problem, ...]]:
    """Return an intake and everything that is wrong with it; absent where it cannot be put together at all."""
    problems: list[Problem] = []
    table = PlainTable(plain, problems)
    taken_on = table.find_date("taken_on", "give the day of the questions")
    height = _find_length(table, "height", "give height_cm")
    intake = _build_intake(table, signs, born_on, hand, (taken_on or today, height or 0.0))
    table.check_keys()
    if taken_on is None or height is None or problems:
        return Absent(reason="The intake is not whole."), tuple(problems)
    return intake, tuple(list_intake_problems(intake, today))


def get_whole(value: Given | Absent, problems: Sequence[Problem], what: str) -> Given:
    """Return what was read; raises one `IntakeError` with everything that is wrong with it."""
    raise_problems(problems, what)
    if isinstance(value, Absent):
        raise IntakeError(f"{what} cannot be used: {value.reason}")
    return value


def describe_intake(intake: Intake) -> dict[str, Any]:
    """Return an intake as plain values; `read_intake` reads them back."""
    shown = {
        "taken_on": intake.taken_on.isoformat(),
        "sex": intake.sex,
        "height_cm": round(100 * intake.height_m, 6),
        "sitting_height_cm": _scale(intake.sitting_height_m, 100),
        "mass_kg": intake.mass_kg,
        "hand": intake.hand,
        "positions": list(intake.positions),
        "teams": list(intake.teams),
        "months_off": intake.months_off,
        "sleep_hours": intake.sleep_hours,
        "grown_cm": _scale(intake.grown_m, 100),
        "count": [{"day": item.day.isoformat(), "team": item.team, "pitches": item.pitches} for item in intake.counts],
        "pain": [_describe_pain(pain) for pain in intake.pains],
        "past": [_describe_past(item) for item in intake.past],
        "answers": {key: str(answer) for key, answer in sorted(intake.answers.items())},
    }
    return {key: value for key, value in shown.items() if not isinstance(value, Absent)}


def read_exam(plain: object, tables: ExamTables, today: date) -> tuple[Exam | Absent, tuple[Problem, ...]]:
    """Return an exam and everything that is wrong with it; absent where it cannot be put together at all."""
    problems: list[Problem] = []
    table = PlainTable(plain, problems)
    examined_on = table.find_date("examined_on", "give the day of the exam")
    rater = table.find_text("rater")
    readings = [_read_reading(item, rater) for item in table.find_tables("reading")]
    table.check_keys()
    if examined_on is None or problems:
        return Absent(reason="The exam is not whole."), tuple(problems)
    exam = Exam(examined_on=examined_on, readings=tuple(item for item in readings if item is not None))
    return exam, tuple(list_exam_problems(exam, tables, today))


def describe_exam(exam: Exam) -> dict[str, Any]:
    """Return an exam as plain values; `read_exam` reads them back."""
    return {
        "examined_on": exam.examined_on.isoformat(),
        "reading": [
            {
                "item": item.item,
                "side": str(item.side),
                "values": list(item.values),
                "instrument": item.instrument,
                "rater": item.rater,
            }
            for item in exam.readings
        ],
    }


def _build_intake(
    table: PlainTable, signs: Sequence[WarningSign], born_on: date, hand: ThrowingHand, known: tuple[date, float]
) -> Intake:
    taken_on, height = known
    return Intake(
        taken_on=taken_on,
        age_years=(taken_on - born_on).days / DAYS_A_YEAR,
        sex=_or_absent(table.find_word("sex", Sex)),
        height_m=height,
        sitting_height_m=_or_absent(_find_length(table, "sitting_height")),
        mass_kg=_or_absent(_find_mass(table)),
        hand=table.find_word("hand", ThrowingHand) or hand,
        positions=table.find_words("positions", Position),
        teams=table.find_texts("teams"),
        months_off=_or_absent(table.find_whole("months_off")),
        counts=tuple(item for item in map(_read_count, table.find_tables("count")) if item is not None),
        pains=tuple(item for item in map(_read_pain, table.find_tables("pain")) if item is not None),
        past=tuple(item for item in map(_read_past, table.find_tables("past")) if item is not None),
        sleep_hours=_or_absent(table.find_whole("sleep_hours")),
        grown_m=_or_absent(_find_length(table, "grown")),
        answers=_read_answers(table, signs),
    )


def _read_answers(table: PlainTable, signs: Sequence[WarningSign]) -> Mapping[str, Answer]:
    value = table.find_value("answers")
    inner = PlainTable({} if value is None else value, table.problems, "answers")
    answers = {sign.key: inner.find_word(sign.key, Answer) for sign in signs if sign.question}
    inner.check_keys()
    return {key: answer or Answer.NOT_ASKED for key, answer in answers.items()}


def _read_count(table: PlainTable) -> RecentCount | None:
    day = table.find_date("day", "give the day")
    team, pitches = table.find_text("team"), table.find_whole("pitches", "give the number of pitches")
    table.check_keys()
    return None if day is None or pitches is None else RecentCount(day=day, team=team, pitches=pitches)


def _read_pain(table: PlainTable) -> Pain | None:
    place = table.find_word("place", PainPlace, "say where it hurts")
    side = table.find_word("side", BodySide, "say throwing side or glove side")
    moments = table.find_words("when", PainMoment)
    worst = table.find_whole("worst", "give the worst of the last seven days, 0 to 10")
    days = table.find_whole("days", "say how many days ago it began")
    table.check_keys()
    if place is None or side is None or worst is None or days is None:
        return None
    return Pain(place=place, side=side, moments=moments, worst=worst, days=days)


def _read_past(table: PlainTable) -> PastTrouble | None:
    kind = table.find_word("kind", TroubleKind, "say injury, operation or pain")
    what = table.find_text("what", "say what it was")
    side = table.find_word("side", BodySide, "say throwing side or glove side")
    began_on = table.find_date("began_on", "give the day, as far as it is known")
    is_settled = table.find_flag("settled")
    table.check_keys()
    if kind is None or side is None or began_on is None:
        return None
    return PastTrouble(kind=kind, what=what, side=side, began_on=began_on, is_settled=is_settled)


def _read_reading(table: PlainTable, rater: str) -> Reading | None:
    item, side = table.find_text("item", "name the item"), table.find_word("side", BodySide, "say which side")
    values = table.find_numbers("values")
    instrument, who = table.find_text("instrument"), table.find_text("rater") or rater
    table.check_keys()
    if not item or side is None or not values:
        # An empty list is an item that was not read, as a form leaves it.
        return None
    return Reading(item=item, side=side, values=values, instrument=instrument, rater=who)


def _describe_pain(pain: Pain) -> dict[str, Any]:
    return {
        "place": str(pain.place),
        "side": str(pain.side),
        "when": [str(moment) for moment in pain.moments],
        "worst": pain.worst,
        "days": pain.days,
    }


def _describe_past(item: PastTrouble) -> dict[str, Any]:
    return {
        "kind": str(item.kind),
        "what": item.what,
        "side": str(item.side),
        "began_on": item.began_on.isoformat(),
        "settled": item.is_settled,
    }


def _find_length(table: PlainTable, name: str, wanted: str = "") -> float | None:
    """Return metres from `name_cm`, `name_m` or `name_in`."""
    keys = [f"{name}_{unit}" for unit in METRES]
    given = [key for key in keys if table.find_value(key) is not None]
    if len(given) > 1:
        table.add_problem(name, f"is given more than once ({', '.join(given)}): keep one")
        return None
    number = table.find_number(given[0] if given else f"{name}_cm", wanted)
    return None if number is None else number * METRES[given[0].rpartition("_")[2]]


def _find_mass(table: PlainTable) -> float | None:
    pounds, kilograms = table.find_number("mass_lb"), table.find_number("mass_kg")
    if pounds is not None and kilograms is not None:
        table.add_problem("mass", "is given more than once (mass_kg, mass_lb): keep one")
    return kilograms if pounds is None else KG_A_POUND * pounds


def _or_absent(value: Any) -> Any:
    return NOT_GIVEN if value is None else value


def _scale(value: float | Absent, factor: float) -> float | Absent:
    return value if isinstance(value, Absent) else round(factor * value, 6)
