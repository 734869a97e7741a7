"""Which pictures only repeat the one before them."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import maximum_filter1d

from elbowroom.core.clips.types import Array, Mask

STILL_LEVELS = 4.0
"""Change between pictures, in grey levels of 255, that the coding of a repeat may show: nearly all in
made clips of both codecs showed less, a few of the worst (key pictures of HEVC) up to 4.6."""
STILL_SHARE = 0.1
"""Change of a repeated picture at most, as a share of the change before and after it."""
AROUND = 12
"""Pictures on either side that say whether anything moves: more than the 8 of 30 Hz written at 240 Hz."""


def measure_level_change(before: Array, after: Array) -> float:
    """Measure how much two small grey pictures differ: the mean of the largest hundredth of the differences.

    Args:
        before, after: (h, w) grey levels, 0 to 255.
    """
    differences = np.abs(after - before).ravel()
    count = max(1, differences.size // 100)
    return float(np.partition(differences, -count)[-count:].mean())


def find_repeated(change: Array) -> Mask:
    """Find pictures that only repeat the one before.

    A picture counts as repeated where it does not change while pictures on both sides of it do; where
    nothing moves a repeat cannot be told and does no harm, and a movement that begins is no sign of one.

    Args:
        change: (n - 1,) change from each picture to the next, see `measure_level_change`.

    Returns (n,) marks; the first picture is never one.
    """
    if len(change) == 0:
        return np.zeros(1, dtype=bool)
    before = maximum_filter1d(change, AROUND, origin=(AROUND - 1) // 2, mode="nearest")
    after = maximum_filter1d(change[::-1], AROUND, origin=(AROUND - 1) // 2, mode="nearest")[::-1]
    still = (change < STILL_LEVELS) & (change < STILL_SHARE * np.minimum(before, after))
    return np.concatenate([[False], still])
