"""Use cases: the log of counts, and when an athlete may pitch again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from elbowroom.core.plan.availability import Availability, Remark, find_availability, list_notes, list_remarks
from elbowroom.core.plan.count_trend import CountTrend, describe_trend
from elbowroom.core.plan.counts import Activity, CountEntry, DaySum, find_entry_problems, sum_days
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ConflictError, PlanError
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import RecordTools, get_athlete, note_act
from elbowroom.service.record_types import Act
from elbowroom.service.record_values import Stamp
from elbowroom.service.teams import HeldRules, find_rules
from elbowroom.service.week_tools import WeekTools
from elbowroom.service.week_types import CountVersion


@dataclass(frozen=True, kw_only=True)
class CountBoard:
    """An athlete's counts at one look."""

    held: HeldRules
    """The rules and why those."""
    counts: tuple[CountVersion, ...]
    """Every count that holds, newest day first."""
    days: tuple[DaySum, ...]
    """The days, oldest first, summed over teams."""
    availability: Availability
    """When the athlete may pitch again."""
    remarks: tuple[Remark, ...]
    """Rules that the log breaks."""
    notes: tuple[str, ...]
    """Days on which several teams were summed."""
    trend: CountTrend
    """The last weeks."""


def build_count(
    day: date, team: str, activity: str, numbers: tuple[int, int, int], before_last_batter: int | None = None
) -> CountEntry:
    """Return a count from plain values; `numbers` are pitches, throws and innings caught. Raises `PlanError`."""
    known = {str(item): item for item in Activity}
    if activity not in known:
        raise PlanError(f"{activity!r} is no kind of throwing: give {', '.join(known)}.")
    pitches, throws, innings_caught = numbers
    return CountEntry(
        day=day,
        team=team.strip(),
        activity=known[activity],
        pitches=pitches,
        throws=throws,
        innings_caught=innings_caught,
        before_last_batter=ABSENT if before_last_batter is None else before_last_batter,
    )


def keep_count(
    record: RecordTools, athlete_id: str, count: CountEntry, stamp: Stamp, link_id: str | Absent = ABSENT
) -> str:
    """Add a count and return its id; raises `PlanError` that names everything that cannot be so."""
    get_athlete(record, athlete_id)
    _check_count(count, stamp.at.date())
    place = {"athlete_id": athlete_id, "count_id": record.make_id(), "sent_by_link_id": link_id}
    entry = _build_version(record, place, 1, count, stamp)
    record.entries.add_entries([entry, note_act(record, stamp, Act.ADDED, athlete_id, "count")])
    return entry.count_id


def replace_count(
    record: RecordTools, count_id: str, known_number: int, count: CountEntry | Absent, stamp: Stamp
) -> None:
    """Put a count in the place of another, which stays in the record, or take it back where `count` is absent.

    Raises `ConflictError` where somebody else corrected it since, `PlanError` where it cannot be so.
    """
    versions = record.entries.find_entries(CountVersion, count_id=count_id)
    if not versions:
        raise PlanError("There is no such count: load the page again.")
    last = max(versions, key=lambda item: item.number)
    if last.number != known_number:
        raise ConflictError("Somebody else corrected this count meanwhile: look and try again.")
    value = read_count(last) if isinstance(count, Absent) else count
    if not isinstance(count, Absent):
        _check_count(count, stamp.at.date())
    place = {"athlete_id": last.athlete_id, "count_id": count_id, "sent_by_link_id": last.sent_by_link_id}
    entry = _build_version(record, place, known_number + 1, value, stamp)
    entry = replace(entry, is_removed=isinstance(count, Absent))
    record.entries.add_entries([entry, note_act(record, stamp, Act.CORRECTED, last.athlete_id, "count")])


def list_counts(record: RecordTools, athlete_id: str) -> tuple[CountVersion, ...]:
    """Return the counts that hold, newest day first."""
    newest: dict[str, CountVersion] = {}
    for entry in record.entries.find_entries(CountVersion, athlete_id=athlete_id):
        if entry.count_id not in newest or newest[entry.count_id].number < entry.number:
            newest[entry.count_id] = entry
    held = [entry for entry in newest.values() if not entry.is_removed]
    return tuple(sorted(held, key=lambda entry: (entry.day, entry.recorded_at, entry.count_id), reverse=True))


def find_count_board(tools: WeekTools, athlete_id: str, on: date) -> CountBoard | Absent:
    """Find an athlete's counts with what the rules make of them, or why no rules hold."""
    held = find_rules(tools, athlete_id, on)
    if isinstance(held, Absent):
        return held
    counts = list_counts(tools.record, athlete_id)
    days = sum_days([read_count(entry) for entry in counts], held.rules)
    return CountBoard(
        held=held,
        counts=counts,
        days=days,
        availability=find_availability(days, held.rules, on),
        remarks=list_remarks(days, held.rules),
        notes=list_notes(days),
        trend=describe_trend(days, on),
    )


def read_count(entry: CountVersion) -> CountEntry:
    """Return what an entry says was thrown."""
    return CountEntry(
        day=entry.day,
        team=entry.team,
        activity=entry.activity,
        pitches=entry.pitches,
        throws=entry.throws,
        innings_caught=entry.innings_caught,
        before_last_batter=entry.before_last_batter,
    )


def _check_count(count: CountEntry, today: date) -> None:
    problems = find_entry_problems(count, today)
    if problems:
        raise PlanError(f"Nothing was kept: {'; '.join(problems)}.")


def _build_version(
    record: RecordTools, place: Mapping[str, Any], number: int, count: CountEntry, stamp: Stamp
) -> CountVersion:
    before = count.before_last_batter
    return CountVersion(
        id=record.make_id(),
        number=number,
        is_removed=False,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
        **place,
        **{**vars(count), "before_last_batter": ABSENT if isinstance(before, Absent) else before},
    )
