"""Clock offset from sounds that both phones heard: mitt pops, claps."""

from __future__ import annotations

from math import sqrt

import numpy as np
from scipy.ndimage import gaussian_filter1d, median_filter
from scipy.signal import butter, correlate, sosfiltfilt

from elbowroom.core.clips.types import Sound
from elbowroom.core.clocks.lines import LagFit, fit_lags
from elbowroom.core.clocks.types import Array, ClockOffset, ClockSource, SoundPaths
from elbowroom.core.quantities.types import Absent

BAND_HZ = (800.0, 6000.0)
"""Where a pop or clap stands out from voices and wind (project's choice)."""
SMOOTH_S = 0.00015
"""Standard deviation of the window that smooths the loudness."""
BIN_S = 0.001
"""Length of a bin of the coarse loudness."""
APART_S = 0.15
"""Sounds closer than this are one sound and its echo."""
OUTSTANDING_RATIO = 8.0
"""How many times louder than the clip's median a sound has to be."""
MOST_SOUNDS = 40
"""Loudest sounds that are used."""
SEARCH_S = 0.03
"""How far from the coarse lag the same sound is looked for in the other clip."""
BEFORE_S, AFTER_S = 0.002, 0.006
"""Part of a sound that is compared: its start, before the room answers."""
LEAST_CORRELATION = 0.6
"""Correlation of two loudness curves below which they are not the same sound."""
SINGLE_S = 0.0002
"""Standard uncertainty of one sound's lag at best: about the smoothing of the loudness (project's choice)."""
NO_SOUND = "No sound loud and short enough was heard by both phones."
CLAP = "Clap once, hard, in view of both phones before the first throw."


def compute_sound_speed_m_per_s(air_c: float) -> float:
    """Compute the speed of sound in m/s at a temperature; 343.2 at 20 C (textbook formula, from memory)."""
    return 331.3 * sqrt(1.0 + air_c / 273.15)


def compute_loudness(sound: Sound) -> Array:
    """Compute the loudness (m,) of the band in which pops stand out, on the sound's own samples, without a lag."""
    top_hz = min(BAND_HZ[1], 0.45 * sound.rate_hz)
    bottom_hz = min(BAND_HZ[0], 0.5 * top_hz)
    sections = butter(2, [bottom_hz, top_hz], btype="bandpass", fs=sound.rate_hz, output="sos")
    band = sosfiltfilt(sections, sound.samples.astype(np.float64), padtype=None)
    loudness: Array = np.sqrt(np.maximum(gaussian_filter1d(band**2, SMOOTH_S * sound.rate_hz), 0.0))
    return loudness


