"""Find pictures in which the detector lost an arm: places that no arm can have reached."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.layout import find_landmark, measure_torso
from elbowroom.core.landmarks.names import Side
from elbowroom.core.landmarks.types import Correction, Indices, Mask, RawLandmarks

Array = NDArray[np.float64]

FASTEST_HZ = 45.0
"""No wrist moves faster against the picture than this many torso lengths a second: 20 m/s and a torso of 0.45 m."""
SLACK = 0.22
"""Place error in torso lengths that is no sign of a lost arm."""
LOOK_BACK = 12
"""Pictures that may be lost in a row before the path starts anew."""
LEAST_PEAK = 0.15
"""An arm point with less heat than this everywhere is lost wherever it was put."""
LONGEST_BONE = 1.35
"""A bone seen longer than this many times its usual greatest length has an end in the wrong place."""

_PARTS = ("ELBOW", "WRIST")
_HAND = ("WRIST", "PINKY", "INDEX", "THUMB")


def find_lost_arms(raw: RawLandmarks, pictures: Indices, times_s: Array) -> tuple[Mask, tuple[Correction, ...]]:
    """Return (n, 33) which arm landmarks are lost, and one correction a stretch and arm.

    A point is lost where the path through it would be faster than an arm can be, where its heat is nearly nothing, or
    where its bone is too long. A lost wrist takes the hand with it, a lost elbow does not take the wrist.
    """
    lost = np.zeros(raw.peak.shape, dtype=bool)
    corrections: list[Correction] = []
    torso = max(float(np.median(measure_torso(raw))), 1e-6)
    for side in Side:
        for part in _PARTS:
            mark = find_landmark(part, side)
            gone = ~_keep_path(raw.pixels[:, mark] / torso, times_s, raw.peak[:, mark])
            gone |= raw.peak[:, mark] < LEAST_PEAK
            lost[:, mark] |= gone
        _judge_bones(raw, side, lost)
        hand = [find_landmark(part, side) for part in _HAND]
        lost[:, hand] |= lost[:, [find_landmark("WRIST", side)]]
        arm = lost[:, find_landmark("ELBOW", side)] | lost[:, find_landmark("WRIST", side)]
        corrections += _list_lost(arm, pictures, side)
    return lost, tuple(corrections)


def _keep_path(path: Array, times_s: Array, peak: Array) -> Mask:
    """Return (n,) the points of the heaviest path (by heat) that no step breaks the speed limit on."""
    n = len(path)
    weight = 0.1 + peak
    best = weight.copy()
    back = np.full(n, -1)
    for k in range(1, n):
        start = max(0, k - LOOK_BACK)
        span = times_s[k] - times_s[start:k]
        far = np.linalg.norm(path[k] - path[start:k], axis=-1)
        reach = np.where(far <= SLACK + FASTEST_HZ * span * _ease(span), best[start:k], -np.inf)
        if np.isfinite(reach).any():
            back[k] = start + int(np.argmax(reach))
            best[k] += float(reach.max())
    kept = np.zeros(n, dtype=bool)
    at = int(np.argmax(best))
    while at >= 0:
        kept[at] = True
        at = int(back[at])
    return kept


def _ease(span_s: Array) -> Array:
    """Over longer gaps an arm cannot keep its greatest speed: it turns within about 0.1 s."""
    return np.asarray(1.0 / (1.0 + span_s / 0.1))


def _judge_bones(raw: RawLandmarks, side: Side, lost: Mask) -> None:
    """Mark the end with less heat of every arm bone that is seen too long."""
    for inner, outer in (("SHOULDER", "ELBOW"), ("ELBOW", "WRIST")):
        lengths = {s: _bone(raw, s, inner, outer) for s in Side}
        usual = max(float(np.quantile(length, 0.9)) for length in lengths.values())
        too_long = lengths[side] > LONGEST_BONE * max(usual, 1e-6)
        one, two = find_landmark(inner, side), find_landmark(outer, side)
        weak_inner = (raw.peak[:, one] < raw.peak[:, two]) & (inner != "SHOULDER")
        lost[:, one] |= too_long & weak_inner
        lost[:, two] |= too_long & ~weak_inner


def _bone(raw: RawLandmarks, side: Side, inner: str, outer: str) -> Array:
    ends = raw.pixels[:, find_landmark(inner, side)] - raw.pixels[:, find_landmark(outer, side)]
    return np.asarray(np.linalg.norm(ends, axis=-1))


def _list_lost(gone: Mask, pictures: Indices, side: Side) -> list[Correction]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], gone.astype(int), [0]])))
    why = f"The {side.value} arm was put where no arm can have been, or nowhere clearly."
    return [
        Correction(what="arm lost", pictures=(int(pictures[s]), int(pictures[e - 1])), why=why)
        for s, e in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
    ]
