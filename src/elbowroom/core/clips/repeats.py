"""Which pictures only repeat the one before them."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import percentile_filter

from elbowroom.core.clips.types import Array, Mask

STILL_LEVELS = 0.6
"""Change between pictures, in grey levels of 255, that a repeated picture's second coding may show."""
STILL_SHARE = 0.1
"""Change of a repeated picture at most, as a share of the change around it."""
AROUND = 25
"""Pictures around one that say whether anything moves: more than two of a 30 Hz camera written at 240 Hz."""
AROUND_PERCENTILE = 95
"""Percentile of the changes around a picture that stands for movement: second largest of 25, so no lone flash."""


def measure_change(before: Array, after: Array) -> float:
    """Measure how much two small grey pictures differ: the mean of the largest hundredth of the differences.

    Args:
        before, after: (h, w) grey levels, 0 to 255.
    """
    differences = np.abs(after - before).ravel()
    count = max(1, differences.size // 100)
    return float(np.partition(differences, -count)[-count:].mean())


def find_repeated(change: Array) -> Mask:
    """Find pictures that only repeat the one before.

    A picture counts as repeated where it does not change while pictures around it do; where nothing
    moves at all a repeat cannot be told and does no harm.

    Args:
        change: (n - 1,) change from each picture to the next, see `measure_change`.

    Returns (n,) marks; the first picture is never one.
    """
    if len(change) == 0:
        return np.zeros(1, dtype=bool)
    around = percentile_filter(change, AROUND_PERCENTILE, size=AROUND, mode="reflect")
    still = (change < STILL_LEVELS) & (change < STILL_SHARE * around)
    return np.concatenate([[False], still])
