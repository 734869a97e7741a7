"""First-order propagation: the gradient of a measure by the control points, and the covariance that it meets."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.geometry.splines import DEGREE, build_basis
from elbowroom.core.measures.measure import Draws, measure_curves, measure_deviation, select_first
from elbowroom.core.measures.registry import get_rule
from elbowroom.core.measures.rules import MeasureRule
from elbowroom.core.measures.scene import AFTER_RELEASE_S, BEFORE_CONTACT_S
from elbowroom.core.measures.types import MeasureSetting
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.types import Curves

Array = NDArray[np.float64]
Indices = NDArray[np.int64]
Covariance = Callable[[Indices], Array]

STEP_M = 1e-4
"""Step of the central differences: rounding stays under 1e-8 of a degree and curvature under 1e-6."""


def propagate_first_order_standard(
    key: str, best: Draws, setting: MeasureSetting, covariance: Covariance
) -> float | Absent:
    """Return the standard uncertainty of a measure from the covariance of the control points, instants held.

    Args:
        key: key of the measure; raises `KeyError` where there is none.
        best: curves whose draw 0 is the best estimate, and its instants.
        setting: what is known beside the motion.
        covariance: gives the covariance (k * 57, k * 57), m2, of the control points numbered (k,), unknowns ordered
            control point, joint, axis.

    u^2 = g' C g (JCGM 100:2008, 5.2.2) with the gradient by central differences.
    """
    rule = get_rule(key)
    gradient = differentiate(rule, best, setting)
    if isinstance(gradient, Absent):
        return gradient
    points, slopes = gradient
    flat = slopes.reshape(-1)
    return float(np.sqrt(flat @ covariance(points) @ flat))


def differentiate(rule: MeasureRule, best: Draws, setting: MeasureSetting) -> tuple[Indices, Array] | Absent:
    """Return the control points that a measure depends on (k,) and its slopes by them (k, 19, 3), unit per metre."""
    curves, times = select_first(best)
    value = measure_curves(curves, times, setting, (rule,))[rule.definition.key]
    if isinstance(value, Absent):
        return value
    points = find_active_points(rule, (curves, times))
    slopes = np.stack([_differentiate_point(rule, (curves, times), setting, int(point)) for point in points])
    return points, slopes


def find_active_points(rule: MeasureRule, best: Draws) -> Indices:
    """Return the numbers (k,) of the control points that can change a measure."""
    curves, times = best
    needed = [times[name] for name in rule.needs]
    seconds = np.array([value[0] for value in needed if not isinstance(value, Absent)])
    if rule.is_over_phase:
        low, high = seconds.min() - BEFORE_CONTACT_S, seconds.max() + AFTER_RELEASE_S
        first, _ = build_basis(curves.knots_s, np.array([low, high]))
        return np.arange(first[0], first[1] + DEGREE + 1, dtype=np.int64)
    first, _ = build_basis(curves.knots_s, seconds)
    return np.unique(first[:, None] + np.arange(DEGREE + 1)).astype(np.int64)


def _differentiate_point(rule: MeasureRule, best: Draws, setting: MeasureSetting, point: int) -> Array:
    curves, times = best
    shape = curves.coefficients_m.shape[2:]
    size = int(np.prod(shape))
    steps = STEP_M * np.concatenate([np.eye(size), -np.eye(size)]).reshape(2 * size, *shape)
    moved = np.repeat(curves.coefficients_m, 2 * size, axis=0)
    moved[:, point] += steps
    held = {n: v if isinstance(v, Absent) else np.repeat(v, 2 * size) for n, v in times.items()}
    values = measure_curves(Curves(knots_s=curves.knots_s, coefficients_m=moved), held, setting, (rule,))
    result = values[rule.definition.key]
    assert not isinstance(result, Absent)
    change = measure_deviation(result[:size], result[size:], rule.definition.unit)
    return np.asarray(change.reshape(shape) / (2.0 * STEP_M))
