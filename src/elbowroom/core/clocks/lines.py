"""One offset, and a drift where there is one, from the lags of several events."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.clocks.types import Array, Drift
from elbowroom.core.quantities.types import Absent

LEAST_FOR_DRIFT = 4
"""Events that a drift needs."""
LEAST_SPAN_S = 20.0
"""Time that these have to span: at 20 parts in a million a phone's clock gains 0.4 ms in 20 s (from memory)."""
OUTLYING_RATIO = 4.0
"""Lags further from the line than this many robust standard deviations are of another event."""
LEAST_OUTLYING_S = 0.001
"""Lags closer to the line than this are never thrown out."""


@dataclass(frozen=True, kw_only=True)
class LagFit:
    """A line through the lags of events."""

    offset_s: float
    """Lag at `epoch_s`, seconds."""
    standard_s: float
    """Standard uncertainty of `offset_s` from the scatter of the events, seconds."""
    epoch_s: float
    """Mean time of the events used, seconds."""
    drift: Drift | Absent
    """Change of the lag with time, or why it was not found."""
    used_count: int
    """Number of events that are not outliers."""


def fit_lags(times_s: Array, lags_s: Array, single_s: float) -> LagFit:
    """Fit a line to the lags of events without being led by a few wrong ones.

    Args:
        times_s, lags_s: (n,) time of each event on the other clip's clock, and its lag; n >= 1.
        single_s: standard uncertainty of one lag at best.
    """
    kept = _find_kept(times_s, lags_s, single_s)
    times_s, lags_s = times_s[kept], lags_s[kept]
    epoch_s = float(times_s.mean())
    if not _carries_drift(times_s):
        reason = f"Drift needs {LEAST_FOR_DRIFT} sounds that span {LEAST_SPAN_S:.0f} s."
        return _fit_constant(times_s, lags_s, single_s, Absent(reason=reason))
    since_s = times_s - epoch_s
    slope = float(since_s @ lags_s / (since_s @ since_s))
    residuals_s = lags_s - lags_s.mean() - slope * since_s
    sd_s = max(single_s, _find_sd(residuals_s, fitted=2))
    drift = Drift(ratio=slope, ratio_standard=sd_s / sqrt(float(since_s @ since_s)))
    return LagFit(
        offset_s=float(lags_s.mean()),
        standard_s=sd_s / sqrt(len(lags_s)),
        epoch_s=epoch_s,
        drift=drift,
        used_count=len(lags_s),
    )


def compute_widening_factor(freedom: float) -> float:
    """Return the factor by which a standard deviation with few degrees of freedom is widened.

    The root of the variance of Student's t (JCGM 101:2008, 6.4.9.2); held at 3 degrees of freedom below that.
    """
    freedom = max(freedom, 3.0)
    return sqrt(freedom / (freedom - 2.0))


def _fit_constant(times_s: Array, lags_s: Array, single_s: float, drift: Absent) -> LagFit:
    sd_s = single_s if len(lags_s) == 1 else max(single_s, _find_sd(lags_s - lags_s.mean(), fitted=1))
    return LagFit(
        offset_s=float(lags_s.mean()),
        standard_s=sd_s / sqrt(len(lags_s)),
        epoch_s=float(times_s.mean()),
        drift=drift,
        used_count=len(lags_s),
    )


def _find_sd(residuals_s: Array, fitted: int) -> float:
    freedom = len(residuals_s) - fitted
    return sqrt(float(residuals_s @ residuals_s) / freedom) * compute_widening_factor(freedom)


def _carries_drift(times_s: Array) -> bool:
    return len(times_s) >= LEAST_FOR_DRIFT and float(np.ptp(times_s)) >= LEAST_SPAN_S


def _find_kept(times_s: Array, lags_s: Array, single_s: float) -> NDArray[np.bool_]:
    slope = 0.0
    if _carries_drift(times_s):
        # Theil and Sen: the median slope over pairs far enough apart is not moved by a few wrong lags.
        first, second = np.triu_indices(len(times_s), 1)
        apart_s = times_s[second] - times_s[first]
        far = np.abs(apart_s) > LEAST_SPAN_S / 4
        slope = float(np.median((lags_s[second] - lags_s[first])[far] / apart_s[far]))
    rest_s = lags_s - slope * times_s
    rest_s = np.abs(rest_s - np.median(rest_s))
    robust_s = 1.4826 * float(np.median(rest_s))
    return rest_s <= max(OUTLYING_RATIO * max(robust_s, single_s), LEAST_OUTLYING_S)
