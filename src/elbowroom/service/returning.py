"""Use cases: an athlete's graded return to throwing, step by step."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from elbowroom.core.plan.programme import (
    CourseEvent,
    Programme,
    ProgrammeStep,
    Rescreened,
    ReturnState,
    StepDone,
    StepSet,
    choose_programme,
    derive_state,
    find_event_problem,
    phrase_step,
)
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import PlanError
from elbowroom.service.record_tools import compute_age_years, get_athlete, list_people, note_act
from elbowroom.service.record_types import Act
from elbowroom.service.record_values import Stamp
from elbowroom.service.week_tools import WeekTools, check_may_throw
from elbowroom.service.week_types import EventKind, ReturnCourse, ReturnEvent

NO_COURSE = Absent(reason="The athlete is in no return to throwing.", advice="A clinician begins one.")
SHORTEST_REASON = 8
"""Fewest letters of a clinician's reason."""


@dataclass(frozen=True, kw_only=True)
class Course:
    """A return to throwing as it stands."""

    entry: ReturnCourse
    """How it was begun."""
    programme: Programme
    """Its programme."""
    state: ReturnState
    """Where the athlete stands."""
    events: tuple[ReturnEvent, ...]
    """What happened, in the order of recording."""

    @property
    def due(self) -> ProgrammeStep:
        """The step that is next, or was last where the programme is done."""
        return self.programme.steps[self.state.step - 1]


def take_act(tools: WeekTools, athlete_id: str, day: date, asked: Mapping[str, Any], stamp: Stamp) -> Course:
    """Do what was asked in a return on a day, and return where the athlete stands; nothing is done where nothing is.

    `asked` may hold `is_begun` with `programme`, `done` (a step) with `answer`, `is_filmed`, `step` to be set; `reason`
    belongs to the first and the last.
    """
    if asked.get("is_begun"):
        return begin_return(tools, athlete_id, (asked.get("programme", ""), day, asked["reason"]), stamp)
    if asked.get("done"):
        return keep_work_out(tools, athlete_id, StepDone(day=day, step=asked["done"], answer=asked["answer"]), stamp)
    if asked.get("is_filmed"):
        return keep_filming(tools, athlete_id, day, stamp)
    if asked.get("step"):
        return set_step(tools, athlete_id, day, asked["step"], asked["reason"], stamp)
    return get_course(tools, athlete_id)


