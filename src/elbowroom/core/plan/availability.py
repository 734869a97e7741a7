"""When an athlete may pitch again, at a glance, and what the log shows against the rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from elbowroom.core.plan.counts import DaySum
from elbowroom.core.plan.day_words import phrase_count, phrase_day, phrase_rest
from elbowroom.core.plan.rest import RestRules, RuleName, is_named

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, kw_only=True)
class Availability:
    """When an athlete may pitch again by the counts alone."""

    is_free: bool
    """Whether the athlete may pitch on the day that was asked about."""
    first_day: date
    """First day from that day on, on which the rules allow pitching."""
    most_pitches: int
    """Most pitches on that first day."""
    rest_days: int
    """Days of rest that the last day of pitching owes."""
    sentence: str
    """All that in a sentence, with the rule that decides and the table's name."""


@dataclass(frozen=True, kw_only=True)
class Remark:
    """Something in the log that breaks a rule."""

    day: date
    """The day."""
    rule: RuleName
    """The rule."""
    words: str
    """What was thrown and what the rule says, in a sentence."""


def find_availability(days: Sequence[DaySum], rules: RestRules, on: date) -> Availability:
    """Return when an athlete may pitch again, from the summed days, as seen on a day."""
    pitched = [day for day in days if day.pitches > 0 and day.day <= on]
    first = on
    while name_hindrance(days, rules, first):
        first += ONE_DAY
    return Availability(
        is_free=first == on,
        first_day=first,
        most_pitches=rules.daily_most,
        rest_days=pitched[-1].rest_days if pitched else 0,
        sentence=_phrase_availability(days, pitched, rules, on, first),
    )


def name_hindrance(days: Sequence[DaySum], rules: RestRules, on: date) -> str:
    """Return the clause that says why the rules forbid pitching on a day, or an empty string."""
    pitched = [day for day in days if day.pitches > 0]
    owed = [day for day in pitched if timedelta(0) < on - day.day <= day.rest_days * ONE_DAY]
    if owed:
        day = max(owed, key=lambda one: one.day + one.rest_days * ONE_DAY)
        return f"{phrase_rest(day.rest_days)} owed, {_phrase_counted(day)}"
    if any(day.day == on for day in pitched):
        return "pitched on that day already"
    if _is_third_in_a_row(pitched, rules, on):
        return f"no pitching on {rules.consecutive_most + 1} days in a row"
    caught = sum(day.innings_caught for day in days if day.day == on)
    if 0 < rules.no_pitching_from_innings <= caught:
        return f"caught {phrase_count(caught, 'inning')} on that day"
    return ""


def list_remarks(days: Sequence[DaySum], rules: RestRules) -> tuple[Remark, ...]:
    """Return everything in the log that breaks the rules, oldest first."""
    remarks: list[Remark] = []
    for place, day in enumerate(days):
        before = days[:place]
        remarks += [Remark(day=day.day, rule=rule, words=words) for rule, words in _remark_on_day(day, before, rules)]
    return tuple(remarks)


def list_notes(days: Sequence[DaySum]) -> tuple[str, ...]:
    """Return what to know about the sums: days on which several teams' counts were added."""
    return tuple(
        f"{phrase_day(day.day)}: {' and '.join(day.teams)} are summed, {phrase_count(day.pitches, 'pitch', 'pitches')}."
        for day in days
        if len(day.teams) > 1
    )


def _remark_on_day(day: DaySum, before: Sequence[DaySum], rules: RestRules) -> list[tuple[RuleName, str]]:
    said, name = [], phrase_day(day.day)
    # Who began the last batter below the limit may finish that batter, so the counted pitches are held against it.
    if day.pitches and min(day.counted, day.pitches) > rules.daily_most:
        said.append((RuleName.DAILY_LIMIT, f"{name}: {_phrase_pitches(day)}, the limit is {rules.daily_most} a day."))
    if not is_named(rules.row, day.counted):
        said.append((RuleName.REST_DAYS, f"{name}: the table names no rest for {day.counted}; {_ask_for_rest(day)}."))
    hindrance = name_hindrance(before, rules, day.day) if day.pitches else ""
    if hindrance:
        rule = RuleName.CONSECUTIVE if hindrance.startswith("no pitching") else RuleName.REST_DAYS
        said.append((rule, f"{name}: {_phrase_pitches(day)} although {hindrance}."))
    if _is_pitching_and_catching(day, rules):
        caught = phrase_count(day.innings_caught, "inning")
        said.append((RuleName.PITCH_AND_CATCH, f"{name}: {_phrase_pitches(day)} and {caught} caught on one day."))
    if 0 < rules.games_most < day.games_pitched:
        said.append((RuleName.GAMES_A_DAY, f"{name}: pitched in {day.games_pitched} games on one day."))
    return said


def _is_pitching_and_catching(day: DaySum, rules: RestRules) -> bool:
    if not (day.pitches and day.innings_caught):
        return False
    by_pitches = 0 < rules.no_catching_from <= day.pitches
    return by_pitches or 0 < rules.no_pitching_from_innings <= day.innings_caught


def _is_third_in_a_row(pitched: Sequence[DaySum], rules: RestRules, on: date) -> bool:
    if rules.consecutive_most == 0:
        return False
    days = {day.day for day in pitched}
    return all(on - back * ONE_DAY in days for back in range(1, rules.consecutive_most + 1))


def _phrase_availability(
    days: Sequence[DaySum], pitched: Sequence[DaySum], rules: RestRules, on: date, first: date
) -> str:
    if first == on:
        last = f"; last pitched {phrase_day(pitched[-1].day)}, {_phrase_pitches(pitched[-1])}" if pitched else ""
        return f"May pitch on {phrase_day(on)}, up to {rules.daily_most}{last} ({rules.table})."
    why = name_hindrance(days, rules, first - ONE_DAY)
    return f"May pitch again {phrase_day(first)}: {why} ({rules.table})."


def _phrase_counted(day: DaySum) -> str:
    if day.counted < day.pitches:
        return f"{day.pitches} counted as {day.counted} by the last-batter rule"
    teams = f" for {' and '.join(day.teams)} together" if len(day.teams) > 1 else ""
    return f"{_phrase_pitches(day)} on {phrase_day(day.day)}{teams}"


def _phrase_pitches(day: DaySum) -> str:
    return phrase_count(day.pitches, "pitch", "pitches")


def _ask_for_rest(day: DaySum) -> str:
    return f"take at least {phrase_rest(day.rest_days)} and ask the league"
