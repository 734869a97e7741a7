"""Use cases: the day of a clinic, who comes and what waits to be looked through."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import NotThereError, RecordError
from elbowroom.service.clinic_types import DayPlaceEntry, ReviewEntry
from elbowroom.service.day_values import PlaceLine, VisitLine
from elbowroom.service.job_types import Job, JobState
from elbowroom.service.record_tools import RecordTools, get_athlete, note_act
from elbowroom.service.record_types import Act, AthleteVersion, ScreeningEntry
from elbowroom.service.record_values import Stamp

MOST_WAITING = 20
"""How many visits that wait a day shows; the rest is said in a number."""


@dataclass(frozen=True, kw_only=True)
class RunningLine:
    """Work that runs, waits or failed, with the athlete's name."""

    job: Job
    """The work."""
    name: str
    """Name of the athlete; empty where it is about none."""
    share: float
    """How much of the stage is done, 0 to 1."""
    left_s: float | Absent
    """Time left at the pace of the stage so far, seconds, or why that is not known."""


@dataclass(frozen=True, kw_only=True)
class DaySheet:
    """A day of the clinic, but for what is running."""

    day: date
    """The day."""
    expected: tuple[PlaceLine, ...]
    """Who is expected and was not here yet."""
    seen: tuple[VisitLine, ...]
    """The visits of the day."""
    waiting: tuple[VisitLine, ...]
    """Visits that nobody looked through yet, newest first, at most `MOST_WAITING`."""
    has_more: bool
    """Whether more visits wait than are shown."""


def see_day(tools: RecordTools, day: date, stamp: Stamp) -> DaySheet:
    """Return a day of the clinic, and note in the trail that somebody looked."""
    tools.entries.add_entries([note_act(tools, stamp, Act.LOOKED, what=f"day {day}")])
    seen = tools.days.list_visits(day)
    here = {line.athlete_id for line in seen}
    waiting = tools.days.list_waiting(MOST_WAITING + 1)
    return DaySheet(
        day=day,
        expected=tuple(line for line in tools.days.list_places(day) if line.athlete_id not in here),
        seen=seen,
        waiting=waiting[:MOST_WAITING],
        has_more=len(waiting) > MOST_WAITING,
    )


def list_running(tools: RecordTools, now: datetime) -> tuple[RunningLine, ...]:
    """Return the work that runs, waits or needs a person, oldest first."""
    jobs = tools.jobs.list_jobs((JobState.RUNNING, JobState.WAITING, JobState.FAILED, JobState.HELD))
    return tuple(
        RunningLine(
            job=job,
            name=_find_name(tools, job.athlete_id),
            share=job.done / job.total if job.total else 0.0,
            left_s=estimate_left_s(job, now),
        )
        for job in reversed(jobs)
    )


def estimate_left_s(job: Job, now: datetime) -> float | Absent:
    """Return the time left at the pace so far, in seconds; the pace is that of the stage, so it may jump."""
    if job.state is not JobState.RUNNING or isinstance(job.started_at, Absent) or not 0 < job.done <= job.total:
        return Absent(reason="It has not come far enough to tell.")
    return (now - job.started_at).total_seconds() * (job.total - job.done) / job.done


def _find_name(tools: RecordTools, athlete_id: str) -> str:
    versions = tools.entries.find_entries(AthleteVersion, athlete_id=athlete_id) if athlete_id else ()
    return versions[-1].name if versions else ""


def add_day_place(tools: RecordTools, athlete_id: str, day: date, note: str, stamp: Stamp) -> None:
    """Put an athlete on the list of a day."""
    _add_place(tools, athlete_id, day, note.strip(), True, stamp)


def remove_day_place(tools: RecordTools, athlete_id: str, day: date, stamp: Stamp) -> None:
    """Take an athlete off the list of a day; what was noted stays in the record."""
    _add_place(tools, athlete_id, day, "", False, stamp)


def add_review(tools: RecordTools, screening_id: str, note: str, stamp: Stamp) -> None:
    """Note that a clinician looked through a version of a screening and stands by it.

    Raises `RecordError` where there is none of that id, or a newer version, and `ConflictError` where somebody else
    did it meanwhile.
    """
    found = tools.entries.find_entries(ScreeningEntry, id=screening_id)
    if not found:
        raise NotThereError("There is no such screening: open the visit again.")
    screening = found[0]
    newest = tools.entries.find_entries(ScreeningEntry, visit_id=screening.visit_id)[-1]
    if newest.version != screening.version:
        raise RecordError(f"Version {newest.version} of this screening is newer: look through that one.")
    entry = ReviewEntry(
        id=tools.make_id(),
        athlete_id=screening.athlete_id,
        visit_id=screening.visit_id,
        reviewed_screening_id=screening.id,
        note=note.strip(),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    what = f"visit {screening.visit_id}, review of screening {screening.version}"
    tools.entries.add_entries([entry, note_act(tools, stamp, Act.ADDED, screening.athlete_id, what)])


def _add_place(tools: RecordTools, athlete_id: str, day: date, note: str, is_expected: bool, stamp: Stamp) -> None:
    get_athlete(tools, athlete_id)
    earlier = tools.entries.find_entries(DayPlaceEntry, athlete_id=athlete_id)
    entry = DayPlaceEntry(
        id=tools.make_id(),
        athlete_id=athlete_id,
        version=1 + max((item.version for item in earlier), default=0),
        on_day=day,
        is_expected=is_expected,
        note=note,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    what = f"day {day}, {'on' if is_expected else 'off'} the list"
    tools.entries.add_entries([entry, note_act(tools, stamp, Act.ADDED, athlete_id, what)])
