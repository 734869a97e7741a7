"""A measure over the visits of an athlete."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from elbowroom.core.findings.types import Finding
from elbowroom.core.measures.types import MeasureDefinition
from elbowroom.core.plan.retest import Change as Change
from elbowroom.core.quantities.types import Absent, Obtained
from elbowroom.service.day_values import VisitLine


@dataclass(frozen=True, kw_only=True)
class GrowthStep:
    """A height, and how fast the athlete came to it."""

    made_on: date
    """Day of the visit."""
    height_m: float
    """Standing height, metres."""
    rate: Obtained
    """Growth in cm a year against the height nearest to a year before, or why there is none."""


@dataclass(frozen=True, kw_only=True)
class CoursePoint:
    """A measure at one visit."""

    visit: VisitLine
    """The visit."""
    finding: Finding
    """What its newest screening found."""


@dataclass(frozen=True, kw_only=True)
class Course:
    """A measure over the visits of an athlete."""

    definition: MeasureDefinition
    """The measure, as the newest visit defines it."""
    points: tuple[CoursePoint, ...]
    """The visits at which it has a value, oldest first."""
    since_last: Change | Absent
    """Newest against the visit before, or why nothing can be said."""
    since_first: Change | Absent
    """Newest against the first, or why nothing can be said."""
