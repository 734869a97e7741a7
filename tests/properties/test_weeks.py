"""Plans of throwing: none breaks a rule, none is worse than the best, and what does not fit is named.

Sides: the rules of `core/plan/week.py`, which know no solver; a brute force over every plan of a week; the set of rules
that do not fit, tried by brute force whole and with each rule left out; hand-made cases with one answer.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings

from elbowroom.adapters.weeks.solver import CpSatWeeks
from elbowroom.core.plan.week import (
    Conflict,
    LaidOut,
    NoFit,
    PastDay,
    PlanDay,
    PlanRule,
    ReturnStage,
    TimeOff,
    WeekRequest,
    Wishes,
    find_breaches,
)
from elbowroom.core.plan.week_words import explain_days, explain_no_fit
from tests.makers.weeks import (
    LOOSE,
    MONDAY,
    ROW,
    RULES,
    draw_requests,
    find_best_cost,
    keep_only,
    make_game,
    make_request,
)

SOLVER = CpSatWeeks()
CAREFUL = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@given(request=draw_requests())
@CAREFUL
def test_week_is_the_best_that_brute_force_finds(request: WeekRequest) -> None:
    answer, best = SOLVER.find_plan(request), find_best_cost(request)
    if best is None:
        assert isinstance(answer, NoFit)
        return
    assert isinstance(answer, LaidOut)
    assert find_breaches(answer.days, request) == ()
    assert (answer.cost_value, answer.is_best) == (best, True)


@given(request=draw_requests())
@CAREFUL
def test_rules_that_do_not_fit_are_named_and_each_is_needed(request: WeekRequest) -> None:
    answer = SOLVER.find_plan(request)
    if isinstance(answer, LaidOut):
        return
    kept = answer.conflicts
    assert kept
    assert find_best_cost(keep_only(request, kept)) is None
    for left_out in kept:
        rest = tuple(item for item in kept if item != left_out)
        assert find_best_cost(keep_only(request, rest)) is not None, left_out


@given(request=draw_requests(day_count=28))
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_four_weeks_break_no_rule_and_every_day_is_explained(request: WeekRequest) -> None:
    request = replace(request, wishes=replace(request.wishes, drill_days=2))
    answer = SOLVER.find_plan(request)
    if isinstance(answer, NoFit):
        assert explain_no_fit(answer).startswith("No plan fits")
        return
    assert find_breaches(answer.days, request) == ()
    assert [day.day for day in answer.days] == list(request.days)
    sentences = explain_days(answer.days, request)
    assert all(text.endswith(".") and (text[0].isupper() or text[0].isdigit()) for text in sentences)
    for day, text in zip(answer.days, sentences, strict=True):
        assert ("No throwing" in text or "No pitching" in text or day.has_drills) if day.is_free else True
    assert SOLVER.find_plan(request) == answer


def test_drills_join_a_practice_as_brute_force_says() -> None:
    request = make_request(wishes=Wishes(pitching_days=0, throwing_days=2, drill_days=3, free_days=3, pitch_sizes=()))
    answer = SOLVER.find_plan(request)
    assert isinstance(answer, LaidOut)
    assert answer.cost_value == find_best_cost(request, with_drills=True)
    assert sum(day.has_drills for day in answer.days) == 3


def test_past_pitching_holds_back_the_first_days() -> None:
    past = (PastDay(day=MONDAY - timedelta(days=1), pitches=66, rest_days=4),)
    request = make_request(past=past, wishes=Wishes(pitching_days=3, throwing_days=0, drill_days=0, free_days=0))
    answer = SOLVER.find_plan(request)
    assert isinstance(answer, LaidOut)
    pitched = [(day.day - MONDAY).days for day in answer.days if day.pitches]
    assert pitched
    assert min(pitched) == 4
    assert "4 days' rest owed after 66 pitches on Sunday 3 May" in explain_days(answer.days, request)[0]


NO_FIT = {
    "too near": ((make_game(2, 60), make_game(4, 30)), (), {PlanRule.GAME, PlanRule.REST_DAYS}),
    "too many": ((make_game(2, 90),), (), {PlanRule.GAME, PlanRule.DAILY_LIMIT}),
    "three in a row": (
        tuple(make_game(n, 10) for n in range(3)),
        (),
        {PlanRule.GAME, PlanRule.CONSECUTIVE},
    ),
    "catcher": ((make_game(1, 20, 5),), (), {PlanRule.GAME, PlanRule.PITCH_AND_CATCH}),
    "two games": ((make_game(1, 20), make_game(1, 10, 0, "Otters")), (), {PlanRule.GAME, PlanRule.GAMES_A_DAY}),
    "time off": (
        (make_game(1, 0),),
        (TimeOff(first_day=MONDAY, last_day=MONDAY + timedelta(days=3), reason="months off"),),
        {PlanRule.GAME, PlanRule.TIME_OFF},
    ),
}


@pytest.mark.parametrize("case", NO_FIT)
def test_what_does_not_fit_is_said(case: str) -> None:
    games, off, rules = NO_FIT[case]
    answer = SOLVER.find_plan(make_request(games=games, off=off))
    assert isinstance(answer, NoFit)
    assert {item.rule for item in answer.conflicts} == rules
    assert "leaving out any one" in explain_no_fit(answer)


def test_return_without_pitching_refuses_a_game_pitched() -> None:
    stage = ReturnStage(may_pitch=False, gap_days=1, words="phase 3")
    answer = SOLVER.find_plan(make_request(games=(make_game(2, 20),), stage=stage))
    assert isinstance(answer, NoFit)
    assert {item.rule for item in answer.conflicts} == {PlanRule.GAME, PlanRule.NO_PITCHING_YET}
    assert isinstance(SOLVER.find_plan(make_request(games=(make_game(2, 0),), stage=stage)), LaidOut)


BROKEN = {
    PlanRule.DAILY_LIMIT: ({0: {"practice_pitches": 90}}, RULES),
    PlanRule.REST_DAYS: ({0: {"practice_pitches": 36}, 2: {"practice_pitches": 5}}, RULES),
    PlanRule.CONSECUTIVE: ({n: {"practice_pitches": 5} for n in range(3)}, RULES),
    PlanRule.FREE_DAYS: ({n: {"throws": 5} for n in range(6)}, RULES),
    PlanRule.ONE_A_DAY: ({0: {"practice_pitches": 5, "throws": 5}}, RULES),
    PlanRule.GAME: ({0: {"game_pitches": 5, "games": 1}}, LOOSE),
}


@pytest.mark.parametrize("rule", BROKEN)
def test_checker_sees_each_rule_broken(rule: PlanRule) -> None:
    changes, rules = BROKEN[rule]
    days = tuple(PlanDay(day=MONDAY + timedelta(days=n), **changes.get(n, {})) for n in range(7))
    assert {breach.rule for breach in find_breaches(days, make_request(rules=rules))} == {rule}


def test_checker_sees_stage_and_time_off() -> None:
    days = tuple(PlanDay(day=MONDAY + timedelta(days=n), practice_pitches=5 * (n in (1, 2))) for n in range(7))
    stage = ReturnStage(may_pitch=False, gap_days=1, words="phase 1")
    off = (TimeOff(first_day=MONDAY, last_day=MONDAY + timedelta(days=1), reason="holidays"),)
    breaches = find_breaches(days, make_request(stage=stage, off=off))
    assert {item.rule for item in breaches} == {PlanRule.NO_PITCHING_YET, PlanRule.GAP, PlanRule.TIME_OFF}
    assert ROW.daily_most == RULES.daily_most
    assert explain_no_fit(NoFit(conflicts=(Conflict(rule=PlanRule.GAP, words="A gap."),))).endswith("alone: A gap.")
