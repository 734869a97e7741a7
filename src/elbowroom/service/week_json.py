"""Counts, plans, returns, retests and teams as JSON values, after the published schema."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from elbowroom.core.plan.cohort import Cohort, Spread, Turn
from elbowroom.core.plan.counts import DaySum
from elbowroom.core.plan.programme import phrase_step
from elbowroom.core.plan.retest import Change
from elbowroom.core.plan.week import LaidOut, NoFit, WeekRequest
from elbowroom.core.plan.week_words import explain_days
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.service.counting import CountBoard
from elbowroom.service.returning import Course
from elbowroom.service.week_types import ThrowingPlan

CAUTION = (
    "An aid for use by or with licensed clinicians, not a diagnosis. Pain, numbness, locking, swelling, a pop or lost "
    "motion means stop throwing and be examined. Local rules and the treating clinician come first."
)
"""What every plan, count and return is read with."""


@dataclass(frozen=True, kw_only=True)
class ShownDay:
    """A day of a kept plan as it is shown."""

    day: date
    """The day."""
    pitches: int
    """Pitches of games and practice."""
    throws: int
    """Throws of a practice."""
    has_drills: bool
    """Whether drills are to be done."""
    is_game: bool
    """Whether there is a game."""
    sentence: str
    """What is to be done, or why nothing is thrown."""

    @property
    def word(self) -> str:
        """The day in a word or two."""
        if self.is_game:
            return "game"
        said = "pitching" if self.pitches else "throwing" if self.throws else ""
        drills = "drills" if self.has_drills else ""
        return " and ".join(part for part in (said, drills) if part) or "rest"


def write_request(request: WeekRequest) -> str:
    """Return everything that a plan was asked for, as JSON."""
    return json.dumps(_write_plain(asdict(request)), ensure_ascii=False)


def write_plan_days(answer: LaidOut | NoFit, request: WeekRequest) -> str:
    """Return the days of a plan with their sentences as JSON, an empty list where none fits."""
    if isinstance(answer, NoFit):
        return "[]"
    days = [
        {
            "day": day.day.isoformat(),
            "pitches": day.pitches,
            "throws": day.throws,
            "has_drills": day.has_drills,
            "is_game": day.games > 0,
            "sentence": sentence,
        }
        for day, sentence in zip(answer.days, explain_days(answer.days, request), strict=True)
    ]
    return json.dumps(days, ensure_ascii=False)


def read_plan_days(plan: ThrowingPlan) -> tuple[ShownDay, ...]:
    """Return the days of a kept plan."""
    return tuple(ShownDay(**{**item, "day": date.fromisoformat(item["day"])}) for item in json.loads(plan.days))


def describe_plan(plan: ThrowingPlan) -> dict[str, Any]:
    """Return a kept plan as JSON values."""
    return {
        "kind": "plan",
        "version": plan.version,
        "first_day": plan.first_day.isoformat(),
        "last_day": plan.last_day.isoformat(),
        "outcome": str(plan.outcome),
        "words": plan.words,
        "days": json.loads(plan.days),
        "request": json.loads(plan.request),
        "caution": CAUTION,
    }


def describe_board(board: CountBoard) -> dict[str, Any]:
    """Return an athlete's counts as JSON values."""
    free = board.availability
    return {
        "kind": "counts",
        "rules": board.held.rules.table,
        "rules_note": board.held.note,
        "rules_source": board.held.rules.row.source,
        "may_pitch": free.is_free,
        "first_day": free.first_day.isoformat(),
        "most_pitches": free.most_pitches,
        "sentence": free.sentence,
        "days": [_describe_day(day) for day in board.days],
        "remarks": [{"day": one.day.isoformat(), "rule": str(one.rule), "words": one.words} for one in board.remarks],
        "notes": list(board.notes),
        "weeks": [_write_plain(asdict(week)) for week in board.trend.weeks],
        "trend": board.trend.sentence,
        "no_ratio": board.trend.no_ratio,
        "caution": CAUTION,
    }


def describe_course(course: Course) -> dict[str, Any]:
    """Return where an athlete stands in a return as JSON values."""
    state = course.state
    return {
        "kind": "return",
        "programme": course.programme.key,
        "begun_on": course.entry.begun_on.isoformat(),
        "step": state.step,
        "step_words": phrase_step(course.due),
        "step_mark": course.due.mark,
        "step_source": course.due.source,
        "next_day": state.next_day.isoformat(),
        "hold": state.hold,
        "is_finished": state.is_finished,
        "sentence": state.sentence,
        "events": [
            {"day": event.day.isoformat(), "kind": str(event.kind), "step": event.step, "answer": event.answer}
            for event in course.events
        ],
        "caution": CAUTION,
    }


def describe_change(change: Change | Absent) -> dict[str, Any]:
    """Return a change, or why there is none, as JSON values."""
    if isinstance(change, Absent):
        return {"absent": change.reason, "advice": change.advice}
    return {
        "before": _describe_value(change.before),
        "after": _describe_value(change.after),
        "change": _describe_value(change.change),
        "smallest_real": change.smallest_real_value,
        "probability_same_way": change.probability_same_way,
        "word": str(change.word),
        "reason": change.reason,
    }


def describe_cohort(cohort: Cohort) -> dict[str, Any]:
    """Return a team at one look as JSON values."""
    return {
        "kind": "cohort",
        "turns": [_describe_turn(turn) for turn in cohort.turns],
        "spreads": [_describe_spread(spread) for spread in cohort.spreads],
        "caution": CAUTION,
    }


def _describe_day(day: DaySum) -> dict[str, Any]:
    values = _write_plain(asdict(day))
    assert isinstance(values, dict)
    return values


def _describe_turn(turn: Turn) -> dict[str, Any]:
    return {"athlete": turn.member.name, "id": turn.member.athlete_id, "weight": turn.weight, "reason": turn.reason}


def _describe_spread(spread: Spread) -> dict[str, Any]:
    return {
        "measure": spread.measure,
        "unit": spread.unit,
        "middle": spread.middle_value,
        "quartiles": None if isinstance(spread.quartiles, Absent) else list(spread.quartiles),
        "sd": None if isinstance(spread.scatter_sd, Absent) else spread.scatter_sd,
        "values": [{"athlete": name, **_describe_value(value)} for name, value in spread.values],
        "sentence": spread.sentence,
    }


def _describe_value(value: Uncertain) -> dict[str, Any]:
    return {"value": value.value, "unit": value.unit, "half_width_95": value.half_width}


def _write_plain(value: object) -> Any:
    """Return a value of dataclasses as JSON takes it; a day as text, what is absent as null."""
    if isinstance(value, Mapping):
        return {key: None if _is_absent(item) else _write_plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_write_plain(item) for item in value]
    return value.isoformat() if isinstance(value, date) else value


def _is_absent(value: object) -> bool:
    return isinstance(value, Mapping) and set(value) == {"reason", "advice"}
