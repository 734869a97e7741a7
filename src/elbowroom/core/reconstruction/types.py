"""The reconstructed motion: smooth curves of the joint centres with the information needed for their covariance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.names import Joint

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


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
