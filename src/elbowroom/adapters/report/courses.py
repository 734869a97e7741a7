"""The drawing of something over the visits of an athlete: values with intervals, limits, and what changed in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import inf, isinf

from elbowroom.adapters.report.gauges import Label
from elbowroom.adapters.report.pages import capitalise, phrase_obtained
from elbowroom.adapters.report.scales import Axis, build_axis, find_ticks
from elbowroom.adapters.report.words import VERDICT_MARKS
from elbowroom.core.findings.phrases import name_verdict, phrase_limits
from elbowroom.core.findings.types import Tolerance
from elbowroom.core.plan.retest import Change
from elbowroom.core.quantities.phrases import (
    LengthUnit,
    convert_shown_value,
    phrase_number,
    phrase_uncertain,
    phrase_unit,
)
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.service.course_values import Course, CoursePoint, GrowthStep

WIDTH, HEIGHT = 720, 300
LEFT, RIGHT, TOP, BOTTOM = 62, 700, 18, 252
SPARK_WIDTH, SPARK_HEIGHT = 150, 44
VALUE_TICKS, DAY_TICKS = 6, 6
MONTHS_APART = (1, 2, 3, 6, 12, 24)


@dataclass(frozen=True, kw_only=True)
class CourseMark:
    """A value in the drawing."""

    x_px: float
    """Place of the day."""
    y_px: float
    """Place of the value."""
    low_px: float
    """Place of the lower end of the interval."""
    high_px: float
    """Place of the upper end of the interval."""
    mark: str
    """Shape of the verdict."""


@dataclass(frozen=True, kw_only=True)
class CourseChart:
    """Everything that the drawing of a course needs, in drawing units."""

    description: str
    """The drawing in a sentence."""
    zone: tuple[float, float]
    """Upper and lower edge of the accepted range; the same number twice for none."""
    limits: tuple[Label, ...]
    """The limits with their numbers."""
    aim: tuple[float, ...]
    """The aim, if there is one."""
    marks: tuple[CourseMark, ...]
    """The values."""
    path: str
    """A line through the values."""
    value_ticks: tuple[Label, ...]
    """Round numbers beside the drawing."""
    day_ticks: tuple[Label, ...]
    """Months below the drawing."""
    unit: str
    """Unit of the numbers."""


@dataclass(frozen=True, kw_only=True)
class ChangeRow:
    """What changed, in words."""

    word: str
    """`real`, `not shown`, `too close to call`, or an empty text where nothing can be said."""
    mark: str
    """Shape of the word."""
    reason: str
    """A sentence."""


@dataclass(frozen=True, kw_only=True)
class CourseRow:
    """A measure over time in words."""

    key: str
    """Key of the measure."""
    words: str
    """Its name, capitalised."""
    is_headline: bool
    """Whether it is a headline measure."""
    now: str
    """The newest value in words."""
    verdict: str
    """The newest verdict."""
    mark: str
    """Its shape."""
    spark: CourseChart
    """A small drawing."""
    since_last: ChangeRow
    """Newest against the visit before."""
    since_first: ChangeRow
    """Newest against the first."""


CHANGE_MARKS = {"real": "turned", "not shown": "level", "too close to call": "half"}
"""Shape that stands before each word for a change."""


def build_course_row(course: Course, lengths: LengthUnit) -> CourseRow:
    """Return a course in words, with its small drawing."""
    newest = course.points[-1].finding
    word = name_verdict(newest.verdict)
    return CourseRow(
        key=course.definition.key,
        words=capitalise(course.definition.words),
        is_headline=course.definition.headline,
        now=phrase_obtained(newest.typical, lengths),
        verdict=str(word),
        mark=VERDICT_MARKS[word],
        spark=draw_course(course, lengths, is_small=True),
        since_last=build_change_row(course.since_last),
        since_first=build_change_row(course.since_first),
    )


def build_change_row(change: Change | Absent) -> ChangeRow:
    """Return a change in words."""
    if isinstance(change, Absent):
        return ChangeRow(word="", mark="", reason=f"{change.reason} {change.advice}".strip())
    return ChangeRow(word=str(change.word), mark=CHANGE_MARKS[str(change.word)], reason=change.reason)


def build_point_rows(course: Course, lengths: LengthUnit) -> tuple[tuple[CoursePoint, str, str, str, str], ...]:
    """Return each visit with value, limits, verdict and its shape in words, newest first."""
    rows = []
    for point in reversed(course.points):
        word = name_verdict(point.finding.verdict)
        tolerance = point.finding.tolerance
        limits = phrase_limits(tolerance, lengths) if isinstance(tolerance, Tolerance) else ""
        value = phrase_obtained(point.finding.typical, lengths)
        rows.append((point, value, limits, str(word), VERDICT_MARKS[word]))
    return tuple(rows)


def draw_course(course: Course, lengths: LengthUnit, *, is_small: bool = False) -> CourseChart:
    """Return the drawing of a measure over time, with the limits of the newest visit."""
    values = [point.finding.typical for point in course.points if isinstance(point.finding.typical, Uncertain)]
    tolerance = course.points[-1].finding.tolerance
    limits = (tolerance.lower, tolerance.upper) if isinstance(tolerance, Tolerance) else (-inf, inf)
    aim = tolerance.aim if isinstance(tolerance, Tolerance) else None
    said = [
        f"{point.visit.made_on}: {phrase_obtained(point.finding.typical, lengths)}, "
        f"{name_verdict(point.finding.verdict)}"
        for point in course.points
    ]
    days = [point.visit.made_on for point in course.points]
    marks = [VERDICT_MARKS[name_verdict(point.finding.verdict)] for point in course.points]
    return _draw(
        days,
        values,
        marks,
        limits,
        aim,
        _Frame(f"{capitalise(course.definition.words)}. {'; '.join(said)}.", lengths, is_small),
    )


def draw_growth(steps: Sequence[GrowthStep], lengths: LengthUnit) -> CourseChart:
    """Return the drawing of heights over time."""
    values = [Uncertain(value=step.height_m, unit="m", parts=()) for step in steps]
    said = "; ".join(f"{step.made_on}: {phrase_number(step.height_m, 'm', lengths)}" for step in steps)
    frame = _Frame(f"Standing height. {said}.", lengths, False)
    return _draw([step.made_on for step in steps], values, ["dot"] * len(steps), (-inf, inf), None, frame)


def list_growth_rows(steps: Sequence[GrowthStep], lengths: LengthUnit) -> tuple[tuple[date, str, str], ...]:
    """Return day, height and growth in words, newest first."""
    rows = []
    for step in reversed(steps):
        rate = f"{phrase_uncertain(step.rate, lengths)}" if isinstance(step.rate, Uncertain) else step.rate.reason
        rows.append((step.made_on, phrase_number(step.height_m, "m", lengths), rate))
    return tuple(rows)


@dataclass(frozen=True)
class _Frame:
    """How a drawing is framed."""

    description: str
    lengths: LengthUnit
    is_small: bool

    def build_axes(self, days: Sequence[date], numbers: Sequence[float]) -> tuple[Axis, Axis]:
        """Return the axis of days and the axis of values."""
        span = (days[-1] - days[0]).days
        early, late = days[0].toordinal() - (0 if span else 30), days[-1].toordinal() + (0 if span else 30)
        left, right = (8, SPARK_WIDTH - 8) if self.is_small else (LEFT + 18, RIGHT - 18)
        top, bottom = (4, SPARK_HEIGHT - 4) if self.is_small else (TOP, BOTTOM)
        return Axis(low=early, high=late, start=left, end=right), build_axis(numbers, bottom, top, margin=0.12)


def _draw(
    days: Sequence[date],
    values: Sequence[Uncertain],
    shapes: Sequence[str],
    limits: tuple[float, float],
    aim: float | None,
    frame: _Frame,
) -> CourseChart:
    unit = values[0].unit
    finite = [limit for limit in limits if not isinf(limit)]
    across, up = frame.build_axes(days, [*finite, *(edge for item in values for edge in item.interval)])
    marks = tuple(
        CourseMark(
            x_px=across.locate_px(day.toordinal()),
            y_px=up.locate_px(item.value),
            low_px=up.locate_px(item.interval[0]),
            high_px=up.locate_px(item.interval[1]),
            mark=shape,
        )
        for day, item, shape in zip(days, values, shapes, strict=True)
    )
    return CourseChart(
        description=frame.description,
        zone=(up.locate_px(limits[1]), up.locate_px(limits[0])) if finite else (0.0, 0.0),
        limits=tuple(
            Label(place_px=up.locate_px(limit), text=phrase_number(limit, unit, frame.lengths)) for limit in finite
        ),
        aim=() if aim is None or not up.has_number(aim) else (up.locate_px(aim),),
        marks=marks,
        path="M" + "L".join(f"{mark.x_px} {mark.y_px}" for mark in marks),
        value_ticks=_build_value_ticks(up, unit, frame.lengths),
        day_ticks=_build_day_ticks(across),
        unit=phrase_unit(unit, frame.lengths),
    )


def _build_value_ticks(axis: Axis, unit: str, lengths: LengthUnit) -> tuple[Label, ...]:
    factor = convert_shown_value(1.0, unit, lengths)
    shown = Axis(low=axis.low * factor, high=axis.high * factor, start=axis.start, end=axis.end)
    return tuple(
        Label(place_px=shown.locate_px(tick), text=f"{tick:g}".replace("-", "\N{MINUS SIGN}"))
        for tick in find_ticks(shown, VALUE_TICKS)
    )


def _build_day_ticks(axis: Axis) -> tuple[Label, ...]:
    """Return first days of months along the axis, the same number of months apart."""
    first, last = date.fromordinal(int(axis.low)), date.fromordinal(int(axis.high))
    count = (last.year - first.year) * 12 + last.month - first.month
    apart = next((step for step in MONTHS_APART if count / step <= DAY_TICKS), MONTHS_APART[-1])
    months = range(first.year * 12 + first.month, last.year * 12 + last.month)
    days = [date(month // 12, month % 12 + 1, 1) for month in months if month % apart == 0]
    return tuple(
        Label(place_px=axis.locate_px(day.toordinal()), text=f"{day:%b %Y}")
        for day in days
        if axis.has_number(day.toordinal())
    )