def begin_return(tools: WeekTools, athlete_id: str, ask: tuple[str, date, str], stamp: Stamp) -> Course:
    """Begin a return; `ask` holds the programme (empty: the first of the age), the first day and a clinician's reason.

    Raises `HoldError` where a warning sign stops the athlete, `PlanError` where the programme or the reason is missing.
    """
    key, begun_on, reason = ask
    check_may_throw(tools, athlete_id, "returns to throwing", stamp.at.date())
    _check_reason(reason)
    age_years = compute_age_years(get_athlete(tools.record, athlete_id).born_on, begun_on)
    fitting = [item for item in tools.tables.programmes if key in ("", item.key)]
    programme = choose_programme(fitting, age_years)
    if isinstance(programme, Absent):
        raise PlanError(f"{programme.reason} {programme.advice}")
    entry = ReturnCourse(
        id=tools.record.make_id(),
        athlete_id=athlete_id,
        version=len(tools.record.entries.find_entries(ReturnCourse, athlete_id=athlete_id)) + 1,
        programme=programme.key,
        begun_on=begun_on,
        reason=reason.strip(),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.record.entries.add_entries([entry, note_act(tools.record, stamp, Act.ADDED, athlete_id, "return begun")])
    return get_course(tools, athlete_id)


def find_course(tools: WeekTools, athlete_id: str) -> Course | Absent:
    """Find the newest return of an athlete with where it stands."""
    courses = tools.record.entries.find_entries(ReturnCourse, athlete_id=athlete_id)
    if not courses:
        return NO_COURSE
    entry = courses[-1]
    (programme,) = [item for item in tools.tables.programmes if item.key == entry.programme]
    found = tools.record.entries.find_entries(ReturnEvent, return_course_id=entry.id)
    events = tuple(sorted(found, key=lambda event: event.number))
    people = {person_id: person.name for person_id, person in list_people(tools.record).items()}
    told = [_read_event(event, people) for event in events]
    state = derive_state(programme, tools.tables.soreness, entry.begun_on, told)
    return Course(entry=entry, programme=programme, state=state, events=events)


def list_steps(course: Course) -> tuple[tuple[ProgrammeStep, str], ...]:
    """Return every step of a return's programme with its words."""
    return tuple((step, phrase_step(step)) for step in course.programme.steps)


def list_programmes(tools: WeekTools, athlete_id: str, on: date) -> tuple[Programme, ...]:
    """Return the programmes for an athlete's age on a day."""
    age_years = compute_age_years(get_athlete(tools.record, athlete_id).born_on, on)
    return tuple(one for one in tools.tables.programmes if one.ages_years[0] <= age_years <= one.ages_years[1])


def get_course(tools: WeekTools, athlete_id: str) -> Course:
    """Return the newest return of an athlete; raises `PlanError` where there is none."""
    course = find_course(tools, athlete_id)
    if isinstance(course, Absent):
        raise PlanError(f"{course.reason} {course.advice}")
    return course


def keep_work_out(tools: WeekTools, athlete_id: str, work_out: StepDone, stamp: Stamp) -> Course:
    """Record a work-out that was done and how the arm was; raises `PlanError` where it was not due."""
    course = get_course(tools, athlete_id)
    check_may_throw(tools, athlete_id, "work-outs", work_out.day)
    known = [rule.key for rule in tools.tables.soreness]
    if work_out.answer not in known:
        raise PlanError(f"{work_out.answer!r} is no answer about soreness: give one of {', '.join(known)}.")
    if work_out.day > stamp.at.date():
        raise PlanError(f"{work_out.day} is yet to come: record a work-out when it is done.")
    problem = find_event_problem(course.programme, course.state, work_out)
    if problem:
        raise PlanError(f"Nothing was kept: {problem}.")
    return _keep_event(tools, course, (EventKind.WORK_OUT, work_out.day, work_out.step, work_out.answer, ""), stamp)


def set_step(tools: WeekTools, athlete_id: str, day: date, step: int, reason: str, stamp: Stamp) -> Course:
    """Let a clinician set the step, whatever the rules said, with a reason; raises `PlanError`."""
    course = get_course(tools, athlete_id)
    _check_reason(reason)
    if not 1 <= step <= len(course.programme.steps):
        raise PlanError(f"{course.programme.words} has the steps 1 to {len(course.programme.steps)}: give one of them.")
    _check_order(course, day)
    return _keep_event(tools, course, (EventKind.OVERRIDE, day, step, "", reason.strip()), stamp)


def keep_filming(tools: WeekTools, athlete_id: str, day: date, stamp: Stamp) -> Course:
    """Record that the mechanics were filmed again and looked at; raises `PlanError`."""
    course = get_course(tools, athlete_id)
    if day > stamp.at.date():
        raise PlanError(f"{day} is yet to come: record the filming when it is done.")
    _check_order(course, day)
    return _keep_event(tools, course, (EventKind.FILMED, day, 0, "", ""), stamp)


def _check_reason(reason: str) -> None:
    if len(reason.strip()) < SHORTEST_REASON:
        raise PlanError(f"A clinician's reason is needed, {SHORTEST_REASON} letters or more: say why.")


def _check_order(course: Course, day: date) -> None:
    """Raise `PlanError` for a day before the last thing that happened, which would change what came after it."""
    last = max((event.day for event in course.events), default=course.entry.begun_on)
    if day < last:
        raise PlanError(f"Something is recorded for {last} already: give that day or a later one.")


def _keep_event(tools: WeekTools, course: Course, facts: tuple[EventKind, date, int, str, str], stamp: Stamp) -> Course:
    kind, day, step, answer, reason = facts
    athlete_id = course.entry.athlete_id
    event = ReturnEvent(
        id=tools.record.make_id(),
        athlete_id=athlete_id,
        return_course_id=course.entry.id,
        number=len(course.events) + 1,
        kind=kind,
        day=day,
        step=step,
        answer=answer,
        reason=reason,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.record.entries.add_entries([event, note_act(tools.record, stamp, Act.ADDED, athlete_id, f"return, {kind}")])
    return get_course(tools, athlete_id)


def _read_event(event: ReturnEvent, people: dict[str, str]) -> CourseEvent:
    match event.kind:
        case EventKind.WORK_OUT:
            return StepDone(day=event.day, step=event.step, answer=event.answer)
        case EventKind.OVERRIDE:
            by = people.get(event.recorded_by, event.recorded_by)
            return StepSet(day=event.day, step=event.step, by=by, reason=event.reason)
        case EventKind.FILMED:
            return Rescreened(day=event.day)
