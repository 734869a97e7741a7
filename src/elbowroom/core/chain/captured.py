"""From joint centres that another laboratory recorded to a measured visit: the same instants, measures and budgets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import make_lsq_spline, make_splrep
from scipy.linalg import cholesky_banded

from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.core.chain.measuring import combine_draws, draw_sources, measure_motion
from elbowroom.core.chain.types import ChainSetting, FailedThrow, MeasuredThrow, MeasuredVisit
from elbowroom.core.clips.timing import judge_timing
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.geometry.splines import DEGREE, build_basis, build_knots
from elbowroom.core.landmarks.names import BONES, JOINTS, Joint
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.types import Array, BoneLength, Motion

KNOT_STEP_S = 0.0125
"""Step between knots; such splines pass movement up to about 25 Hz, about what hands at release need."""
BEFORE_S, AFTER_S = 2.6, 1.2
"""What is kept of a recording before and after the throwing hand is fastest."""
LONGEST_GAP_S = 0.05
"""Gaps up to this long are bridged by the smooth curve; chosen by this project."""
GAP = Absent(
    reason="A joint is missing from the recording for longer than 0.05 s during the throw.",
    advice="Fill the gap in the laboratory's own program, where its markers can be looked at.",
)
SHORT = Absent(
    reason="The recording is too short to hold a throw.", advice="Record from before the leg is lifted to the finish."
)


@dataclass(frozen=True, kw_only=True)
class RecordedThrow:
    """Joint centres of one throw in a field frame: x to the target, z up, origin anywhere."""

    times_s: Array
    """(n,) even times, seconds."""
    joints_m: Array
    """(n, 19, 3) joint centres, metres, the athlete's own sides; NaN where a joint was not seen."""


@dataclass(frozen=True, kw_only=True)
class RecordingErrors:
    """How well the recording is known."""

    marker_standard_m: float
    """Standard uncertainty of one joint's place from picture to picture, metres."""
    joint_standard_m: float
    """Standard uncertainty of its standing distance from the joint centre, metres, each axis."""
    target_standard_rad: float
    """Standard uncertainty of the direction to the target, radians."""


def measure_recorded(
    throws: tuple[RecordedThrow, ...],
    errors: RecordingErrors,
    setting: ChainSetting,
    generator: np.random.Generator,
) -> MeasuredVisit:
    """Return all throws measured, each with a budget from markers, joint centres and direction to the target.

    Scale and vertical of a laboratory are taken as known. A standing offset is drawn constant in the field frame,
    though in truth it turns with its segment, so angles get about the right spread, not its exact share.
    """
    measured: list[MeasuredThrow] = []
    failed: list[FailedThrow] = []
    for number, recorded in enumerate(throws, start=1):
        throw = measure_one(number, recorded, errors, setting, generator)
        if isinstance(throw, Absent):
            failed.append(FailedThrow(number=number, absent=throw))
        else:
            measured.append(throw)
    return MeasuredVisit(throws=tuple(measured), failed=tuple(failed), clocks=())


def measure_one(
    number: int,
    recorded: RecordedThrow,
    errors: RecordingErrors,
    setting: ChainSetting,
    generator: np.random.Generator,
) -> MeasuredThrow | Absent:
    """Return one recorded throw measured, or why it cannot be."""
    cut = crop_throw(recorded, setting.athlete.hand)
    if isinstance(cut, Absent):
        return cut
    motion = build_motion(cut, errors)
    rate_hz = 1.0 / float(np.diff(cut.times_s).mean())
    set_up = build_lab_set_up(errors)
    drawn = draw_sources(motion, set_up, setting, generator)
    timing = judge_timing(cut.times_s, np.zeros(len(cut.times_s), dtype=bool), is_checked=True)
    instants, times, measures, loads = measure_motion(drawn, set_up, setting, (timing, rate_hz), generator)
    return MeasuredThrow(
        number=number,
        tracked=(),
        motion=motion,
        spread=combine_draws(drawn),
        instants=instants,
        times_s=dict(times),
        measures=measures,
        loads=loads,
    )


def build_lab_set_up(errors: RecordingErrors) -> FieldSetUp:
    """Return the set-up of a laboratory: no cameras of ours, scale and vertical known, direction as stated."""
    return FieldSetUp(
        cameras=(), scale_standard=0.0, target_standard_rad=errors.target_standard_rad, upright_standard_rad=0.0
    )


