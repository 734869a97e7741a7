"""Whether cameras as they stand can measure a throw, and what to move where they cannot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations
from math import acos, cos, degrees, pi, sin

import numpy as np

from elbowroom.core.cameras.flaws import predict_spread_m
from elbowroom.core.cameras.project import project_points
from elbowroom.core.cameras.triangulate import triangulate_points
from elbowroom.core.cameras.types import Array, Camera

NARROWEST_DEG = 25.0
"""Smallest useful angle between two lines of sight at the thrower; chosen by this project."""

WIDEST_DEG = 155.0
"""Largest useful angle, since opposite views see the same two directions; chosen by this project."""

SMALLEST_THROWER_PX = 250.0
"""Smallest height of the thrower: the landmark model works on 256 pixels; chosen by this project."""

LOOSEST_POSE_M = 0.05
"""Standard uncertainty at the thrower, from a camera's pose alone, that calls for advice; chosen by this
project."""

LOWEST_CAMERA_M = 0.1
"""Lowest believable height of a lens over the ground; chosen by this project."""

LARGEST_GAP_M = 0.05
"""Largest believable distance between where two cameras see a shared point; chosen by this project."""


class FlawKind(StrEnum):
    """What is wrong with a set-up."""

    NEARLY_EQUAL_VIEWS = "nearly equal views"
    THROWER_TOO_SMALL = "thrower too small"
    THROWER_CUT_OFF = "thrower out of the picture"
    POSE_TOO_LOOSE = "board or marks too far"
    CAMERAS_DISAGREE = "cameras disagree"
    CAMERA_UNDER_GROUND = "camera under the ground"


@dataclass(frozen=True, kw_only=True)
class SetUpFlaw:
    """One thing that is wrong with the cameras as they stand."""

    kind: FlawKind
    """What is wrong."""
    reason: str
    """One sentence that says what is wrong, with the figure."""
    advice: str
    """One sentence that says what to move."""
    is_fatal: bool
    """Whether nothing can be measured until it is mended."""


@dataclass(frozen=True, kw_only=True)
class SharedPoints:
    """Points that several cameras saw: the corners of the resting board, marks, or the planted feet."""

    pixels: Array
    """(v, n, 2) pixels by camera, NaN where a camera did not see the point."""
    field_m: Array
    """(n, 3) places where they are known, NaN where not, metres in the field frame."""


def check_set_up(
    cameras: Sequence[Camera],
    thrower_m: Array,
    height_m: float,
    shared: SharedPoints | None = None,
    ground_m: float = 0.0,
) -> tuple[SetUpFlaw, ...]:
    """Return all flaws of the set-up, the fatal ones first; none means that the cameras can work.

    `thrower_m` (3,) is where the thrower stands on the ground in the field frame, `height_m` the thrower's
    height, `ground_m` the height of the ground in the field frame.
    """
    flaws = [flaw for camera in cameras for flaw in check_camera(camera, thrower_m, height_m, ground_m)]
    flaws += check_angles(cameras, thrower_m)
    if shared is not None and len(cameras) > 1:
        flaws += check_shared(cameras, shared)
    return tuple(sorted(flaws, key=lambda flaw: not flaw.is_fatal))


def check_camera(camera: Camera, thrower_m: Array, height_m: float, ground_m: float) -> list[SetUpFlaw]:
    """Return the flaws of one camera: under the ground, thrower cut off or too small, pose too loose."""
    if camera.place[2] < ground_m + LOWEST_CAMERA_M:
        return [describe_under_ground(camera, ground_m)]
    ends = thrower_m + np.array([[0.0, 0.0, 0.0], [0.0, 0.0, height_m]])
    pixels = project_points(camera, ends)
    limits = np.array([camera.lens.width_px, camera.lens.height_px]) - 0.5
    if not ((pixels > -0.5) & (pixels < limits)).all():
        return [describe_cut_off(camera)]
    height_px = float(np.linalg.norm(pixels[1] - pixels[0]))
    spread = float(predict_spread_m(camera, ends).max())
    flaws = [describe_too_small(camera, height_px)] if height_px < SMALLEST_THROWER_PX else []
    return flaws + ([describe_too_loose(camera, spread)] if spread > LOOSEST_POSE_M else [])


def describe_under_ground(camera: Camera, ground_m: float) -> SetUpFlaw:
    """Return the flaw of a camera found at or below the ground."""
    height = camera.place[2] - ground_m
    return SetUpFlaw(
        kind=FlawKind.CAMERA_UNDER_GROUND,
        reason=f"Camera {camera.name} comes out {100 * height:.0f} cm above the ground, which cannot be.",
        advice="Check that left and right of the marks are those of someone who faces the target.",
        is_fatal=True,
    )


def describe_cut_off(camera: Camera) -> SetUpFlaw:
    """Return the flaw of a camera that does not show the whole thrower."""
    return SetUpFlaw(
        kind=FlawKind.THROWER_CUT_OFF,
        reason=f"Camera {camera.name} does not show the whole thrower at the start of the throw.",
        advice=f"Aim camera {camera.name} at the thrower's belt, or step back until head and feet are in.",
        is_fatal=True,
    )


def describe_too_small(camera: Camera, height_px: float) -> SetUpFlaw:
    """Return the flaw of a thrower who is too small in the picture."""
    share = 100 * height_px / SMALLEST_THROWER_PX
    return SetUpFlaw(
        kind=FlawKind.THROWER_TOO_SMALL,
        reason=f"The thrower is {height_px:.0f} px tall in camera {camera.name}; "
        f"{SMALLEST_THROWER_PX:.0f} px are needed.",
        advice=f"Move camera {camera.name} to {share:.0f} % of its distance, or film at a higher resolution.",
        is_fatal=True,
    )


def describe_too_loose(camera: Camera, spread_m: float) -> SetUpFlaw:
    """Return the flaw of a pose that is not known well enough at the thrower."""
    return SetUpFlaw(
        kind=FlawKind.POSE_TOO_LOOSE,
        reason=f"Camera {camera.name} is known only to {100 * spread_m:.1f} cm at the thrower.",
        advice="Lay the board where the thrower stands and let it fill more of the picture, "
        "or mark points farther apart.",
        is_fatal=False,
    )


def check_angles(cameras: Sequence[Camera], thrower_m: Array) -> list[SetUpFlaw]:
    """Return a flaw for each pair of nearly equal or opposite views; fatal where no other pair makes up for
    it."""
    middle = np.asarray(thrower_m, float) + np.array([0.0, 0.0, 1.0])
    pairs = [
        (first, second, measure_angle_deg(first.place - middle, second.place - middle))
        for first, second in combinations(cameras, 2)
    ]
    is_fatal = not any(NARROWEST_DEG <= angle <= WIDEST_DEG for _, _, angle in pairs)
    return [
        describe_equal_views(first, second, angle, middle, is_fatal)
        for first, second, angle in pairs
        if not NARROWEST_DEG <= angle <= WIDEST_DEG
    ]


def measure_angle_deg(first: Array, second: Array) -> float:
    """Return the angle between two directions (3,), degrees."""
    cosine = first @ second / (np.linalg.norm(first) * np.linalg.norm(second))
    return degrees(acos(float(np.clip(cosine, -1.0, 1.0))))


def describe_equal_views(first: Camera, second: Camera, angle_deg: float, middle: Array, is_fatal: bool) -> SetUpFlaw:
    """Return the flaw of a pair that sees the thrower from almost one or from opposite directions."""
    place = find_crossing_place(first.place - middle, second.place - middle)
    along = f"{abs(place[0]):.1f} m {'ahead of' if place[0] >= 0 else 'behind'} the thrower"
    across = f"{abs(place[1]):.1f} m to the {'left' if place[1] >= 0 else 'right'} of the line to the target"
    return SetUpFlaw(
        kind=FlawKind.NEARLY_EQUAL_VIEWS,
        reason=f"Cameras {first.name} and {second.name} look at the thrower {angle_deg:.0f} degrees apart; "
        f"{NARROWEST_DEG:.0f} to {WIDEST_DEG:.0f} are needed.",
        advice=f"Move camera {second.name} to about {along} and {across}, looking across camera {first.name}.",
        is_fatal=is_fatal,
    )


def find_crossing_place(first: Array, second: Array) -> Array:
    """Return the place (2,) nearest to `second`, at its distance, that is a quarter turn round from `first`.

    All seen from the thrower, metres; only the ground plan counts.
    """
    azimuth = np.arctan2(first[1], first[0])
    radius = float(np.hypot(second[0], second[1]))
    places = [radius * np.array([cos(azimuth + quarter), sin(azimuth + quarter)]) for quarter in (pi / 2, -pi / 2)]
    return min(places, key=lambda place: float(np.linalg.norm(place - second[:2])))


def check_shared(cameras: Sequence[Camera], shared: SharedPoints) -> list[SetUpFlaw]:
    """Return the flaw of cameras that see shared points in different places.

    The gap of a point is how far each camera's line of sight passes it by, or how far the point lies from
    its known place; the flaw speaks when the median gap is beyond three standard uncertainties of the poses
    and 5 cm.
    """
    weights = np.isfinite(shared.pixels).all(axis=2).astype(float)
    points = triangulate_points(cameras, shared.pixels, weights)
    gaps = [measure_gaps(camera, points, seen) for camera, seen in zip(cameras, shared.pixels, strict=True)]
    gaps.append(np.linalg.norm(points - shared.field_m, axis=1))
    known = [gap[np.isfinite(gap)] for gap in gaps]
    gap_m = max((float(np.median(gap)) for gap in known if len(gap)), default=0.0)
    seen_points = points[np.isfinite(points).all(axis=1)]
    spread = max((float(np.median(predict_spread_m(camera, seen_points))) for camera in cameras), default=0.0)
    return [describe_disagreement(gap_m)] if gap_m > max(LARGEST_GAP_M, 3 * spread) else []


def measure_gaps(camera: Camera, points: Array, pixels: Array) -> Array:
    """Return how far (n,), metres, the camera's lines of sight through `pixels` pass by `points`; NaN where
    unseen."""
    distance_px = np.linalg.norm(project_points(camera, points) - pixels, axis=1)
    depth = points @ camera.rotation[2] + camera.translation[2]
    gaps: Array = distance_px * depth / camera.lens.focal_px
    return gaps


def describe_disagreement(gap_m: float) -> SetUpFlaw:
    """Return the flaw of cameras that place shared points apart."""
    return SetUpFlaw(
        kind=FlawKind.CAMERAS_DISAGREE,
        reason=f"The cameras place what they both see {100 * gap_m:.0f} cm apart.",
        advice="Film the board again without moving it or the tripods between the cameras' clips.",
        is_fatal=True,
    )
