"""Use cases: teams, who plays for them, and the pitch-count rules that hold for an athlete."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from elbowroom.core.plan.rest import RestRules, choose_rest_rules, count_rest_days, find_table
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import PlanError, RecordError
from elbowroom.service.record_tools import RecordTools, compute_age_years, get_athlete, note_act
from elbowroom.service.record_types import Act
from elbowroom.service.record_values import Stamp
from elbowroom.service.week_tools import WeekTools
from elbowroom.service.week_types import MembershipEntry, TeamVersion

USUAL_TABLES = ("us-national-newer", "us-national-older")
"""Tables for an athlete without a team: the newer issue where it has the age, else the older one."""


@dataclass(frozen=True, kw_only=True)
class HeldRules:
    """The rules that hold for an athlete, and why those."""

    rules: RestRules
    """The rules."""
    note: str
    """Which team's table they are, in a sentence."""


def keep_team(tools: WeekTools, name: str, rest_table: str, stamp: Stamp, team_id: str = "") -> str:
    """Add a team, or a version of one, and return its id; raises `PlanError` for an unknown table or an empty name."""
    table = find_table(tools.tables.rest, rest_table)
    if isinstance(table, Absent):
        raise PlanError(f"{table.reason} {table.advice}")
    if not name.strip():
        raise PlanError("The team has no name: give one.")
    versions = tools.record.entries.find_entries(TeamVersion, team_id=team_id) if team_id else ()
    entry = TeamVersion(
        id=tools.record.make_id(),
        team_id=team_id or tools.record.make_id(),
        version=len(versions) + 1,
        name=name.strip(),
        rest_table=rest_table,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.record.entries.add_entries([entry, note_act(tools.record, stamp, Act.ADDED, what="team")])
    return entry.team_id


def list_teams(record: RecordTools) -> dict[str, TeamVersion]:
    """Return the newest version of every team by its id, in the order of names."""
    newest = {entry.team_id: entry for entry in record.entries.find_entries(TeamVersion)}
    return dict(sorted(newest.items(), key=lambda item: (item[1].name.casefold(), item[0])))


def get_team(record: RecordTools, name: str) -> TeamVersion:
    """Return a team by id or name; raises `RecordError` where there is none."""
    teams = list_teams(record)
    found = [team for team in teams.values() if name in (team.team_id, team.name)]
    if not found:
        known = ", ".join(team.name for team in teams.values()) or "none yet"
        raise RecordError(f"There is no team {name!r} in the record (there is {known}): add it first.")
    return found[0]


def set_membership(record: RecordTools, athlete_id: str, team_id: str, stamp: Stamp, *, is_member: bool) -> None:
    """Let an athlete play for a team, or no longer; raises `RecordError`."""
    get_athlete(record, athlete_id)
    team = get_team(record, team_id)
    entry = MembershipEntry(
        id=record.make_id(),
        athlete_id=athlete_id,
        team_id=team.team_id,
        is_member=is_member,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    record.entries.add_entries([entry, note_act(record, stamp, Act.ADDED, athlete_id, "team membership")])


def list_teams_of(record: RecordTools, athlete_id: str) -> tuple[TeamVersion, ...]:
    """Return the teams that an athlete plays for, by name."""
    held = _list_holding(record.entries.find_entries(MembershipEntry, athlete_id=athlete_id))
    return tuple(team for team in list_teams(record).values() if (athlete_id, team.team_id) in held)


def list_members(record: RecordTools, team_id: str) -> tuple[str, ...]:
    """Return the ids of the athletes who play for a team."""
    held = _list_holding(record.entries.find_entries(MembershipEntry, team_id=team_id))
    return tuple(sorted(athlete_id for athlete_id, _ in held))


def find_rules(tools: WeekTools, athlete_id: str, on: date) -> HeldRules | Absent:
    """Find the pitch-count rules of an athlete on a day: those of the team, of several teams the strictest.

    Strictest is the smallest limit a day, then the most rest over all counts up to it.
    """
    age_years = compute_age_years(get_athlete(tools.record, athlete_id).born_on, on)
    teams = list_teams_of(tools.record, athlete_id)
    keys = [team.rest_table for team in teams] or list(USUAL_TABLES)
    tables = [table for table in tools.tables.rest if table.key in keys]
    answers = [choose_rest_rules(table, age_years) for table in sorted(tables, key=lambda one: keys.index(one.key))]
    found = [rules for rules in answers if isinstance(rules, RestRules)]
    if not found:
        return next(rules for rules in answers if isinstance(rules, Absent))
    if not teams:
        return HeldRules(rules=found[0], note=f"No team is in the record, so {found[0].table} is taken.")
    strictest = min(found, key=_measure_strictness)
    names = " and ".join(team.name for team in teams)
    several = " the stricter of their tables holds," if len({rules.table for rules in found}) > 1 else ""
    return HeldRules(rules=strictest, note=f"Plays for {names}:{several} {strictest.table}.")


def _measure_strictness(rules: RestRules) -> tuple[int, int]:
    rest = sum(count_rest_days(rules.row, pitches) for pitches in range(1, rules.daily_most + 1))
    return rules.daily_most, -rest


def _list_holding(entries: tuple[MembershipEntry, ...]) -> set[tuple[str, str]]:
    newest = {(item.athlete_id, item.team_id): item for item in sorted(entries, key=lambda item: item.recorded_at)}
    return {pair for pair, item in newest.items() if item.is_member}