def crop_throw(recorded: RecordedThrow, hand: ThrowingHand) -> RecordedThrow | Absent:
    """Return the part about the throwing hand's fastest moment, gaps bridged, or why it cannot be used."""
    times = recorded.times_s
    if len(times) < 30 or times[-1] - times[0] < 0.6:
        return SHORT
    joint = Joint.RIGHT_HAND if hand is ThrowingHand.RIGHT else Joint.LEFT_HAND
    path = recorded.joints_m[:, joint]
    seen = np.flatnonzero(np.all(np.isfinite(path), axis=1))
    if len(seen) < 30:
        return GAP
    fastest = find_fastest_s(times[seen], path[seen])
    keep = (times >= fastest - BEFORE_S) & (times <= fastest + AFTER_S)
    joints = repair_gaps(times[keep], recorded.joints_m[keep])
    return joints if isinstance(joints, Absent) else RecordedThrow(times_s=times[keep], joints_m=joints)


def find_fastest_s(times_s: Array, path_m: Array) -> float:
    """Return when a smoothed path (n, 3) is fastest, seconds."""
    grid = np.arange(times_s[0] + 0.05, times_s[-1] - 0.05, 0.002)
    speeds = [make_splrep(times_s, path_m[:, axis], s=0.0)(grid, nu=1) for axis in range(3)]
    return float(grid[np.argmax(np.sum(np.square(speeds), axis=0))])


def repair_gaps(times_s: Array, joints_m: Array) -> Array | Absent:
    """Return joints (n, 19, 3) without NaN: short gaps filled along a cubic through what was seen."""
    filled = joints_m.copy()
    for joint in range(JOINTS):
        hidden = ~np.all(np.isfinite(joints_m[:, joint]), axis=1)
        if not hidden.any():
            continue
        seen = np.flatnonzero(~hidden)
        gaps = np.diff(times_s[seen])
        # A curve through what was seen says nothing beyond its ends.
        if len(seen) < 4 or hidden[0] or hidden[-1] or gaps.max() > LONGEST_GAP_S + np.median(np.diff(times_s)):
            return GAP
        for axis in range(3):
            curve = make_splrep(times_s[seen], joints_m[seen, joint, axis], s=0.0)
            filled[hidden, joint, axis] = curve(times_s[hidden])
    return filled


def build_motion(throw: RecordedThrow, errors: RecordingErrors) -> Motion:
    """Return smooth curves through recorded joints, with the covariance that the errors of the recording give them."""
    times, count = throw.times_s, len(throw.times_s)
    step = max(KNOT_STEP_S, 1.5 * float(np.diff(times).mean()))
    breaks = np.linspace(times[0], times[-1], max(4, round((times[-1] - times[0]) / step) + 1))
    knots = build_knots(breaks)
    spline = make_lsq_spline(times, throw.joints_m.reshape(count, -1), knots, DEGREE)
    coefficients = spline.c.reshape(-1, JOINTS, 3)
    return Motion(
        knots_s=knots,
        coefficients_m=coefficients,
        factor=build_factor(knots, times, errors.marker_standard_m),
        shared_modes_m=build_offsets(len(coefficients), errors.joint_standard_m),
        shared_names=tuple(f"offset {joint.name} {axis}" for joint in Joint for axis in "xyz"),
        bones=tuple(measure_bone(throw, ends) for ends in BONES),
        seen=np.ones((count, JOINTS), dtype=bool),
        seen_times_s=times,
        views=2,
        residual_px=0.0,
    )


def build_factor(knots_s: Array, times_s: Array, standard_m: float) -> Array:
    """Return the banded factor of the control points' information, the same for every joint and axis.

    The information of one coordinate is B'B / standard^2; with the unknowns in the order control point, joint, axis
    its factor's diagonals lie 57 rows apart.
    """
    first, values = build_basis(knots_s, times_s)
    size, wide = len(knots_s) - DEGREE - 1, 3 * JOINTS
    banded = np.zeros((DEGREE + 1, size))
    for column in range(DEGREE + 1):
        for below in range(DEGREE + 1 - column):
            np.add.at(banded[below], first + column, values[:, column] * values[:, column + below])
    small = cholesky_banded(banded / standard_m**2, lower=True)
    factor = np.zeros((wide * DEGREE + 1, wide * size))
    for below in range(DEGREE + 1):
        factor[wide * below] = np.repeat(small[below], wide)
    return factor


def build_offsets(size: int, standard_m: float) -> Array:
    """Return modes (57, size, 19, 3): every joint shifted along every axis by one standard deviation."""
    modes = np.zeros((3 * JOINTS, size, JOINTS, 3))
    for joint in range(JOINTS):
        for axis in range(3):
            modes[3 * joint + axis, :, joint, axis] = standard_m
    return modes


def measure_bone(throw: RecordedThrow, ends: tuple[Joint, Joint]) -> BoneLength:
    """Return the length of a bone over the throw, with its scatter."""
    lengths = np.linalg.norm(throw.joints_m[:, ends[0]] - throw.joints_m[:, ends[1]], axis=1)
    return BoneLength(ends=ends, length_m=float(np.median(lengths)), standard_m=float(np.std(lengths)))
