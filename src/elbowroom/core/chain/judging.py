"""From the measures of all throws to findings, the order of work, curves over time, and what is missing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from elbowroom.core.chain.types import FailedThrow, MeasuredThrow, MeasuredVisit, ThrowNumbers
from elbowroom.core.findings.choose import choose_bands, choose_tolerance
from elbowroom.core.findings.judge import judge_measure
from elbowroom.core.findings.order import order_findings
from elbowroom.core.findings.report import AthleteCard, Curve, CurveLine, Missing, MotionTrack, ThrowingHand
from elbowroom.core.findings.types import DecisionRule, Finding, Priority, PublishedBand, Tolerance
from elbowroom.core.geometry.splines import evaluate_curves
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import OTHER_SIDE, Joint
from elbowroom.core.measures.registry import MEASURES
from elbowroom.core.measures.series import SERIES, SeriesRule, measure_series
from elbowroom.core.quantities.types import Absent, Obtained
from elbowroom.core.reconstruction.draws import locate_joints

CURVE_STEP_S = 0.005
"""Step of the curves on paper."""
MOTION_STEP_S = 1.0 / 240.0
"""Step of the joint centres that are handed out."""
MOTION_DRAWS = 41
"""Draws, the best one among them, that their uncertainty is taken from."""
BEFORE_CONTACT_S = 0.25
"""Curves begin this long before foot contact."""
AFTER_RELEASE_S = 0.10
"""Curves end this long after release."""


@dataclass(frozen=True, kw_only=True)
class JudgeTables:
    """The tables and the rule that measures are judged by."""

    tolerances: tuple[Tolerance, ...]
    """Rows of the tolerance table."""
    bands: tuple[PublishedBand, ...]
    """Published bands to show beside."""
    rule: DecisionRule
    """When a probability becomes a verdict."""


def judge_visit(visit: MeasuredVisit, athlete: AthleteCard, tables: JudgeTables) -> tuple[Finding, ...]:
    """Return the finding of every measure over all throws of the visit, in the order of the registry."""
    return judge_throws(visit.throws, athlete, tables)


def judge_throws(throws: Sequence[ThrowNumbers], athlete: AthleteCard, tables: JudgeTables) -> tuple[Finding, ...]:
    """Return the finding of every measure over throws, in the order of the registry."""
    findings = []
    for definition in MEASURES:
        values: list[Obtained] = [throw.measures.values[definition.key] for throw in throws]
        tolerance = choose_tolerance(
            tables.tolerances, definition.key, athlete.age_years, athlete.height_m, athlete.kind
        )
        findings.append(judge_measure(definition, values, tolerance, tables.rule))
    return tuple(findings)


def order_visit(findings: Sequence[Finding]) -> tuple[Priority, ...]:
    """Return what to work on, most important first."""
    return order_findings(findings)


def choose_shown_bands(bands: Sequence[PublishedBand], age_years: float) -> tuple[PublishedBand, ...]:
    """Return the published bands of all measures for an age."""
    return tuple(band for definition in MEASURES for band in choose_bands(bands, definition.key, age_years))


def draw_visit_curves(visit: MeasuredVisit) -> tuple[Curve, ...]:
    """Return the curves over time of every throw whose contact and release were found, time 0 at release."""
    return tuple(build_curve(rule, visit.throws) for rule in SERIES)


def build_curve(rule: SeriesRule, throws: Sequence[MeasuredThrow]) -> Curve:
    """Return one measure over time, a line a throw, seconds on the visit clock."""
    lines = [line for throw in throws for line in draw_line(rule, throw)]
    return join_lines(rule, lines)


def join_lines(rule: SeriesRule, lines: Sequence[CurveLine]) -> Curve:
    """Return the lines of one measure, one a throw, as a curve."""
    return Curve(key=rule.key, words=rule.words, unit=rule.unit, sign=rule.sign, lines=tuple(lines))


def draw_line(rule: SeriesRule, throw: MeasuredThrow) -> tuple[CurveLine, ...]:
    """Return one measure of one throw over time; nothing where contact or release was not found."""
    contact, release = (throw.times_s.get(name) for name in (InstantName.FOOT_CONTACT, InstantName.RELEASE))
    if contact is None or release is None:
        return ()
    start = max(float(contact[0]) - BEFORE_CONTACT_S, float(throw.spread.knots_s[0]))
    end = min(float(release[0]) + AFTER_RELEASE_S, float(throw.spread.knots_s[-1]))
    times = np.arange(start, end, CURVE_STEP_S)
    values, half_widths = measure_series(rule, throw.spread, times)
    return (CurveLine(throw=throw.number, times_s=times, values=values, half_widths=half_widths),)


def draw_visit_motions(visit: MeasuredVisit, hand: ThrowingHand) -> tuple[MotionTrack, ...]:
    """Return the joint centres of every throw over time with their standard uncertainty, the athlete's own sides."""
    return tuple(build_motion_track(throw, order_joints(hand)) for throw in visit.throws)


def order_joints(hand: ThrowingHand) -> list[Joint]:
    """Return which joint of the draws each joint of the motion is: a left-hander's draws are mirrored."""
    return [joint if hand is ThrowingHand.RIGHT else OTHER_SIDE[joint] for joint in Joint]


def build_motion_track(throw: MeasuredThrow, order: list[Joint]) -> MotionTrack:
    """Return the joint centres of one throw; their spread is taken from the draws of all sources at once.

    `order` says which joint of the draws each joint of the motion is.
    """
    motion, spread = throw.motion, throw.spread
    times = np.arange(motion.start_s, motion.end_s, MOTION_STEP_S)
    drawn = evaluate_curves(spread.knots_s, spread.coefficients_m[:MOTION_DRAWS], times)
    standards = np.sqrt(np.mean((drawn[1:] - drawn[:1]) ** 2, axis=(0, 3)))
    return MotionTrack(
        throw=throw.number,
        times_s=times,
        joints_m=locate_joints(motion, times),
        standards_m=standards[:, order],
    )


def list_missing(visit: MeasuredVisit) -> tuple[Missing, ...]:
    """Return what could not be measured of the visit besides single measures."""
    clocks = [
        Missing(what=f"clock of clip {number}", absent=clock)
        for number, clock in enumerate(visit.clocks, start=2)
        if isinstance(clock, Absent)
    ]
    clashes = [
        Missing(what=f"clock of clip {number}", absent=Absent(reason=clock.disagreement))
        for number, clock in enumerate(visit.clocks, start=2)
        if not isinstance(clock, Absent) and clock.disagreement
    ]
    return (*(describe_failure(failed) for failed in visit.failed), *clocks, *clashes)


def describe_failure(failed: FailedThrow) -> Missing:
    """Return a failed throw as something missing."""
    return Missing(what=f"throw {failed.number}", absent=failed.absent)
