"""What a capture file says: motion that another laboratory recorded, to be judged by the same rules."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.findings.report import AthleteCard
from elbowroom.core.landmarks.names import Joint


class Axis(StrEnum):
    """A direction of the recording's own frame."""

    PLUS_X = "+x"
    MINUS_X = "-x"
    PLUS_Y = "+y"
    MINUS_Y = "-y"
    PLUS_Z = "+z"
    MINUS_Z = "-z"


@dataclass(frozen=True, kw_only=True)
class StandIn:
    """A joint that the recording lacks, put below another one."""

    joint: Joint
    """The joint that it is put below."""
    down_m: float
    """How far below, metres."""


@dataclass(frozen=True, kw_only=True)
class CapturePlan:
    """Recordings of one athlete's throws, as the capture file describes them."""

    athlete: AthleteCard
    """Who threw."""
    made_on: date
    """Day of the recording."""
    files: tuple[Path, ...]
    """One file a throw, in the order of the throws."""
    target: Axis
    """Direction to the target in the files."""
    up: Axis
    """Upwards in the files."""
    markers: Mapping[Joint, tuple[str, ...]]
    """Labels whose mean is the centre of each joint."""
    stand_ins: Mapping[Joint, StandIn]
    """Joints that the recording lacks."""
    marker_standard_m: float
    """Standard uncertainty of one marker's place from picture to picture, metres."""
    joint_standard_m: float
    """Standard uncertainty of the standing distance from marker mean to joint centre, metres, each axis."""
    target_standard_deg: float
    """Standard uncertainty of the direction to the target."""
    tolerances_path: Path | None
    """The clinic's own tolerance table, or nothing for the one that comes with the tool."""


@dataclass(frozen=True, kw_only=True)
class RecordedPoints:
    """Points of one recording over time."""

    labels: tuple[str, ...]
    """(k,) names of the points."""
    times_s: NDArray[np.float64]
    """(n,) even times, seconds."""
    places_m: NDArray[np.float64]
    """(n, k, 3) places in the frame of the file, metres; NaN where a point was not seen."""
