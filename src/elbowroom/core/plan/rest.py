"""Pitch-count tables and the rules that come with them: how many pitches a day, how many days of rest after them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from elbowroom.core.quantities.types import Absent


class RuleName(StrEnum):
    """The rules that may be broken, in the words of the pages."""

    DAILY_LIMIT = "pitches a day"
    REST_DAYS = "days of rest"
    CONSECUTIVE = "days in a row"
    PITCH_AND_CATCH = "pitching and catching on one day"
    GAMES_A_DAY = "games pitched on one day"


class Bindingness(StrEnum):
    """What kind of table it is."""

    GUIDELINE = "guideline"
    REGULATION = "regulation"
    SURVEY = "survey of experts"


@dataclass(frozen=True, kw_only=True)
class RestRow:
    """One age band of a table."""

    ages_years: tuple[int, int]
    """Youngest and oldest age in completed years, inclusive."""
    daily_most: int
    """Most pitches on one day."""
    rest_from: tuple[int, ...]
    """Smallest count that owes one day of rest, two days, and so on, increasing."""
    is_open: bool
    """Whether the last band of rest has no upper end; if not, no rest is named beyond the daily limit."""
    mark: str
    """How the row is known: `seen` or `second-hand copy`."""
    source: str
    """Where the row comes from."""
    note: str
    """What to know beside it; empty where nothing."""


@dataclass(frozen=True, kw_only=True)
class Conduct:
    """A rule that goes with a table and is no count."""

    key: str
    """Name of the rule in the table."""
    ages_years: tuple[int, int]
    """Youngest and oldest age that it holds for, inclusive."""
    number: int
    """The number that it states."""
    words: str
    """The rule in a sentence."""
    source: str
    """Where it comes from, `chosen by this project` where that is so."""


@dataclass(frozen=True, kw_only=True)
class RestTable:
    """A pitch-count table, as issued at one time."""

    key: str
    """Name in files."""
    words: str
    """Name on screens and paper."""
    issued: str
    """Day or year of issue as the copy states it, or that it does not."""
    kind: Bindingness
    """Guideline, regulation or survey."""
    rows: tuple[RestRow, ...]
    """Its age bands, youngest first."""
    conduct: tuple[Conduct, ...]
    """The rules that go with it."""


@dataclass(frozen=True, kw_only=True)
class RestRules:
    """What holds for one athlete: a row of a table and the rules that go with it."""

    table: str
    """Name of the table in words, with its issue."""
    row: RestRow
    """The row of the athlete's age."""
    consecutive_most: int
    """Most days in a row on which an athlete may pitch; 0 where the table states none."""
    games_most: int
    """Most games pitched on one day; 0 where the table states none."""
    has_last_batter: bool
    """Whether the pitches to the last batter leave the rest owed as it was when that batter came up."""
    no_catching_from: int
    """From this many pitches on an athlete may not catch on the same day; 1 forbids any; 0 states none."""
    no_pitching_from_innings: int
    """From this many innings caught on an athlete may not pitch on the same day; 1 forbids any; 0 states none."""
    others: tuple[Conduct, ...]
    """Rules to be told that no day's count can break: months off, innings a year."""

    @property
    def daily_most(self) -> int:
        """Most pitches on one day."""
        return self.row.daily_most


TOLD_ONLY = ("months_off", "months_off_together", "weeks_off_together", "innings_a_year")
"""Rules that are told beside a plan and checked against no single day."""
CONDUCT_KEYS = (
    *("consecutive_days", "games_a_day", "last_batter", "no_catching_from", "no_pitching_from_innings"),
    *TOLD_ONLY,
)
"""Names of the rules that a table may state."""


def choose_rest_rules(table: RestTable, age_years: int) -> RestRules | Absent:
    """Return what a table asks of an athlete of an age in completed years, or that it has no row for it."""
    rows = [row for row in table.rows if row.ages_years[0] <= age_years <= row.ages_years[1]]
    if not rows:
        known = ", ".join(f"{row.ages_years[0]} to {row.ages_years[1]}" for row in table.rows)
        return Absent(
            reason=f"{table.words} has no row for {age_years} years (it has {known}).",
            advice="Check the day of birth, or choose another table for the team.",
        )
    held = [item for item in table.conduct if item.ages_years[0] <= age_years <= item.ages_years[1]]
    numbers = {item.key: item.number for item in held}
    return RestRules(
        table=f"{table.words} ({table.issued})",
        row=rows[0],
        consecutive_most=numbers.get("consecutive_days", 0),
        games_most=numbers.get("games_a_day", 0),
        has_last_batter=numbers.get("last_batter", 0) > 0,
        no_catching_from=numbers.get("no_catching_from", 0),
        no_pitching_from_innings=numbers.get("no_pitching_from_innings", 0),
        others=tuple(item for item in held if item.key in TOLD_ONLY),
    )


def count_rest_days(row: RestRow, pitches: int) -> int:
    """Return the calendar days of rest that a day's counted pitches owe, neither end counted.

    Beyond the daily limit of a row whose last band is not open the table names no rest; the last band's is then the
    least that is owed.
    """
    return sum(pitches >= least for least in row.rest_from)


def is_named(row: RestRow, pitches: int) -> bool:
    """Say whether the table names the rest for that many pitches."""
    return row.is_open or pitches <= row.daily_most


def find_table(tables: Sequence[RestTable], key: str) -> RestTable | Absent:
    """Find a table by its name in files."""
    found = [table for table in tables if table.key == key]
    if found:
        return found[0]
    known = ", ".join(table.key for table in tables)
    return Absent(reason=f"There is no pitch-count table {key!r}.", advice=f"Choose one of {known}.")
