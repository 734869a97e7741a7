"""What the page of a review shows: clips, throws with their joints in every picture, instants, corrections."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from elbowroom.core.findings.report import MotionTrack, ScreeningReport
from elbowroom.core.quantities.types import Obtained
from elbowroom.core.reconstruction.types import Array
from elbowroom.service.correction_values import CorrectionLine, VisitChange


@dataclass(frozen=True, kw_only=True)
class ClipView:
    """A clip of the visit."""

    number: int
    """Number of the clip, from 0."""
    name: str
    """Name of its file."""
    view: str
    """Where the camera stood, in words."""
    size_px: tuple[int, int]
    """Width and height of the upright picture."""
    rate_hz: float
    """Capture rate, pictures a second."""
    has_proxy: bool
    """Whether there is a proxy to step through."""


@dataclass(frozen=True, kw_only=True)
class InstantView:
    """An instant of a throw."""

    name: str
    """Its name."""
    time: Obtained
    """When it is, seconds on the visit clock, or why it was not found."""
    is_by_hand: bool
    """Whether a person placed it."""


@dataclass(frozen=True, kw_only=True)
class MemberView:
    """One throw as one clip shows it."""

    clip: int
    """Number of the clip."""
    first_picture: int
    """Number of the first picture shown."""
    times_s: Array
    """(n,) times of the pictures from the first one, seconds on the visit clock."""
    joints_px: Array
    """(n, 19, 2) reconstructed joints in each picture, pixels of the upright picture."""
    placed: tuple[tuple[int, int], ...]
    """Picture and joint of every place that a person set."""


@dataclass(frozen=True, kw_only=True)
class ThrowView:
    """One throw with all that the page draws."""

    number: int
    """Number of the throw."""
    instants: tuple[InstantView, ...]
    """The instants."""
    members: tuple[MemberView, ...]
    """The clips that show it."""
    motion: MotionTrack
    """The joints in space."""
    notes: tuple[str, ...]
    """Sentences on the throw."""


@dataclass(frozen=True, kw_only=True)
class ReviewView:
    """A visit as its review shows it."""

    visit_id: str
    """The visit."""
    athlete_id: str
    """The athlete."""
    clips: tuple[ClipView, ...]
    """The clips."""
    throws: tuple[ThrowView, ...]
    """The throws that are measured."""
    left_out: tuple[int, ...]
    """Numbers of the throws that were dropped or joined to another."""
    failed: tuple[tuple[int, str], ...]
    """Number and reason of the throws that could not be measured."""
    report: ScreeningReport
    """The report with all corrections."""
    verdicts: Mapping[str, str]
    """The word of every measure's verdict."""
    corrections: tuple[CorrectionLine, ...]
    """The corrections, the newest first."""
    version: int
    """The last correction; 0 for none."""
    screening_version: int
    """The newest version of the screening."""
    is_current: bool
    """Whether that version takes in every correction."""
    change: VisitChange
    """What all corrections together changed."""
