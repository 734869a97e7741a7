"""Use case: the trail as a person reads it, with names in the place of ids."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from elbowroom.service.record_tools import RecordTools, list_people
from elbowroom.service.record_types import AthleteVersion, TrailEntry


@dataclass(frozen=True, kw_only=True)
class TrailLine:
    """One act, for people."""

    at: datetime
    """When, UTC."""
    who: str
    """Name of who did it, or the id of one whom the record does not know."""
    act: str
    """What was done."""
    athlete_id: str
    """The athlete whom it concerns; empty for none."""
    athlete_name: str
    """Name of the athlete, or the id of one who was forgotten; empty for none."""
    what: str
    """What was looked at or changed."""


def list_trail_lines(
    tools: RecordTools, athlete_id: str = "", count: int = 50, skipped: int = 0
) -> tuple[TrailLine, ...]:
    """Return the trail, newest first, of one athlete where an id is given."""
    entries = tools.lists.list_acts(athlete_id, count, skipped)
    people = {person_id: person.name for person_id, person in list_people(tools).items()}
    athletes = {one: _find_athlete_name(tools, one) for one in {entry.athlete_id for entry in entries} if one}
    return tuple(_build_line(entry, people, athletes) for entry in entries)


def _find_athlete_name(tools: RecordTools, athlete_id: str) -> str:
    versions = tools.entries.find_entries(AthleteVersion, athlete_id=athlete_id)
    return versions[-1].name if versions else athlete_id


def _build_line(entry: TrailEntry, people: dict[str, str], athletes: dict[str, str]) -> TrailLine:
    what = entry.what
    for person_id, name in people.items():
        what = what.replace(person_id, name)
    return TrailLine(
        at=entry.recorded_at,
        who=people.get(entry.recorded_by, entry.recorded_by or "nobody known"),
        act=str(entry.act),
        athlete_id=entry.athlete_id,
        athlete_name=athletes.get(entry.athlete_id, ""),
        what=what,
    )
