"""Counts of pitches and throws: an entry, what is wrong with one, and the sum of a day under an athlete's rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from elbowroom.core.plan.rest import RestRules, count_rest_days
from elbowroom.core.quantities.types import Absent

MOST_PITCHES, MOST_THROWS, MOST_INNINGS = 250, 600, 20
"""Above these a count is taken for a slip of the pen (chosen by this project)."""
OLDEST_DAYS = 400
"""Entries further back than this are taken for a slip in the year (chosen by this project)."""
NOT_NOTED = Absent(reason="Nobody noted the count at which the last batter came up.")
"""Stands for a count that was not noted."""


class Activity(StrEnum):
    """What was thrown for."""

    GAME = "game"
    PRACTICE = "practice"
    OTHER = "other throwing"


@dataclass(frozen=True, kw_only=True)
class CountEntry:
    """What was thrown on one day for one team."""

    day: date
    """The day."""
    team: str
    """The team, as the clinic or the person who counts calls it."""
    activity: Activity
    """Game, practice or other throwing."""
    pitches: int
    """Pitches from a mound or flat ground, warm-up left out."""
    throws: int = 0
    """Other throws that were counted."""
    innings_caught: int = 0
    """Innings caught on that day for that team."""
    before_last_batter: int | Absent = NOT_NOTED
    """Pitches already thrown when the last batter came up, or absent where nobody noted it."""


@dataclass(frozen=True, kw_only=True)
class DaySum:
    """A day of an athlete over all teams."""

    day: date
    """The day."""
    pitches: int
    """Pitches of all teams."""
    counted: int
    """Pitches that the days of rest are counted from; fewer than `pitches` by the last-batter rule only."""
    throws: int
    """Other throws of all teams."""
    innings_caught: int
    """Innings caught for all teams."""
    teams: tuple[str, ...]
    """The teams, by name."""
    games_pitched: int
    """Games in which the athlete pitched."""
    rest_days: int
    """Calendar days of rest that the day owes."""


def find_entry_problems(entry: CountEntry, today: date) -> tuple[str, ...]:
    """Return, each in a clause, what cannot be so in an entry; empty where it can be kept."""
    said = [
        (entry.day > today, f"{entry.day} is yet to come: give a day up to today"),
        (entry.day < today - timedelta(days=OLDEST_DAYS), f"{entry.day} is more than a year ago: check the year"),
        (not entry.team.strip(), "the team is empty: name it, or write a word such as training"),
        *_check_number("pitches", entry.pitches, MOST_PITCHES),
        *_check_number("throws", entry.throws, MOST_THROWS),
        *_check_number("innings caught", entry.innings_caught, MOST_INNINGS),
        *_check_last_batter(entry),
    ]
    return tuple(words for is_wrong, words in said if is_wrong)


def sum_days(entries: Sequence[CountEntry], rules: RestRules) -> tuple[DaySum, ...]:
    """Return the days on which something was counted, oldest first, each summed over all teams.

    The last-batter rule lowers the counted pitches of a day with one game pitched only: which of two games came last is
    not known, so two are counted whole. Practice pitches count like those of games, which is stricter than tables that
    speak of games (chosen by this project).
    """
    days = sorted({entry.day for entry in entries})
    return tuple(_sum_day(day, [entry for entry in entries if entry.day == day], rules) for day in days)


def _sum_day(day: date, entries: Sequence[CountEntry], rules: RestRules) -> DaySum:
    pitches = sum(entry.pitches for entry in entries)
    games = [entry for entry in entries if entry.activity is Activity.GAME and entry.pitches > 0]
    before = games[0].before_last_batter if len(games) == 1 else NOT_NOTED
    spared = 0
    if rules.has_last_batter and not isinstance(before, Absent):
        spared = games[0].pitches - before
    return DaySum(
        day=day,
        pitches=pitches,
        counted=pitches - spared,
        throws=sum(entry.throws for entry in entries),
        innings_caught=sum(entry.innings_caught for entry in entries),
        teams=tuple(sorted({entry.team.strip() for entry in entries})),
        games_pitched=len(games),
        rest_days=count_rest_days(rules.row, pitches - spared) if pitches else 0,
    )


def _check_number(name: str, number: int, most: int) -> tuple[tuple[bool, str], ...]:
    return (
        (number < 0, f"{number} {name} is negative: give 0 or more"),
        (number > most, f"{number} {name} on one day is more than {most}: check the number"),
    )


def _check_last_batter(entry: CountEntry) -> tuple[tuple[bool, str], ...]:
    before = entry.before_last_batter
    if isinstance(before, Absent):
        return ()
    return (
        (before < 0, f"{before} pitches before the last batter is negative: give 0 or more"),
        (
            before > entry.pitches,
            f"{before} pitches before the last batter is more than the {entry.pitches} of the day",
        ),
        (entry.activity is not Activity.GAME, "only a game has a last batter: leave that count out"),
    )
