"""Finding marks in rows of samples: peaks and crossings between the samples, one per row."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


def find_peaks(times_s: Array, rows: Array, is_looked_at: Mask) -> Array:
    """Return when each row is highest: even times (n,), rows (s, n), where to look (s, n) or (n,) -> (s,).

    A parabola through three samples places the peak between them. Not-a-number where the highest sample looked at is
    the first or last of those looked at, or beside one that is not known: the true peak may then lie outside.
    """
    masked = np.where(is_looked_at & np.isfinite(rows), rows, -np.inf)
    best = np.clip(np.argmax(masked, axis=1), 1, rows.shape[1] - 2)
    each = np.arange(len(rows))
    before, at, after = masked[each, best - 1], masked[each, best], masked[each, best + 1]
    with np.errstate(invalid="ignore", divide="ignore"):
        bend = before - 2.0 * at + after
        shift = 0.5 * (before - after) / bend
    step_s = times_s[1] - times_s[0]
    is_inside = np.isfinite(before) & np.isfinite(after) & (at >= before) & (at >= after) & (bend < 0.0)
    return np.where(is_inside, times_s[best] + np.where(is_inside, shift, 0.0) * step_s, np.nan)


def find_last_crossings(times_s: Array, rows: Array, levels: Array, is_looked_at: Mask) -> Array:
    """Return when each row last crosses its level (s,) upwards among the samples looked at, by interpolation, (s,).

    Not-a-number where the row does not cross upwards there.
    """
    above = rows - levels[:, None]
    is_up = (above[:, :-1] < 0.0) & (above[:, 1:] >= 0.0)
    looked = np.broadcast_to(is_looked_at, rows.shape)
    is_up &= looked[:, :-1] & looked[:, 1:]
    last = rows.shape[1] - 2 - np.argmax(is_up[:, ::-1], axis=1)
    each = np.arange(len(rows))
    low, high = above[each, last], above[each, last + 1]
    with np.errstate(invalid="ignore", divide="ignore"):
        share = -low / (high - low)
    found = times_s[last] + share * (times_s[last + 1] - times_s[last])
    return np.where(is_up.any(axis=1), found, np.nan)


def find_first_drops(times_s: Array, rows: Array, levels: Array, is_looked_at: Mask) -> Array:
    """Return when each row first falls below its level (s,) among the samples looked at, (s,): the last rise, reversed.

    Not-a-number where the row does not fall below it there.
    """
    looked = np.broadcast_to(is_looked_at, rows.shape)
    return find_last_crossings(times_s[::-1], rows[:, ::-1], levels, looked[:, ::-1])


def find_hump_centres(times_s: Array, rows: Array, share: float, reach_s: float) -> Array:
    """Return the centre of the hump about each row's highest sample: even times (n,), rows (s, n) >= 0 -> (s,).

    The hump is what rises above `share` of the peak within `reach_s` of it; its centre of area moves little when
    noise gives the top two peaks. Not-a-number where the first or last sample is still in the hump.
    """
    peak = times_s[np.argmax(rows, axis=1)][:, None]
    excess = np.clip(rows - share * rows.max(axis=1, keepdims=True), 0.0, None)
    weight = np.where(np.abs(times_s - peak) <= reach_s, excess, 0.0)
    is_cut = (weight[:, 0] > 0.0) | (weight[:, -1] > 0.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        centre = (weight @ times_s) / weight.sum(axis=1)
    return np.where(is_cut, np.nan, centre)
