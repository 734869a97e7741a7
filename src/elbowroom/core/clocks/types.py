"""How the clock of one clip stands against another's, and what is needed to find out."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.quantities.types import Absent

Array = NDArray[np.float64]


class ClockSource(StrEnum):
    """What a clock offset was found from."""

    SOUND = "sound"
    ACTIVITY = "how much the thrower moves"
    MOTION = "landmarks seen by known cameras"
    CAMERAS = "landmarks, found together with the cameras"
    TOGETHER = "several together"


@dataclass(frozen=True, kw_only=True)
class Drift:
    """How much faster the reference clip's clock runs than the other clip's."""

    ratio: float
    """Seconds gained on the reference clock per second of the other clock (1e-5 = 10 microseconds a second)."""
    ratio_standard: float
    """Standard uncertainty of `ratio`."""


@dataclass(frozen=True, kw_only=True)
class ClockOffset:
    """What to add to the other clip's times to get the reference clip's."""

    offset_s: float
    """Reference time minus other time of one event, at `epoch_s`, seconds."""
    standard_s: float
    """Standard uncertainty of `offset_s`, seconds."""
    source: ClockSource
    """What the offset was found from."""
    epoch_s: float
    """Time on the other clip's clock at which `offset_s` holds, seconds."""
    drift: Drift | Absent
    """Drift of the clocks, or why it was not found."""
    event_count: int
    """Number of independent events (sounds, groups of landmarks, sources) behind the offset."""

    def convert_times(self, other_s: Array) -> Array:
        """Return the reference clip's times (n,) of the other clip's times (n,), seconds."""
        drift = self.drift.ratio if isinstance(self.drift, Drift) else 0.0
        times: Array = other_s + self.offset_s + drift * (other_s - self.epoch_s)
        return times

    def find_standard_s(self, other_s: float) -> float:
        """Find the standard uncertainty of a converted time, seconds."""
        drift = self.drift.ratio_standard if isinstance(self.drift, Drift) else 0.0
        return sqrt(self.standard_s**2 + (drift * (other_s - self.epoch_s)) ** 2)


@dataclass(frozen=True, kw_only=True)
class SoundPaths:
    """How far the sound travels to each phone."""

    reference_m: float
    """Distance from where the sound is made to the reference phone, metres."""
    other_m: float
    """Distance from where the sound is made to the other phone, metres."""
    standard_m: float
    """Standard uncertainty of each distance, metres."""
    air_c: float = 20.0
    """Temperature of the air, degrees Celsius."""
    air_standard_c: float = 8.0
    """Standard uncertainty of the temperature, degrees Celsius."""
    lag_standard_s: float = 0.0
    """Standard uncertainty of a phone's sound against its own pictures, seconds; 0 where the two are exact."""


@dataclass(frozen=True, kw_only=True)
class SeenTrack:
    """Landmarks of one throw as one camera sees them, lens distortion taken off."""

    times_s: Array
    """(n,) capture times of the pictures on the clip's own clock, increasing, seconds."""
    points_px: Array
    """(n, k, 2) places of the landmarks; not a number where a landmark is not seen."""
    standard_px: Array
    """(n, k) standard uncertainty of each coordinate, pixels."""
    row_time_s: float = 0.0
    """Time from one picture row to the next (rolling shutter); 0 where unknown."""


@dataclass(frozen=True, kw_only=True)
class CheckedOffset:
    """One offset made from several sources, and whether these agree."""

    offset: ClockOffset
    """Weighted offset; its uncertainty is widened where the sources disagree."""
    disagreement: str
    """One sentence where sources differ by more than their uncertainty, else an empty string."""
