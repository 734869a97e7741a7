"""What a clip is: its picture, its true capture times, what its timing can carry, and its sound."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.quantities.types import Absent

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Indices = NDArray[np.int64]
Samples = NDArray[np.float32]


class RateSource(StrEnum):
    """Where the capture rate comes from."""

    CONTAINER = "container"
    STATED = "stated"
    FILE_TAG = "file tag"


@dataclass(frozen=True, kw_only=True)
class Clip:
    """One video file from one camera, without its path."""

    name: str
    """Name of the file without its folder."""
    width_px: int
    """Width of the upright picture (after the turn), in square pixels."""
    height_px: int
    """Height of the upright picture (after the turn), in square pixels."""
    turned_deg: int
    """Clockwise turn applied to the stored picture to make it upright: 0, 90, 180 or 270."""
    is_mirrored: bool
    """Whether the picture is mirrored left to right after the turn, as the file asks."""
    codec: str
    """Name of the video codec, such as h264 or hevc."""
    duration_s: float
    """Time from the first picture to the end of the last one on the capture clock, seconds."""
    has_sound: bool
    """Whether the file holds a sound track that can be decoded."""
    picture_count: int
    """Number of pictures that the file shows."""


@dataclass(frozen=True, kw_only=True)
class Sufficient:
    """Timing that can carry what is asked of it; true in a test."""

    rate_hz: float
    """Slow end of the capture rate (95 % of the intervals are no longer), pictures a second."""


Verdict = Sufficient | Absent
"""Whether something may be measured from the clip's timing, or the reason why not."""


@dataclass(frozen=True, kw_only=True)
class TimingVerdict:
    """What the timing of the pictures can carry; positions are measured in any case."""

    instants: Verdict
    """Whether the times of instants may be measured."""
    trunk_rates: Verdict
    """Whether turning rates of pelvis and trunk may be measured."""
    arm_rates: Verdict
    """Whether turning rates of the arm (elbow extension, shoulder internal rotation) may be measured."""


@dataclass(frozen=True, kw_only=True)
class ClipTimes:
    """When each picture of a clip was taken, and what that timing can carry."""

    times_s: Array
    """(n,) capture times from the first picture, strictly increasing, slow-motion factor applied, seconds."""
    repeated: Mask
    """(n,) whether the picture only repeats the one before it; all false until the pictures are checked."""
    is_checked: bool
    """Whether the pictures were looked at for repeats."""
    rate_hz: float
    """Usual capture rate, pictures a second: the inverse of the mean interval where none was dropped."""
    rate_source: RateSource
    """Where the capture rate comes from."""
    slow_factor: float
    """How many times slower than life the file plays; 1 for an ordinary clip."""
    is_variable: bool
    """Whether the intervals between pictures differ by more than a file's rounding."""
    gaps: Indices
    """Numbers of the pictures before which at least one picture was dropped."""
    dropped_count: int
    """Number of pictures that the gaps would hold at the median rate."""
    timing: TimingVerdict
    """What the timing can carry."""
    notes: tuple[str, ...]
    """Sentences on what was noticed: variable rate, dropped pictures, a tag that says otherwise."""


@dataclass(frozen=True, kw_only=True)
class Sound:
    """One channel of sound on the capture clock of its clip."""

    samples: Samples
    """(m,) sound pressure in the file's own units, about -1 to 1; places without sound hold 0."""
    rate_hz: float
    """Samples a second on the capture clock."""
    start_s: float
    """Time of the first sample after the clip's first picture, seconds; negative where sound starts first."""
