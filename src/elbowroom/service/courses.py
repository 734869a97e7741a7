"""Use cases: an athlete over time, and whether what changed is real."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from elbowroom.core.plan.growth import HeightReading, estimate_height_velocity
from elbowroom.core.plan.retest import Noise, VisitReading, judge_change
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.errors import NotThereError
from elbowroom.service.athletes import AthleteStory, see_athlete
from elbowroom.service.clinic_settings import find_settings
from elbowroom.service.clinic_tools import ClinicTools, get_screening, read_screening
from elbowroom.service.course_values import Course, CoursePoint, GrowthStep
from elbowroom.service.day_values import VisitLine
from elbowroom.service.record_tools import get_athlete, note_act
from elbowroom.service.record_types import Act
from elbowroom.service.record_values import Stamp

FIRST_VISIT = Absent(reason="It was measured at one visit only.", advice="Film again in some weeks.")


@dataclass(frozen=True, kw_only=True)
class AthleteSheet:
    """An athlete with everything that the visits say over time."""

    story: AthleteStory
    """Facts, guardians, consents, visits."""
    visits: tuple[VisitLine, ...]
    """The visits, newest first."""
    growth: tuple[GrowthStep, ...]
    """Heights, oldest first."""
    courses: tuple[Course, ...]
    """Every measure that has a value: the headline ones, then the others, in the order of the newest report."""


def see_athlete_sheet(clinic: ClinicTools, athlete_id: str, stamp: Stamp) -> AthleteSheet:
    """Return an athlete over time, and note in the trail that somebody looked; raises `RecordError`."""
    story = see_athlete(clinic.record, athlete_id, stamp)
    visits = clinic.record.days.list_athlete_visits(athlete_id)
    return AthleteSheet(
        story=story,
        visits=visits,
        growth=measure_growth([HeightReading(day=visit.made_on, height_m=visit.height_m) for visit in story.visits]),
        courses=build_courses(clinic, visits),
    )


def measure_growth(heights: Sequence[HeightReading]) -> tuple[GrowthStep, ...]:
    """Return each height in the order of time with the growth that led to it."""
    ordered = sorted(heights, key=lambda item: item.day)
    return tuple(
        GrowthStep(made_on=item.day, height_m=item.height_m, rate=estimate_height_velocity(ordered[: place + 1]))
        for place, item in enumerate(ordered)
    )


def list_courses(clinic: ClinicTools, athlete_id: str, stamp: Stamp) -> tuple[Course, ...]:
    """Return every measure of an athlete over time, noted in the trail; raises `NotThereError`."""
    get_athlete(clinic.record, athlete_id)
    clinic.record.entries.add_entries([note_act(clinic.record, stamp, Act.LOOKED, athlete_id, "measures")])
    return build_courses(clinic, clinic.record.days.list_athlete_visits(athlete_id))


def see_course(clinic: ClinicTools, athlete_id: str, measure: str, stamp: Stamp) -> tuple[AthleteStory, Course]:
    """Return one measure of an athlete over time, noted in the trail; raises `RecordError` where it has no value."""
    sheet = see_athlete_sheet(clinic, athlete_id, stamp)
    found = [course for course in sheet.courses if course.definition.key == measure]
    if not found:
        raise NotThereError(f"No visit of this athlete has a value of {measure!r}: choose another measure.")
    return sheet.story, found[0]


def build_courses(clinic: ClinicTools, visits: Sequence[VisitLine]) -> tuple[Course, ...]:
    """Return every measure over some visits (in any order), from the newest screening of each."""
    lengths = find_settings(clinic.record).lengths
    points: dict[str, list[CoursePoint]] = {}
    for visit in sorted(visits, key=lambda line: line.made_on):
        if not visit.version:
            continue
        report = read_screening(clinic, get_screening(clinic.record, visit.visit_id))
        for finding in report.findings:
            if isinstance(finding.typical, Uncertain):
                points.setdefault(finding.definition.key, []).append(CoursePoint(visit=visit, finding=finding))
    courses = [build_course(found, lengths) for found in points.values()]
    return tuple(sorted(courses, key=lambda course: not course.definition.headline))


def build_course(points: Sequence[CoursePoint], lengths: LengthUnit) -> Course:
    """Return a measure over its points, at least one, oldest first."""
    readings = [_build_reading(point) for point in points]
    alone = len(readings) < 2
    return Course(
        definition=points[-1].finding.definition,
        points=tuple(points),
        since_last=FIRST_VISIT if alone else judge_change(readings[-2], readings[-1], Noise(), lengths=lengths),
        since_first=FIRST_VISIT if alone else judge_change(readings[0], readings[-1], Noise(), lengths=lengths),
    )


def _build_reading(point: CoursePoint) -> VisitReading:
    return VisitReading(
        made_on=point.visit.made_on,
        typical=point.finding.typical,
        throws=tuple(item.value for item in point.finding.throws if isinstance(item, Uncertain)),
    )
