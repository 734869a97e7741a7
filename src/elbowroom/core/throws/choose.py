"""Choose the pictures that the large landmark model looks at."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.throws.types import PictureChoice, ThrowWindow

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

BEFORE_CONTACT_S = 0.06
"""Dense from this long before the guess of foot contact: the 40 ms that are wanted and 20 ms for the guess."""
BEFORE_RELEASE_S = 0.3
"""Dense from this long before the guess of release at least: the foot's landing is seen late from the front, the
fastest hand up to 90 ms after release, and 0.2 s from contact to release is long (check values A1)."""
AFTER_RELEASE_S = 0.1
"""Dense until this long after the guess of release: the 60 ms that are wanted and 40 ms for the guess, which comes
early from the side."""
SPARSE_HZ = 34.0
"""Pictures a second looked at in the rest of the window, every seventh at 240 Hz."""
LARGEST_SHARE = 0.40
"""Largest share of the window's pictures that the large model may see (figure to reach)."""


def choose_pictures(window: ThrowWindow, times_s: Array) -> PictureChoice:
    """Choose dense and sparse pictures of a throw among all pictures of the clip at capture times `times_s` (n,).

    Dense is every picture from 60 ms before the guess of foot contact (300 ms before release at the latest) to 100 ms
    after the guess of release. The rest of the
    window is looked at evenly at about 34 Hz, or more sparsely where the share would pass 0.40; the first and last
    picture of the window and the neighbours of the dense span are always among them.
    """
    inside = np.flatnonzero((times_s >= window.start_s) & (times_s <= window.end_s))
    first = min(window.contact_guess_s - BEFORE_CONTACT_S, window.release_guess_s - BEFORE_RELEASE_S)
    last = window.release_guess_s + AFTER_RELEASE_S
    is_dense = (times_s[inside] >= first) & (times_s[inside] <= last)
    dense, rest = inside[is_dense], inside[~is_dense]
    rate = (len(times_s) - 1) / max(float(times_s[-1] - times_s[0]), 1e-9)
    step = max(round(rate / SPARSE_HZ), 1)
    sparse = _thin(rest, dense, step)
    while len(dense) + len(sparse) > LARGEST_SHARE * len(inside) and step < len(rest):
        step += 1
        sparse = _thin(rest, dense, step)
    return PictureChoice(dense=dense, sparse=sparse, window_count=len(inside))


def _thin(rest: Indices, dense: Indices, step: int) -> Indices:
    """Take every `step`-th picture, counted away from the dense span so that its neighbours are at even distance."""
    if not len(dense):
        return rest[::step]
    before, after = rest[rest < dense[0]], rest[rest > dense[-1]]
    picked = [before[::-1][step - 1 :: step], after[step - 1 :: step], before[:1], after[-1:]]
    return np.unique(np.concatenate(picked))
