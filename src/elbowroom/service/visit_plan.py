"""What a visit file says: the athlete, the throws, and which clip is which view."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from pathlib import Path

from elbowroom.core.cameras.types import View
from elbowroom.core.findings.report import AthleteCard
from elbowroom.core.landmarks.names import Side


class BoardSize(StrEnum):
    """Which of the printed boards was filmed."""

    LARGE = "large"
    MIDDLE = "middle"
    SMALL = "small"


@dataclass(frozen=True, kw_only=True)
class MarkedPoint:
    """A named point of the ground marks as a person pointed at it in the clip's picture."""

    name: str
    """Name of the point, such as `plate front left`."""
    pixel: tuple[float, float]
    """Where it is; (0, 0) is the centre of the top left pixel of the upright picture."""


@dataclass(frozen=True, kw_only=True)
class ClipPlan:
    """One clip of throws and what is known of its camera."""

    path: Path
    """The video file."""
    view: View
    """Where the camera stands."""
    stated_rate_hz: float | None
    """Capture rate as the user states it, or nothing where the file is to be believed."""
    board_path: Path | None
    """Clip of the board by the same phone at the same place, or nothing."""
    marks: tuple[MarkedPoint, ...]
    """Ground marks pointed at in the picture; empty where none."""
    thrower: Side | None
    """Side of the picture on which the athlete stands where two people throw, or nothing."""
    row_time_s: float
    """Rolling-shutter time from row to row; 0 where unknown."""


@dataclass(frozen=True, kw_only=True)
class MarkSizes:
    """Sizes of the ground marks of this place, and distance to the target."""

    plate_m: tuple[float, float]
    """Width and depth of the pitcher's plate."""
    target_distance_m: float
    """From the front of the pitcher's plate to the apex of home plate, or to where the ball is caught."""
    cross_m: tuple[float, float, float, float]
    """Arms of the tape cross: front, back, left, right."""


@dataclass(frozen=True, kw_only=True)
class VisitPlan:
    """A visit as its file describes it."""

    athlete: AthleteCard
    """Who throws, and what kind of throw."""
    made_on: date
    """Day of the visit."""
    clips: tuple[ClipPlan, ...]
    """One clip a camera."""
    sizes: MarkSizes
    """Sizes of the ground marks and distance to the target."""
    target_standard_deg: float
    """How well the board or the marks were laid along the line to the target, standard uncertainty."""
    tolerances_path: Path | None
    """The clinic's own tolerance table, or nothing for the one that comes with the tool."""
    board_size: BoardSize = BoardSize.LARGE
    """Which board the board clips show."""
    tape_m: float = 0.0
    """Length of a tape on the ground laid towards the target, its ends marked; 0 for none."""
