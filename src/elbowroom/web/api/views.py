"""From what the use cases return to what the programming face gives."""

from __future__ import annotations

from math import isinf

from elbowroom.core.findings.types import Finding, NotMeasured, Tolerance
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain
from elbowroom.service.course_values import Change, Course
from elbowroom.service.day_values import VisitLine
from elbowroom.service.findings import FindingsSheet, name_word
from elbowroom.service.record_types import ScreeningEntry
from elbowroom.service.tolerances import ToleranceSheet
from elbowroom.web.api import models


def view_quantity(quantity: Obtained) -> models.Quantity | models.Gap:
    """Return a quantity with unit, interval and budget, or why there is none."""
    return view_gap(quantity) if isinstance(quantity, Absent) else view_uncertain(quantity)


def view_uncertain(quantity: Uncertain) -> models.Quantity:
    """Return a value with unit, interval and budget."""
    freedom = quantity.degrees_of_freedom
    return models.Quantity(
        value=quantity.value,
        unit=quantity.unit,
        standard_uncertainty=quantity.standard,
        half_width_95=quantity.half_width,
        degrees_of_freedom=None if isinf(freedom) else freedom,
        budget={str(part.source): part.standard for part in quantity.parts},
    )


def view_gap(absent: Absent) -> models.Gap:
    """Return what is absent."""
    return models.Gap(absent=absent.reason, advice=absent.advice)


def view_limits(tolerance: Tolerance | Absent) -> models.Limits | models.Gap:
    """Return limits, an open side as null."""
    if isinstance(tolerance, Absent):
        return view_gap(tolerance)
    return models.Limits(
        lower=find_closed_limit(tolerance.lower),
        upper=find_closed_limit(tolerance.upper),
        aim=tolerance.aim,
        unit=tolerance.unit,
        source=tolerance.source,
        version=tolerance.version,
    )


def find_closed_limit(limit: float) -> float | None:
    """Return a limit, None for an open side."""
    return None if isinf(limit) else limit


def view_finding(finding: Finding) -> models.Finding:
    """Return a finding."""
    verdict = finding.verdict
    return models.Finding(
        measure=finding.definition.key,
        words=finding.definition.words,
        definition=finding.definition.definition,
        sign=finding.definition.sign,
        typical=view_quantity(finding.typical),
        throws=[view_quantity(item) for item in finding.throws],
        limits=view_limits(finding.tolerance),
        verdict=name_word(finding).value,
        reason=verdict.reason,
        probability_beyond=None if isinstance(verdict, NotMeasured) else verdict.probability_beyond,
    )


def view_screening(screening: ScreeningEntry, *, is_reviewed: bool) -> models.Screening:
    """Return a version of a screening."""
    return models.Screening(
        id=screening.id,
        version=screening.version,
        made_on=screening.made_on,
        recorded_at=screening.recorded_at,
        tolerances=screening.tolerances,
        tool_version=screening.tool_version,
        corrections_version=screening.corrections_version,
        is_reviewed=is_reviewed,
    )


def view_findings(sheet: FindingsSheet) -> models.Findings:
    """Return what a version of a screening found."""
    reviewed = {review.reviewed_screening_id for review in sheet.reviews}
    return models.Findings(
        screening=view_screening(sheet.screening, is_reviewed=sheet.screening.id in reviewed),
        findings=[view_finding(item) for item in sheet.report.findings],
        order_of_work=[item.measure for item in sheet.report.priorities],
        cautions=list(sheet.report.cautions),
    )


def view_visit(line: VisitLine) -> models.Visit:
    """Return a visit."""
    return models.Visit(
        id=line.visit_id,
        athlete_id=line.athlete_id,
        made_on=line.made_on,
        kind=line.kind,
        version=line.version,
        beyond_count=line.beyond_count,
        open_count=line.open_count,
        is_reviewed=line.is_reviewed,
    )


def view_course(course: Course) -> models.Course:
    """Return a measure over time."""
    return models.Course(
        measure=course.definition.key,
        words=course.definition.words,
        points=[
            models.CoursePoint(
                visit_id=point.visit.visit_id,
                made_on=point.visit.made_on,
                typical=view_quantity(point.finding.typical),
                verdict=name_word(point.finding).value,
            )
            for point in course.points
        ],
        since_last=view_change(course.since_last),
        since_first=view_change(course.since_first),
    )


def view_change(change: Change | Absent) -> models.ChangeModel | models.Gap:
    """Return what may be said of a change."""
    if isinstance(change, Absent):
        return view_gap(change)
    return models.ChangeModel(
        verdict=change.word.value,
        change=view_uncertain(change.change),
        smallest_real_value=change.smallest_real_value,
        probability_same_way=change.probability_same_way,
        reason=change.reason,
    )


def view_table(sheet: ToleranceSheet) -> models.LimitTable:
    """Return the limits that hold."""
    rows = [
        models.LimitRow(
            place=place,
            measure=row.measure,
            lower=find_closed_limit(row.lower),
            upper=find_closed_limit(row.upper),
            aim=row.aim,
            unit=row.unit,
            source=row.source,
            version=row.version,
            ages_years=row.ages_years,
            heights_m=row.heights_m,
            kinds=[str(kind) for kind in row.kinds],
            judged=row.judged,
            is_own=place in sheet.own_places,
        )
        for place, row in enumerate(sheet.rows)
    ]
    return models.LimitTable(version=sheet.version, rows=rows)