def find_sounds(loudness: Array, rate_hz: float) -> Array:
    """Find the times (s,) of short loud sounds after the first sample, loudest first, seconds."""
    bins = _bin_loudness(loudness, rate_hz)
    width = max(1, round(APART_S / BIN_S))
    # What a bin has to stand out from: the clip's own quiet, and the time just before.
    before = median_filter(bins, size=width, origin=width // 2 - 1, mode="nearest") if len(bins) > width else bins * 0
    rises = bins > OUTSTANDING_RATIO * np.maximum(before, np.median(bins))
    chosen: list[int] = []
    for place in np.argsort(np.where(rises, bins, 0.0))[::-1]:
        if not rises[place] or len(chosen) >= MOST_SOUNDS:
            break
        if all(abs(place - other) >= width for other in chosen):
            chosen.append(int(place))
    return np.array([_find_peak(loudness, rate_hz, place) for place in chosen])


def estimate_sound_offset(
    reference: Sound, other: Sound, paths: SoundPaths, around_s: float = 0.0, search_s: float = np.inf
) -> ClockOffset | Absent:
    """Estimate the clock offset from the sounds that both clips hold.

    Args:
        reference, other: sound of the two clips on their capture clocks.
        paths: how far the sound travels to each phone.
        around_s, search_s: where the offset is looked for, and how far from there, seconds.

    The uncertainty holds the scatter of the sounds, the distances and the air, which all sounds share.
    """
    loud = compute_loudness(reference), compute_loudness(other)
    if min(len(loud[0]) / reference.rate_hz, len(loud[1]) / other.rate_hz) < 2 * APART_S:
        return Absent(reason="The sound is too short to compare.", advice=CLAP)
    coarse_s = _find_coarse_lag(reference, other, loud, (around_s, search_s))
    times_s, lags_s = _find_lags(reference, other, loud, coarse_s)
    if len(lags_s) == 0:
        return Absent(reason=NO_SOUND, advice=CLAP)
    fit = fit_lags(times_s, lags_s, SINGLE_S)
    speed = compute_sound_speed_m_per_s(paths.air_c)
    return ClockOffset(
        offset_s=fit.offset_s - (paths.reference_m - paths.other_m) / speed,
        standard_s=_combine_uncertainty(fit, paths, speed),
        source=ClockSource.SOUND,
        epoch_s=fit.epoch_s,
        drift=fit.drift,
        event_count=fit.used_count,
    )


def _combine_uncertainty(fit: LagFit, paths: SoundPaths, speed_m_per_s: float) -> float:
    path = sqrt(2.0) * paths.standard_m / speed_m_per_s
    slope = 331.3**2 / 273.15 / (2.0 * speed_m_per_s)
    air = abs(paths.reference_m - paths.other_m) / speed_m_per_s**2 * slope * paths.air_standard_c
    return sqrt(fit.standard_s**2 + path**2 + air**2 + 2.0 * paths.lag_standard_s**2)


def _bin_loudness(loudness: Array, rate_hz: float) -> Array:
    edges = np.arange(0, len(loudness), BIN_S * rate_hz).astype(np.int64)
    bins: Array = np.maximum.reduceat(loudness, np.unique(edges))
    return bins


def _find_peak(loudness: Array, rate_hz: float, place: int) -> float:
    start = max(0, int((place - 1) * BIN_S * rate_hz))
    stop = int((place + 2) * BIN_S * rate_hz) + 1
    return (start + int(np.argmax(loudness[start:stop]))) / rate_hz


def _find_coarse_lag(reference: Sound, other: Sound, loud: tuple[Array, Array], search: tuple[float, float]) -> float:
    curves = []
    for loudness, sound in zip(loud, (reference, other), strict=True):
        bins = _bin_loudness(loudness, sound.rate_hz)
        level = np.log1p(bins / max(float(np.median(bins)), 1e-12))
        curves.append(level - level.mean())
    product = correlate(curves[0], curves[1], mode="full", method="fft")
    lags_s = (np.arange(len(product)) - (len(curves[1]) - 1)) * BIN_S + reference.start_s - other.start_s
    allowed = np.abs(lags_s - search[0]) <= search[1]
    return float(lags_s[np.argmax(np.where(allowed, product, -np.inf))])


def _find_lags(reference: Sound, other: Sound, loud: tuple[Array, Array], coarse_s: float) -> tuple[Array, Array]:
    times_s, lags_s = [], []
    least = OUTSTANDING_RATIO * float(np.median(_bin_loudness(loud[1], other.rate_hz)))
    for time_s in find_sounds(loud[0], reference.rate_hz) + reference.start_s:
        pieces = _cut_pieces(reference, other, loud, (float(time_s), float(time_s) - coarse_s))
        lag_s = None if pieces is None else _find_fine_lag(*pieces, least)
        if lag_s is not None:
            times_s.append(float(time_s) - coarse_s - lag_s)
            lags_s.append(coarse_s + lag_s)
    return np.array(times_s), np.array(lags_s)


def _cut_pieces(
    reference: Sound, other: Sound, loud: tuple[Array, Array], at_s: tuple[float, float]
) -> tuple[Array, Array, float] | None:
    # Both on one fine grid: the loudness is smooth enough that straight lines between samples do.
    step_s = 1.0 / max(reference.rate_hz, other.rate_hz)
    around_s = np.arange(-BEFORE_S, AFTER_S, step_s)
    wide_s = np.arange(-BEFORE_S - SEARCH_S, AFTER_S + SEARCH_S, step_s)
    place = (at_s[1] + wide_s - other.start_s) * other.rate_hz
    if place[0] < 0 or place[-1] > len(loud[1]) - 1:
        return None
    piece = np.interp((at_s[0] + around_s - reference.start_s) * reference.rate_hz, np.arange(len(loud[0])), loud[0])
    return piece, np.interp(place, np.arange(len(loud[1])), loud[1]), step_s


def _find_fine_lag(piece: Array, wide: Array, step_s: float, least: float) -> float | None:
    windows = np.lib.stride_tricks.sliding_window_view(wide, len(piece))
    shape = piece - piece.mean()
    centred = windows - windows.mean(axis=1, keepdims=True)
    norms = np.linalg.norm(centred, axis=1) * np.linalg.norm(shape)
    # Noise may look like anything: only what is loud in the other clip too counts.
    agreement = np.where(windows.max(axis=1) > least, centred @ shape / np.maximum(norms, 1e-300), -1.0)
    best = int(np.argmax(agreement))
    if agreement[best] < LEAST_CORRELATION or not 0 < best < len(agreement) - 1:
        return None
    left, middle, right = agreement[best - 1 : best + 2]
    bend = left - 2 * middle + right
    shift = 0.5 * (left - right) / bend if bend < 0 else 0.0
    # A later sound in the other clip means that its clock is ahead: the offset is smaller.
    return float(SEARCH_S - (best + shift) * step_s)
