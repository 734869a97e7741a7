"""A plan of throwing over some weeks: what is asked of it, what it holds, and the pure rules that it must keep.

The rules are written out here without any solver, so that whoever lays out a plan is checked by something else.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from itertools import pairwise

from elbowroom.core.plan.rest import RestRules, count_rest_days

ONE_DAY = timedelta(days=1)
WEEK_DAYS = 7
PLAN_DAYS = 28
"""Days of a plan: four weeks."""


class PlanRule(StrEnum):
    """The rules of a plan, in the words that are used when they cannot all be kept."""

    DAILY_LIMIT = "pitches a day"
    REST_DAYS = "days of rest after pitching"
    CONSECUTIVE = "days of pitching in a row"
    PITCH_AND_CATCH = "pitching and catching on one day"
    GAMES_A_DAY = "games pitched on one day"
    TIME_OFF = "time off"
    FREE_DAYS = "days of the week without throwing"
    NO_PITCHING_YET = "no pitching at this stage of the return"
    GAP = "days between throwing days at this stage of the return"
    ONE_A_DAY = "one practice or game a day"
    GAME = "game already fixed"


@dataclass(frozen=True, kw_only=True)
class FixedGame:
    """A game that is already in the calendar."""

    day: date
    """Day of the game."""
    team: str
    """The team."""
    pitches: int
    """Pitches that are expected; 0 where the athlete will not pitch."""
    innings_caught: int = 0
    """Innings that the athlete will catch; 0 for none."""


@dataclass(frozen=True, kw_only=True)
class TimeOff:
    """Days without any throwing, such as months off."""

    first_day: date
    """First day off."""
    last_day: date
    """Last day off."""
    reason: str
    """Why, in words: school holidays, the months off of the year."""


@dataclass(frozen=True, kw_only=True)
class PastDay:
    """A day before the plan on which pitches were thrown."""

    day: date
    """The day."""
    pitches: int
    """Pitches of all teams."""
    rest_days: int
    """Days of rest that it owes."""


@dataclass(frozen=True, kw_only=True)
class ReturnStage:
    """What a return to throwing allows now."""

    may_pitch: bool
    """Whether the stage has throws from a mound."""
    gap_days: int
    """Least days between two throwing days; 1 is every other day."""
    words: str
    """Name of the stage."""


@dataclass(frozen=True, kw_only=True)
class Wishes:
    """What the clinician wants in each week, as far as the rules allow it; all chosen by the clinic."""

    pitching_days: int = 2
    """Days with pitches in a week, games included."""
    throwing_days: int = 3
    """Days of throwing practice in a week."""
    drill_days: int = 2
    """Days with drills in a week."""
    free_days: int = 2
    """Least days of a week without any throw (common practice, no source); this one is a rule, not a wish."""
    pitch_sizes: tuple[int, ...] = (20, 35)
    """Pitches that a practice from the mound may have, best last."""
    throws: int = 50
    """Throws of a throwing practice."""


@dataclass(frozen=True, kw_only=True)
class WeekRequest:
    """Everything that a plan depends on."""

    first_day: date
    """First day of the plan."""
    day_count: int
    """Days of the plan."""
    rules: RestRules
    """The pitch-count rules that hold."""
    wishes: Wishes
    """What each week should hold."""
    past: tuple[PastDay, ...] = ()
    """Days of pitching before the plan."""
    games: tuple[FixedGame, ...] = ()
    """Games already fixed, for all teams."""
    off: tuple[TimeOff, ...] = ()
    """Time off."""
    stage: ReturnStage | None = None
    """Stage of a return to throwing; None where there is none."""

    @property
    def days(self) -> tuple[date, ...]:
        """The days of the plan, in order."""
        return tuple(self.first_day + number * ONE_DAY for number in range(self.day_count))

    @property
    def weeks(self) -> tuple[tuple[date, ...], ...]:
        """The days in spans of seven from the first; the last may be shorter."""
        return tuple(self.days[start : start + WEEK_DAYS] for start in range(0, self.day_count, WEEK_DAYS))


@dataclass(frozen=True, kw_only=True)
class PlanDay:
    """One day of a plan."""

    day: date
    """The day."""
    game_pitches: int = 0
    """Pitches expected in games."""
    practice_pitches: int = 0
    """Pitches of a practice from the mound."""
    throws: int = 0
    """Throws of a throwing practice."""
    has_drills: bool = False
    """Whether drills are to be done."""
    innings_caught: int = 0
    """Innings to be caught in games."""
    games: int = 0
    """Games on that day, pitched or not."""

    @property
    def pitches(self) -> int:
        """Pitches of games and practice."""
        return self.game_pitches + self.practice_pitches

    @property
    def is_free(self) -> bool:
        """Whether nothing is thrown."""
        return not (self.pitches or self.throws or self.games)


@dataclass(frozen=True, kw_only=True)
class Breach:
    """A rule that a plan does not keep."""

    rule: PlanRule
    """The rule."""
    day: date
    """The day on which it shows."""
    words: str = ""
    """What is wrong, in a clause; empty where the rule says it all."""


@dataclass(frozen=True, kw_only=True)
class LaidOut:
    """A plan that keeps every rule."""

    days: tuple[PlanDay, ...]
    """The days, in order."""
    cost_value: int
    """What it costs by the rules of `week_cost`, lower is better."""
    is_best: bool
    """Whether no plan is better; false where the time ran out first."""


@dataclass(frozen=True, kw_only=True)
class Conflict:
    """One of the rules or games that cannot all be kept."""

    rule: PlanRule
    """The rule, or `game already fixed` or `time off`."""
    words: str
    """What it asks, in a sentence that one can talk about."""


@dataclass(frozen=True, kw_only=True)
class NoFit:
    """No plan keeps every rule."""

    conflicts: tuple[Conflict, ...]
    """Rules and games that cannot be kept together; leaving out any one of them would let the rest be kept."""


def build_game_days(request: WeekRequest) -> dict[date, PlanDay]:
    """Return the days of the plan with nothing on them but the games."""
    return {day: _build_game_day(day, [game for game in request.games if game.day == day]) for day in request.days}


def find_breaches(days: Sequence[PlanDay], request: WeekRequest) -> tuple[Breach, ...]:
    """Return every rule that a plan breaks, rule by rule; empty where it keeps them all.

    `days` are the days of the request in order. Fixed games must be there as they were fixed.
    """
    checks = (_check_games, _check_limits, _check_rest, _check_row, _check_off, _check_free, _check_stage)
    return tuple(breach for check in checks for breach in check(days, request))


def _build_game_day(day: date, games: Sequence[FixedGame]) -> PlanDay:
    return PlanDay(
        day=day,
        game_pitches=sum(game.pitches for game in games),
        innings_caught=sum(game.innings_caught for game in games),
        games=len(games),
    )


def _check_games(days: Sequence[PlanDay], request: WeekRequest) -> Iterator[Breach]:
    for day, fixed in zip(days, build_game_days(request).values(), strict=True):
        if (day.day, day.game_pitches, day.innings_caught, day.games) != (
            *(fixed.day, fixed.game_pitches, fixed.innings_caught, fixed.games),
        ):
            yield Breach(rule=PlanRule.GAME, day=day.day, words="the games differ from the calendar")


def _check_limits(days: Sequence[PlanDay], request: WeekRequest) -> Iterator[Breach]:
    rules = request.rules
    for day in days:
        if (day.games > 0) + (day.practice_pitches > 0) + (day.throws > 0) > 1:
            yield Breach(rule=PlanRule.ONE_A_DAY, day=day.day)
        pitched = sum(game.pitches > 0 for game in request.games if game.day == day.day)
        if day.pitches > rules.daily_most:
            yield Breach(rule=PlanRule.DAILY_LIMIT, day=day.day, words=f"{day.pitches} pitches")
        if day.pitches and day.innings_caught and is_catching_forbidden(rules, day.pitches, day.innings_caught):
            yield Breach(rule=PlanRule.PITCH_AND_CATCH, day=day.day)
        if 0 < rules.games_most < pitched:
            yield Breach(rule=PlanRule.GAMES_A_DAY, day=day.day, words=f"{pitched} games")


def is_catching_forbidden(rules: RestRules, pitches: int, innings: int) -> bool:
    """Say whether so many pitches and innings caught may not fall on one day."""
    return 0 < rules.no_catching_from <= pitches or 0 < rules.no_pitching_from_innings <= innings


def _check_rest(days: Sequence[PlanDay], request: WeekRequest) -> Iterator[Breach]:
    owed = [(day.day, day.rest_days) for day in request.past]
    for day in days:
        for start, rest in owed:
            if day.pitches and day.day - start <= rest * ONE_DAY:
                yield Breach(rule=PlanRule.REST_DAYS, day=day.day, words=f"{rest} days owed since {start}")
        if day.pitches:
            owed.append((day.day, count_rest_days(request.rules.row, day.pitches)))


def _check_row(days: Sequence[PlanDay], request: WeekRequest) -> Iterator[Breach]:
    most = request.rules.consecutive_most
    pitched = {day.day for day in request.past if day.pitches} | {day.day for day in days if day.pitches}
    for day in days:
        if most and all(day.day - back * ONE_DAY in pitched for back in range(most + 1)):
            yield Breach(rule=PlanRule.CONSECUTIVE, day=day.day)


def _check_off(days: Sequence[PlanDay], request: WeekRequest) -> Iterator[Breach]:
    for day in days:
        for off in request.off:
            if off.first_day <= day.day <= off.last_day and (day.has_drills or not day.is_free):
                yield Breach(rule=PlanRule.TIME_OFF, day=day.day, words=off.reason)


def _check_free(days: Sequence[PlanDay], request: WeekRequest) -> Iterator[Breach]:
    for week in request.weeks:
        held = [day for day in days if day.day in week]
        if len(week) == WEEK_DAYS and sum(day.is_free for day in held) < request.wishes.free_days:
            yield Breach(rule=PlanRule.FREE_DAYS, day=week[0])


def _check_stage(days: Sequence[PlanDay], request: WeekRequest) -> Iterator[Breach]:
    stage = request.stage
    if stage is None:
        return
    thrown = [day for day in days if not day.is_free]
    for day in thrown:
        if day.pitches and not stage.may_pitch:
            yield Breach(rule=PlanRule.NO_PITCHING_YET, day=day.day, words=stage.words)
    for before, after in pairwise(thrown):
        if after.day - before.day <= stage.gap_days * ONE_DAY:
            yield Breach(rule=PlanRule.GAP, day=after.day, words=stage.words)
