"""Use cases: four weeks of throwing laid out for an athlete, kept, and looked at again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from elbowroom.core.plan.counts import MOST_THROWS, sum_days
from elbowroom.core.plan.programme import StepKind
from elbowroom.core.plan.week import (
    PLAN_DAYS,
    FixedGame,
    LaidOut,
    NoFit,
    PastDay,
    ReturnStage,
    TimeOff,
    WeekRequest,
    Wishes,
)
from elbowroom.core.plan.week_words import explain_no_fit
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import HoldError, PlanError
from elbowroom.service.counting import list_counts, read_count
from elbowroom.service.record_tools import note_act
from elbowroom.service.record_types import Act
from elbowroom.service.record_values import Stamp
from elbowroom.service.returning import Course, find_course
from elbowroom.service.teams import find_rules
from elbowroom.service.week_asking import read_games, read_times_off
from elbowroom.service.week_json import write_plan_days, write_request
from elbowroom.service.week_tools import WeekTools, check_may_throw
from elbowroom.service.week_types import PlanOutcome, ThrowingPlan

LOOK_BACK_DAYS = 14
"""How far back counts bear on a plan; the longest rest of any table is shorter."""
LAID_OUT_WORDS = "A plan that keeps every rule is laid out; it is the best by the stated order."
NOT_BEST_WORDS = "A plan that keeps every rule is laid out; the time ran out before it was shown that none is better."
MOST_WISHED = 7


@dataclass(frozen=True, kw_only=True)
class PlanAsk:
    """What a clinician asks of a plan."""

    first_day: date
    """First day of the plan."""
    wishes: Wishes = field(default_factory=Wishes)
    """What each week should hold."""
    games: tuple[FixedGame, ...] = ()
    """Games already fixed, for all teams."""
    off: tuple[TimeOff, ...] = ()
    """Time off."""
    day_count: int = PLAN_DAYS
    """Days of the plan."""


def make_plan(tools: WeekTools, athlete_id: str, ask: PlanAsk, stamp: Stamp) -> ThrowingPlan:
    """Lay out a plan, keep it with what it was asked for, and return it.

    Raises `HoldError` where a warning sign or a return on hold stops the athlete, `PlanError` where something asked for
    cannot be.
    """
    request = build_request(tools, athlete_id, ask)
    answer = tools.solver.find_plan(request)
    plan = ThrowingPlan(
        id=tools.record.make_id(),
        athlete_id=athlete_id,
        version=len(list_plans(tools, athlete_id)) + 1,
        first_day=request.days[0],
        last_day=request.days[-1],
        outcome=PlanOutcome.LAID_OUT if isinstance(answer, LaidOut) else PlanOutcome.NO_FIT,
        request=write_request(request),
        days=write_plan_days(answer, request),
        words=_describe_answer(answer),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.record.entries.add_entries([plan, note_act(tools.record, stamp, Act.ADDED, athlete_id, "throwing plan")])
    return plan


def build_ask(first_day: date, sizes: tuple[int, ...], asked: Mapping[str, Any]) -> PlanAsk:
    """Return what is asked of a plan from plain values; raises `PlanError` for a game or time off that cannot be read.

    `asked` holds `games` and `times_off` as lines, and the numbers `pitching`, `throwing`, `drills`, `free`, `throws`.
    """
    return PlanAsk(
        first_day=first_day,
        games=read_games(asked["games"]),
        off=read_times_off(asked["times_off"]),
        wishes=Wishes(
            pitching_days=asked["pitching"],
            throwing_days=asked["throwing"],
            drill_days=asked["drills"],
            free_days=asked["free"],
            throws=asked["throws"],
            pitch_sizes=sizes,
        ),
    )


def build_request(tools: WeekTools, athlete_id: str, ask: PlanAsk) -> WeekRequest:
    """Return everything that a plan depends on: rules, counts so far, and the stage of a return.

    The rules are those of the age on the first day, which a birthday within the plan would only widen.
    """
    check_may_throw(tools, athlete_id, "throwing plans", ask.first_day)
    _check_ask(ask)
    held = find_rules(tools, athlete_id, ask.first_day)
    if isinstance(held, Absent):
        raise PlanError(f"{held.reason} {held.advice}")
    counts = [read_count(entry) for entry in list_counts(tools.record, athlete_id)]
    days = sum_days([count for count in counts if count.day < ask.first_day], held.rules)
    recent = [day for day in days if day.pitches and ask.first_day - day.day <= timedelta(days=LOOK_BACK_DAYS)]
    request = WeekRequest(
        first_day=ask.first_day,
        day_count=ask.day_count,
        rules=held.rules,
        wishes=ask.wishes,
        past=tuple(PastDay(day=day.day, pitches=day.pitches, rest_days=day.rest_days) for day in recent),
        games=ask.games,
        off=ask.off,
    )
    course = find_course(tools, athlete_id)
    if isinstance(course, Absent) or course.state.is_finished:
        return request
    return _apply_stage(request, course)


def list_plans(tools: WeekTools, athlete_id: str) -> tuple[ThrowingPlan, ...]:
    """Return the plans of an athlete, oldest first."""
    return tools.record.entries.find_entries(ThrowingPlan, athlete_id=athlete_id)


def _apply_stage(request: WeekRequest, course: Course) -> WeekRequest:
    """Return the request of an athlete in a return: the step that is due decides what may be thrown."""
    if course.state.is_held:
        raise HoldError(course.state.sentence)
    due, wishes = course.due, request.wishes
    if due.kind is StepKind.MOUND:
        wishes = replace(wishes, pitch_sizes=(due.throw_count,), throwing_days=0)
    elif due.kind is StepKind.FLAT:
        wishes = replace(wishes, pitching_days=0, pitch_sizes=(), throws=due.throw_count)
    stage = ReturnStage(may_pitch=due.kind is not StepKind.FLAT, gap_days=course.programme.gap_days, words=due.words)
    return replace(request, wishes=wishes, stage=stage)


def _check_ask(ask: PlanAsk) -> None:
    """Raise `PlanError` that names everything that cannot be asked for."""
    wishes, days = ask.wishes, (ask.first_day, ask.first_day + timedelta(days=ask.day_count - 1))
    wished = (wishes.pitching_days, wishes.throwing_days, wishes.drill_days, wishes.free_days)
    problems = [
        (not 7 <= ask.day_count <= PLAN_DAYS, f"a plan has 7 to {PLAN_DAYS} days"),
        (not all(0 <= number <= MOST_WISHED for number in wished), "a week has 0 to 7 days of each sort"),
        (not 0 <= wishes.throws <= MOST_THROWS, f"a practice has 0 to {MOST_THROWS} throws"),
        (not all(0 < size <= MOST_THROWS for size in wishes.pitch_sizes), "a practice from the mound has pitches"),
        *((not days[0] <= game.day <= days[1], f"the game on {game.day} is outside the plan") for game in ask.games),
        *(
            (min(game.pitches, game.innings_caught) < 0, f"the game on {game.day} has a negative number")
            for game in ask.games
        ),
        *((not game.team.strip(), f"the game on {game.day} names no team") for game in ask.games),
        *((off.last_day < off.first_day, f"the time off ends on {off.last_day}, before it begins") for off in ask.off),
    ]
    told = [words for is_wrong, words in problems if is_wrong]
    if told:
        raise PlanError(f"No plan was made: {'; '.join(told)}.")


def _describe_answer(answer: LaidOut | NoFit) -> str:
    if isinstance(answer, NoFit):
        return explain_no_fit(answer)
    return LAID_OUT_WORDS if answer.is_best else NOT_BEST_WORDS
