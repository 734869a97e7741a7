"""Requests for plans, drawn at random or made by hand, and a brute force that tries every plan."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import product

from hypothesis import strategies as st

from elbowroom.core.plan.rest import RestRow, RestRules, count_rest_days
from elbowroom.core.plan.week import (
    Conflict,
    FixedGame,
    PastDay,
    PlanDay,
    PlanRule,
    ReturnStage,
    TimeOff,
    WeekRequest,
    Wishes,
    build_game_days,
    find_breaches,
)
from elbowroom.core.plan.week_cost import compute_plan_cost
from elbowroom.core.plan.week_words import explain_games, explain_off

MONDAY = date(2026, 5, 4)
ROW = RestRow(
    ages_years=(11, 12), daily_most=85, rest_from=(21, 36, 51, 66), is_open=True, mark="seen", source="test", note=""
)
RULES = RestRules(
    table="a table",
    row=ROW,
    consecutive_most=2,
    games_most=1,
    has_last_batter=False,
    no_catching_from=1,
    no_pitching_from_innings=1,
    others=(),
)
LOOSE = replace(RULES, consecutive_most=0, games_most=0, no_catching_from=41, no_pitching_from_innings=4)


def make_request(day_count: int = 7, **changes: object) -> WeekRequest:
    base = WeekRequest(first_day=MONDAY, day_count=day_count, rules=RULES, wishes=Wishes(drill_days=0))
    return replace(base, **changes)  # type: ignore[arg-type]


def make_game(number: int, pitches: int, innings: int = 0, team: str = "Herons") -> FixedGame:
    return FixedGame(day=MONDAY + timedelta(days=number), team=team, pitches=pitches, innings_caught=innings)


@st.composite
def draw_requests(draw: st.DrawFn, day_count: int = 7) -> WeekRequest:
    """Draw a request whose games may or may not fit."""
    games = draw(
        st.lists(
            st.builds(
                make_game, st.integers(0, day_count - 1), st.sampled_from([0, 15, 30, 45, 90]), st.integers(0, 4)
            ),
            max_size=3,
        )
    )
    past = [
        PastDay(day=MONDAY - timedelta(days=back), pitches=pitches, rest_days=count_rest_days(ROW, pitches))
        for back, pitches in draw(
            st.dictionaries(st.integers(1, 4), st.sampled_from([10, 25, 60, 80]), max_size=3)
        ).items()
    ]
    first = draw(st.integers(0, day_count - 1))
    off = TimeOff(
        first_day=MONDAY + timedelta(days=first), last_day=MONDAY + timedelta(days=first + 2), reason="holidays"
    )
    stage = draw(st.sampled_from([None, None, ReturnStage(may_pitch=False, gap_days=1, words="phase 2")]))
    sizes = draw(st.sampled_from([(20,), (35,), (20, 35), (100,), ()]))
    wishes = Wishes(
        pitching_days=draw(st.integers(0, 4)),
        throwing_days=draw(st.integers(0, 5)),
        drill_days=0,
        free_days=draw(st.integers(0, 6)),
        pitch_sizes=sizes,
    )
    return make_request(
        day_count,
        rules=draw(st.sampled_from([RULES, LOOSE])),
        games=tuple(games),
        past=tuple(past),
        off=draw(st.sampled_from([(), (off,)])),
        stage=stage,
        wishes=wishes,
    )


def walk_plans(request: WeekRequest, *, with_drills: bool = False) -> Iterator[tuple[PlanDay, ...]]:
    """Yield every plan that a request allows to be written, whether it keeps the rules or not."""
    wishes, choices = request.wishes, []
    for fixed in build_game_days(request).values():
        ways = [fixed]
        if not fixed.games:
            ways += [replace(fixed, throws=wishes.throws)]
            ways += [replace(fixed, practice_pitches=size) for size in wishes.pitch_sizes]
        choices.append([*ways, *(replace(way, has_drills=True) for way in ways if with_drills)])
    return product(*choices)


def find_best_cost(request: WeekRequest, *, with_drills: bool = False) -> int | None:
    """Try every plan and return the least cost, None where none keeps the rules."""
    costs = (
        compute_plan_cost(days, request)
        for days in walk_plans(request, with_drills=with_drills)
        if not find_breaches(days, request)
    )
    return min(costs, default=None)


def keep_only(request: WeekRequest, kept: tuple[Conflict, ...]) -> WeekRequest:
    """Return the request with every rule and game that is not named left out."""
    rules_kept = {item.rule for item in kept}
    words = {item.words for item in kept}
    row, rules = request.rules.row, request.rules
    if PlanRule.DAILY_LIMIT not in rules_kept:
        row = replace(row, daily_most=10_000)
    if PlanRule.REST_DAYS not in rules_kept:
        row = replace(row, rest_from=())
    catching = PlanRule.PITCH_AND_CATCH in rules_kept
    rules = replace(
        rules,
        row=row,
        consecutive_most=rules.consecutive_most if PlanRule.CONSECUTIVE in rules_kept else 0,
        games_most=rules.games_most if PlanRule.GAMES_A_DAY in rules_kept else 0,
        no_catching_from=rules.no_catching_from if catching else 0,
        no_pitching_from_innings=rules.no_pitching_from_innings if catching else 0,
    )
    stage = request.stage
    if stage is not None:
        stage = replace(
            stage,
            may_pitch=stage.may_pitch or PlanRule.NO_PITCHING_YET not in rules_kept,
            gap_days=stage.gap_days if PlanRule.GAP in rules_kept else 0,
        )
    return replace(
        request,
        rules=rules,
        stage=stage,
        games=tuple(game for game in request.games if explain_games(request, game.day) in words),
        off=tuple(off for off in request.off if explain_off(off) in words),
        past=request.past if PlanRule.REST_DAYS in rules_kept else _without_rest(request),
        wishes=replace(request.wishes, free_days=request.wishes.free_days * (PlanRule.FREE_DAYS in rules_kept)),
    )


def _without_rest(request: WeekRequest) -> tuple[PastDay, ...]:
    return tuple(replace(past, rest_days=0) for past in request.past)
