"""Joints of the reconstruction and of picture-by-picture triangulation of the same tracks, both against the truth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from benchmarks.truth import build_true_curves, convert_to_world
from benchmarks.visits import BenchVisit
from elbowroom.core.cameras.triangulate import triangulate_points
from elbowroom.core.chain.types import MeasuredThrow, TrackedThrow
from elbowroom.core.clocks.types import CheckedOffset
from elbowroom.core.geometry.splines import evaluate_curves
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.reconstruction.draws import locate_joints, mirror_curves

Array = NDArray[np.float64]

PLATE_FRONT_M = np.array([-0.055, 0.0, 0.0])
"""Where the product's origin, the middle of the front edge of the plate, lies in the truth's frame."""
LONGEST_GAP_S = 0.009
"""A track of the second view is interpolated between pictures not further apart than this: dense pictures only."""


@dataclass(frozen=True, kw_only=True)
class JointErrors:
    """Distances from the truth of one joint in one throw, at the same pictures for both methods."""

    throw: int
    """Number of the motion."""
    joint: str
    """Name of the joint, its own side."""
    count: int
    """Number of pictures."""
    reconstructed_m: float
    """Root mean square distance of the reconstruction."""
    triangulated_m: float
    """Root mean square distance of the triangulation."""
    reconstructed_median_m: float
    """Median distance of the reconstruction."""
    triangulated_median_m: float
    """Median distance of the triangulation."""


def compare_joints(bench: BenchVisit, number: int, throw: MeasuredThrow) -> list[JointErrors]:
    """Compare both methods on every joint of a throw that two clips show."""
    if len(throw.tracked) < 2:
        return []
    first, second = throw.tracked[:2]
    offset_s = find_offset_s(bench, second) - find_offset_s(bench, first)
    rows = []
    for joint in Joint:
        times, points = triangulate_joint(bench, (first, second), joint, offset_s)
        if len(times):
            visit_s = times + find_offset_s(bench, first)
            rows.append(measure_joint(bench, (number, throw), joint, visit_s, points))
    return rows


def find_offset_s(bench: BenchVisit, tracked: TrackedThrow) -> float:
    """Find what the product adds to a clip's times to get the visit clock, at a throw."""
    if tracked.clip == 0:
        return 0.0
    clock = bench.visit.clocks[tracked.clip - 1]
    assert isinstance(clock, CheckedOffset)
    middle = np.array([tracked.seen.window.release_guess_s])
    return float(clock.offset.convert_times(middle)[0] - middle[0])


def triangulate_joint(
    bench: BenchVisit, pair: tuple[TrackedThrow, TrackedThrow], joint: Joint, offset_s: float
) -> tuple[Array, Array]:
    """Triangulate a joint in the dense pictures of the first clip: times (n,) on its clock and points (n, 3)."""
    cameras = [bench.clips[tracked.clip].camera for tracked in pair]
    sights = [list_sights(tracked, joint, camera.row_time_s) for tracked, camera in zip(pair, cameras, strict=True)]
    times, pixels, weights = sights[0]
    other_s, other_px, other_weights = sights[1]
    if len(other_s) < 2:
        return np.zeros(0), np.zeros((0, 3))
    wanted = times - offset_s
    after = np.clip(np.searchsorted(other_s, wanted), 1, len(other_s) - 1)
    gap = other_s[after] - other_s[after - 1]
    share = (wanted - other_s[after - 1]) / gap
    usable = (gap < LONGEST_GAP_S) & (share >= 0.0) & (share <= 1.0)
    between = other_px[after - 1] + share[:, None] * (other_px[after] - other_px[after - 1])
    stacked = np.stack([pixels, between])[:, usable]
    points = triangulate_points(cameras, stacked, np.stack([weights, other_weights[after]])[:, usable])
    found = np.isfinite(points).all(axis=1)
    return times[usable][found], points[found]


def list_sights(tracked: TrackedThrow, joint: Joint, row_time_s: float) -> tuple[Array, Array, Array]:
    """List where a track shows a joint: times (n,) of its rows, pixels (n, 2), weights (n,)."""
    track = tracked.track
    seen = track.seen[:, joint] & np.isfinite(track.pixels[:, joint]).all(axis=1)
    pixels = track.pixels[seen, joint]
    covariance = (track.noise_px2 + track.offset_px2)[seen, joint]
    return track.times_s[seen] + row_time_s * pixels[:, 1], pixels, 2.0 / np.trace(covariance, axis1=1, axis2=2)


def measure_joint(
    bench: BenchVisit, numbered: tuple[int, MeasuredThrow], joint: Joint, visit_s: Array, points: Array
) -> JointErrors:
    """Measure both methods' distances from the truth at the times (n,) of the visit clock."""
    number, throw = numbered
    truth = build_true_curves(bench.truth, number)
    if bench.truth.is_left:
        truth = mirror_curves(truth)
    world = convert_to_world(bench.truth.phones[0], visit_s)
    true = evaluate_curves(truth.knots_s, truth.coefficients_m, world)[0, :, joint]
    shift = np.zeros(3) if bench.set_up.how == "rendered truth" else PLATE_FRONT_M
    built = locate_joints(throw.motion, visit_s)[:, joint] + shift
    distances = [np.linalg.norm(place - true, axis=1) for place in (built, points + shift)]
    return JointErrors(
        throw=number,
        joint=joint.name.lower(),
        count=len(visit_s),
        reconstructed_m=float(np.sqrt(np.mean(distances[0] ** 2))),
        triangulated_m=float(np.sqrt(np.mean(distances[1] ** 2))),
        reconstructed_median_m=float(np.median(distances[0])),
        triangulated_median_m=float(np.median(distances[1])),
    )


def measure_camera_errors(bench: BenchVisit) -> list[float]:
    """Measure how far each camera was found from where it truly stands, metres."""
    shift = np.zeros(3) if bench.set_up.how == "rendered truth" else PLATE_FRONT_M
    places = [camera.place + shift for camera in bench.set_up.cameras]
    return [
        float(np.linalg.norm(place - np.array(phone["centre_m"])))
        for place, phone in zip(places, bench.truth.phones, strict=True)
    ]
