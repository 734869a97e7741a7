"""Measures over time: the same pose functions on every time of a grid, for all draws."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.geometry.splines import evaluate_curves
from elbowroom.core.measures.arm import (
    measure_ball_share,
    measure_elbow_flexion,
    measure_elbow_line,
    measure_external_rotation,
)
from elbowroom.core.measures.trunk import measure_pelvis_opening, measure_side_tilt, measure_trunk_opening
from elbowroom.core.quantities.types import NORMAL_95
from elbowroom.core.reconstruction.types import Curves

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class SeriesRule:
    """One measure that is shown over time."""

    key: str
    """Name in files."""
    words: str
    """Name on paper."""
    unit: str
    """Unit of the values."""
    sign: str
    """What plus and minus mean."""
    compute: Callable[[Array], Array]
    """Joint centres (..., 19, 3) -> values (...)."""


SERIES = (
    SeriesRule(
        key="elbow_to_shoulder_line",
        words="elbow to shoulder line",
        unit="deg",
        sign="0 on the line through the shoulders, + above, - below",
        compute=measure_elbow_line,
    ),
    SeriesRule(
        key="elbow_flexion",
        words="elbow flexion",
        unit="deg",
        sign="0 straight, 90 a right angle",
        compute=measure_elbow_flexion,
    ),
    SeriesRule(
        key="external_rotation",
        words="external rotation of the shoulder",
        unit="deg",
        sign="0 forearm to the front, 90 up, 180 back; no value near a straight elbow",
        compute=measure_external_rotation,
    ),
    SeriesRule(
        key="ball_distance_share",
        words="ball distance as a share of the arm",
        unit="1",
        sign="0 on the trunk's long axis, 1 as far as upper arm and forearm are long",
        compute=measure_ball_share,
    ),
    SeriesRule(
        key="pelvis_opening",
        words="pelvis opening",
        unit="deg",
        sign="0 side-on to the target, 90 facing it",
        compute=measure_pelvis_opening,
    ),
    SeriesRule(
        key="trunk_opening",
        words="trunk opening",
        unit="deg",
        sign="0 side-on to the target, 90 facing it",
        compute=measure_trunk_opening,
    ),
    SeriesRule(
        key="side_tilt",
        words="side tilt of the trunk",
        unit="deg",
        sign="+ to the glove side",
        compute=measure_side_tilt,
    ),
)
"""What is shown over time, in the order of the report."""


def measure_series(rule: SeriesRule, curves: Curves, times_s: Array) -> tuple[Array, Array]:
    """Return the best estimate (n,) at the times (n,) and half of the 95 % interval from the draws (n,).

    Not-a-number where the best estimate has no value. Angles in deg are told apart the shorter way around.
    """
    values = rule.compute(evaluate_curves(curves.knots_s, curves.coefficients_m, times_s))
    apart = values[1:] - values[:1]
    if rule.unit == "deg":
        apart = (apart + 180.0) % 360.0 - 180.0
    counts = np.maximum(np.sum(np.isfinite(apart), axis=0), 1)
    spread = np.sqrt(np.nansum(apart**2, axis=0) / counts)
    best = values[0]
    if rule.unit == "deg":
        best = unwrap_angles(best)
    return best, np.where(np.isfinite(best), NORMAL_95 * spread, np.nan)


def unwrap_angles(values_deg: Array) -> Array:
    """Return angles (n,) in deg without jumps of a turn, gaps of not-a-number kept."""
    unwrapped = values_deg.copy()
    known = np.isfinite(values_deg)
    unwrapped[known] = np.unwrap(values_deg[known], period=360.0)
    return unwrapped
