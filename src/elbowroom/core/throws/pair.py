"""Pair the throws of several clips: which throw in one clip is which in another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.quantities.types import Absent
from elbowroom.core.throws.types import PairedThrow, ThrowWindow

Array = NDArray[np.float64]

NEAR_S = 0.2
"""Releases that lie closer than this on one clock are the same throw: two guesses to within a sparse step each."""


def pair_throws(
    windows: Sequence[tuple[ThrowWindow, ...]], offsets_s: Mapping[int, float] | None = None
) -> tuple[PairedThrow, ...] | Absent:
    """Pair the throws of all clips by the times of release, in order of time on the first clip's clock.

    `offsets_s[k]`: what to add to the times of clip k to bring them to the first clip's clock, roughly (sound gives
    it). A clip without one is laid over the first by the gaps between its throws; `Absent` where the gaps fit in more
    than one way. Throws that only some clips show stay in, with fewer members.
    """
    times = [np.array([window.release_guess_s for window in clip]) for clip in windows]
    anchor = next((k for k, clip in enumerate(times) if len(clip)), 0)
    known = dict(offsets_s or {})
    shifts: list[float] = []
    for clip, releases in enumerate(times):
        shift = known.get(clip, 0.0 if clip == anchor else _fit_gaps(times[anchor], releases, clip))
        if isinstance(shift, Absent):
            return shift
        shifts.append(shift)
    return _group_throws([releases + shift for releases, shift in zip(times, shifts, strict=True)])


def shift_window(window: ThrowWindow, offset_s: float, times_s: Array) -> ThrowWindow | Absent:
    """Return a throw's window on another clip's clock, for a clip in which the throw itself could not be found.

    `offset_s` is what to add to the window's times to bring them to the other clip, whose pictures were taken at
    `times_s` (n,). `Absent` where that clip does not show the throw from foot contact to release.
    """
    moved = replace(
        window,
        start_s=max(window.start_s + offset_s, float(times_s[0])),
        contact_guess_s=window.contact_guess_s + offset_s,
        release_guess_s=window.release_guess_s + offset_s,
        end_s=min(window.end_s + offset_s, float(times_s[-1])),
    )
    if moved.contact_guess_s - NEAR_S < times_s[0] or moved.release_guess_s + NEAR_S > times_s[-1]:
        return Absent(
            reason="The clip does not show this throw from foot contact to release.",
            advice="Start all phones before the first throw and stop them after the last one.",
        )
    return moved


def _fit_gaps(first: Array, second: Array, clip: int) -> float | Absent:
    """Find the shift that lays the most releases of `second` on those of `first`."""
    if not len(first) or not len(second):
        return 0.0
    if len(first) == len(second):
        return float(np.median(first - second))
    shifts = (first[:, None] - second[None, :]).ravel()
    apart = np.abs(first[None, :, None] - second[None, None, :] - shifts[:, None, None])
    hits = (apart.min(axis=1) <= NEAR_S).sum(axis=1)
    best = shifts[hits == hits.max()]
    if np.ptp(best) > 2 * NEAR_S:
        return Absent(
            reason=f"The throws of clip {clip + 1} fit those of the first clip in more than one way.",
            advice="Clap once in sight of all phones at the start, or film the same number of throws with each.",
        )
    return float(np.median(best))


def _group_throws(times: list[Array]) -> tuple[PairedThrow, ...]:
    """Group releases on one clock that lie within `NEAR_S` of a group's first one, one of each clip at most."""
    rows = sorted((float(at), clip, k) for clip, clip_times in enumerate(times) for k, at in enumerate(clip_times))
    groups: list[tuple[float, dict[int, int]]] = []
    for at, clip, throw in rows:
        if groups and at - groups[-1][0] <= 2 * NEAR_S and clip not in groups[-1][1]:
            groups[-1][1][clip] = throw
        else:
            groups.append((at, {clip: throw}))
    return tuple(PairedThrow(members=tuple(sorted(members.items()))) for _, members in groups)
