"""The sound a phone records: a mitt pop that travels at the speed of sound, steps of noise, a hum of the hall."""

import numpy as np

from rendering.rotations import Array

SOUND_M_S = 343.0
SAMPLE_HZ = 48000


def make_pop(rng: np.random.Generator) -> Array:
    """A short burst, sharp at its start, as a ball hitting leather gives, (N,)."""
    t = np.arange(int(0.09 * SAMPLE_HZ)) / SAMPLE_HZ
    attack = np.minimum(t / 0.0006, 1.0)
    body = 0.6 * np.sin(2 * np.pi * 210 * t) * np.exp(-t / 0.022)
    crack = rng.normal(0, 1, len(t)) * np.exp(-t / 0.006)
    return np.asarray(attack * (body + crack))


def record_sound(rng: np.random.Generator, duration_s: float, pops_s: list[float], loudness: float = 0.35) -> Array:
    """Samples (N,) from -1 to 1 with pops that begin at given clip times, over noise 30 dB below."""
    count = int(duration_s * SAMPLE_HZ)
    samples = rng.normal(0, 0.006, count + SAMPLE_HZ)
    samples += 0.004 * np.sin(2 * np.pi * 100 * np.arange(len(samples)) / SAMPLE_HZ)
    for pop_s in pops_s:
        _add_at(samples, make_pop(rng) * loudness, pop_s)
    return np.clip(samples[:count], -1, 1)


def _add_at(samples: Array, burst: Array, time_s: float) -> None:
    """Add a burst that begins at a time between samples (shifted by linear interpolation)."""
    start = time_s * SAMPLE_HZ
    first = int(np.ceil(start))
    moved = np.interp(np.arange(first, first + len(burst)) - start, np.arange(len(burst)), burst)
    if first >= 0 and first + len(moved) <= len(samples):
        samples[first : first + len(moved)] += moved


def find_pop_times(arrivals_s: list[float], source: Array, centre: Array) -> list[float]:
    """World times at which pops made at `source` are heard at a phone."""
    delay = float(np.linalg.norm(source - centre)) / SOUND_M_S
    return [t + delay for t in arrivals_s]
