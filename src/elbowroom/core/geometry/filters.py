"""Zero-lag low-pass filtering of light signals, and the residual analysis that proposes a cut-off.

The chain itself smooths with splines; these serve checks and signals that come sampled.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, filtfilt

Array = NDArray[np.float64]

PASSES = 2
"""Forwards and backwards."""
DUAL_PASS_CORRECTION = (2.0 ** (1.0 / PASSES) - 1.0) ** 0.25
"""Share of the design cut-off at which two passes of a second-order filter reach -3 dB: 0.8022 (check-values D5)."""
TAIL_SHARE = 0.4
"""Share of the band below half the sampling rate above which the residual is taken as noise alone."""


def filter_low_pass(samples: Array, rate_hz: float, cutoff_hz: float, axis: int = 0) -> Array:
    """Return the samples after a zero-lag second-order Butterworth filter whose two passes meet -3 dB at the cut-off.

    `samples` (n, ...) at an even rate along `axis`, n >= 16. Raises `ValueError` where the rate is too low for it.
    """
    design_hz = cutoff_hz / DUAL_PASS_CORRECTION
    if not 0.0 < design_hz < rate_hz / 2.0:
        raise ValueError(f"A cut-off of {cutoff_hz:g} Hz needs more than {2.0 * design_hz:g} samples a second.")
    numerator, denominator = butter(2, design_hz / (rate_hz / 2.0))
    return np.asarray(filtfilt(numerator, denominator, samples, axis=axis))


def measure_residuals(samples: Array, rate_hz: float, cutoffs_hz: Array) -> Array:
    """Return the root mean square of what each cut-off takes off the samples (n,): (c,) -> (c,)."""
    taken = [samples - filter_low_pass(samples, rate_hz, float(cutoff)) for cutoff in cutoffs_hz]
    return np.asarray(np.sqrt(np.mean(np.square(taken), axis=1)))


def choose_cutoff_hz(samples: Array, rate_hz: float, count: int = 100) -> tuple[float, float]:
    """Return Winter's cut-off (Hz) and the noise it assumes (unit of the samples).

    The straight tail of the residual is drawn back to 0 Hz; its value there is the noise, and the cut-off is where
    the residual has grown to it. Known to smooth too much (check-values D5): a proposal, not a verdict.
    """
    highest_hz = 0.98 * DUAL_PASS_CORRECTION * rate_hz / 2.0
    cutoffs_hz = np.linspace(highest_hz / count, highest_hz, count)
    residuals = measure_residuals(samples, rate_hz, cutoffs_hz)
    tail = cutoffs_hz >= TAIL_SHARE * highest_hz
    noise = float(np.polyfit(cutoffs_hz[tail], residuals[tail], 1)[1])
    return float(np.interp(-noise, -residuals, cutoffs_hz)), noise
