"""The reconstructed motion: smooth curves of the joint centres with the information needed for their covariance."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras.types import Camera
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.landmarks.types import JointTrack

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

Projection = Callable[[Camera, Array], tuple[Array, Array, Array]]
"""Camera and points (n, 3) -> pixels (n, 2), their derivative by the point (n, 2, 3) and by the camera (n, 2, 13)."""


@dataclass(frozen=True, kw_only=True)
class HandMarks:
    """Joint centres that a person placed in pictures of one view; k may be 0."""

    times_s: Array
    """(k,) capture times of the pictures on the clip's own clock, seconds."""
    joints: NDArray[np.int64]
    """(k,) joint of each mark."""
    pixels: Array
    """(k, 2) places in pixels of the upright picture."""
    standard_px: Array
    """(k,) standard uncertainty of each coordinate, pixels."""


def build_no_marks() -> HandMarks:
    """Return the marks of a view in which nobody placed anything."""
    return HandMarks(
        times_s=np.zeros(0), joints=np.zeros(0, dtype=np.int64), pixels=np.zeros((0, 2)), standard_px=np.zeros(0)
    )


@dataclass(frozen=True, kw_only=True)
class ViewedThrow:
    """One throw as one camera saw it: what the reconstruction takes in for each view."""

    track: JointTrack
    """The joint centres in the pictures, with covariance."""
    camera: Camera
    """The camera, with the covariance of its parameters."""
    flat: Array
    """(n, 19, 2) the track's pixels as undistorted directions x/z and y/z in the camera frame."""
    offset_s: float
    """Visit clock minus this clip's clock, seconds."""
    offset_standard_s: float
    """Standard uncertainty of `offset_s`; 0 for the clip that defines the visit clock."""
    marks: HandMarks = field(default_factory=build_no_marks)
    """What a person placed, beside what the detector found."""


@dataclass(frozen=True, kw_only=True)
class BonePrior:
    """What is known of a bone before the clips are looked at: usual share of the athlete's height."""

    ends: tuple[Joint, Joint]
    """The two joints that the bone ties."""
    length_m: float
    """Expected length for the athlete's height, metres."""
    standard_m: float
    """Spread between people of the same height, metres."""


@dataclass(frozen=True, kw_only=True)
class BoneShare:
    """Usual length of a bone as a share of the standing height, a row of the table."""

    parts: tuple[str, str]
    """The two ends without their side: `SHOULDER`, `ELBOW`."""
    share: float
    """Length over height."""
    spread: float
    """Standard deviation of the share between people."""
    source: str
    """Where the numbers come from."""


@dataclass(frozen=True, kw_only=True)
class BodyPriors:
    """What is known of the athlete and the place besides the landmarks."""

    bones: tuple[BonePrior, ...]
    """Expected bone lengths."""
    ground_height_m: float
    """Height of the ground in the field frame."""


@dataclass(frozen=True, kw_only=True)
class CurveGrid:
    """Where the curves may bend: knots of the splines, dense where the throw is fast."""

    knots_s: Array
    """(m + 4,) clamped knot vector, seconds on the visit clock."""
    sites_s: Array
    """(m,) one time a control point (Greville sites), where constraints are held."""
    dense_s: tuple[float, float]
    """First and last time of the fast part."""


@dataclass(frozen=True, kw_only=True)
class BoneLength:
    """The length of one bone, constant through the throw."""

    ends: tuple[Joint, Joint]
    """The two joints that the bone ties."""
    length_m: float
    """Estimated length, metres."""
    standard_m: float
    """Standard uncertainty of the length, metres."""


@dataclass(frozen=True, kw_only=True)
class Motion:
    """Cubic-spline curves of all joints in the field frame (x to the target, z up), with a factor of their covariance.

    Curve: position(t) = sum_i B_i(t) coefficients[i], B_i the cubic B-splines on `knots_s`.
    """

    knots_s: Array
    """(m + 4,) clamped knot vector of the cubic B-splines, seconds on the visit clock."""
    coefficients_m: Array
    """(m, 19, 3) control points of each joint, metres."""
    factor: Array
    """(band + 1, m * 57) lower banded Cholesky factor of the information matrix of the control points (LAPACK lower
    band storage, unknowns ordered control point, joint, axis); holds landmark noise only."""
    shared_modes_m: Array
    """(q, m, 19, 3) change of the control points for one standard deviation of each shared error (camera parameters,
    clock offsets), independent of one another."""
    shared_names: tuple[str, ...]
    """(q,) names of the shared errors, `cameras` or `clocks` first word."""
    bones: tuple[BoneLength, ...]
    """Lengths of the bones."""
    seen: Mask
    """(n, 19) whether each joint was seen by at least one view at each of `seen_times_s`."""
    seen_times_s: Array
    """(n,) times of `seen`."""
    views: int
    """Number of views that the motion was built from."""
    residual_px: float
    """Robust root mean square residual of the landmarks, in pixels."""
    base: Array = field(default_factory=lambda: np.zeros(0))
    """(k,) unknowns at which `factor` and modes were worked out: control points, bones, clocks, cameras."""
    unknowns: Array = field(default_factory=lambda: np.zeros(0))
    """(k,) unknowns at the optimum; a search with little changed may start from them."""

    @property
    def start_s(self) -> float:
        """First time of the curves."""
        return float(self.knots_s[0])

    @property
    def end_s(self) -> float:
        """Last time of the curves."""
        return float(self.knots_s[-1])


@dataclass(frozen=True, kw_only=True)
class Curves:
    """Joint curves of s draws of one throw: the first draw is the best estimate, the others are perturbed.

    A draw's position at time t is the cubic B-spline on `knots_s` with that draw's control points; the field frame
    is already mirrored for a left-hander, so RIGHT joints are the throwing side.
    """

    knots_s: Array
    """(m + 4,) clamped knot vector shared by all draws, seconds on the visit clock."""
    coefficients_m: Array
    """(s, m, 19, 3) control points, metres."""
