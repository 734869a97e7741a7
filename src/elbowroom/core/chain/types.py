"""What the chain takes in and what it gives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from elbowroom.core.cameras.types import Camera, View
from elbowroom.core.clips.types import ClipTimes, Sound
from elbowroom.core.clocks.types import CheckedOffset
from elbowroom.core.findings.report import NOT_ASKED, AthleteCard
from elbowroom.core.instants.types import InstantName, Instants
from elbowroom.core.landmarks.models import LandmarkTables
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.landmarks.types import Correction, JointTrack, RawLandmarks
from elbowroom.core.loads.types import LoadTables, ThrowLoads
from elbowroom.core.measures.types import ThrowMeasures
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.types import Array, BodyPriors, Curves, Motion
from elbowroom.core.throws.types import SeenThrow


@dataclass(frozen=True, kw_only=True)
class ClipThrows:
    """One clip's throws with landmarks, ready for the chain."""

    camera: Camera
    """The clip's camera in the field frame."""
    view: View
    """Where the camera stands."""
    times: ClipTimes
    """Capture times of the pictures, repeats marked within the throws."""
    throws: tuple[SeenThrow, ...]
    """The throws found in the clip."""
    sound: Sound | Absent
    """The clip's sound, or why there is none."""


@dataclass(frozen=True, kw_only=True)
class ChainSetting:
    """What the chain needs besides the clips and cameras."""

    athlete: AthleteCard
    """Who throws."""
    tables: LandmarkTables
    """Errors of the landmark model."""
    priors: BodyPriors
    """Usual bones for the athlete's height, and the ground."""
    target_m: tuple[float, float, float]
    """About where the ball arrives, in the field frame: where the pop of the glove comes from."""
    load_tables: LoadTables | Absent = NOT_ASKED
    """Tables of body segments and balls, or why no loads are wanted."""
    draws: int = 150
    """Draws for each source of uncertainty."""


@dataclass(frozen=True, kw_only=True)
class TrackedThrow:
    """One throw as one clip's joint track."""

    clip: int
    """Number of the clip."""
    seen: SeenThrow
    """The landmarks that it came from, as the detector gave them."""
    landmarks: RawLandmarks
    """The same landmarks with left and right put right."""
    track: JointTrack
    """Joint centres with covariance."""


@dataclass(frozen=True, kw_only=True)
class DrawSeed:
    """What the draws of one throw are made from: the same seed gives the same draws."""

    entropy: tuple[int, ...]
    """Entropy of the visit's generator."""
    spawn_key: tuple[int, ...]
    """Which of its children this throw's generator is."""


@dataclass(frozen=True, kw_only=True)
class MeasuredThrow:
    """One throw, measured."""

    number: int
    """Number of the throw in the visit, from 1."""
    tracked: tuple[TrackedThrow, ...]
    """The clips that show it."""
    motion: Motion
    """The reconstructed motion in the field frame, not mirrored."""
    spread: Curves
    """Best curves and draws in which all sources of uncertainty vary at once, mirrored for a left-hander."""
    instants: Instants
    """The instants."""
    times_s: dict[InstantName, Array]
    """Times of each instant that was found, the best first, then draws, seconds on the visit clock."""
    measures: ThrowMeasures
    """All measures."""
    seed: DrawSeed = DrawSeed(entropy=(), spawn_key=())
    """What its draws were made from."""
    loads: ThrowLoads | Absent = NOT_ASKED
    """What the arm bore, or why that is not known."""

    @property
    def corrections(self) -> tuple[Correction, ...]:
        """Everything that was changed in what the detector gave."""
        return tuple(item for tracked in self.tracked for item in tracked.track.corrections)


class ThrowNumbers(Protocol):
    """What judging needs of a throw."""

    @property
    def number(self) -> int:
        """Number of the throw in the visit, from 1."""
        ...

    @property
    def measures(self) -> ThrowMeasures:
        """All measures."""
        ...

    @property
    def loads(self) -> ThrowLoads | Absent:
        """What the arm bore, or why that is not known."""
        ...


@dataclass(frozen=True, kw_only=True)
class FailedThrow:
    """A throw that could not be measured."""

    number: int
    """Number of the throw in the visit, from 1."""
    absent: Absent
    """Why, and what to do."""
    tracked: tuple[TrackedThrow, ...] = ()
    """The clips that show it, as far as that is known."""
    seed: DrawSeed = DrawSeed(entropy=(), spawn_key=())
    """What its draws would have been made from."""


@dataclass(frozen=True, kw_only=True)
class MeasuredVisit:
    """All throws of a visit."""

    throws: tuple[MeasuredThrow, ...]
    """The throws that were measured."""
    failed: tuple[FailedThrow, ...]
    """The throws that were not."""
    clocks: tuple[CheckedOffset | Absent, ...]
    """(clips - 1) offset of every further clip against the first, or why it was not found."""


@dataclass(frozen=True, kw_only=True)
class MovedLandmark:
    """A joint that a person placed in one picture."""

    throw: int
    """Number of the throw."""
    clip: int
    """Number of the clip, from 0."""
    picture: int
    """Number of the picture in the clip."""
    joint: Joint
    """The joint, by the athlete's own side."""
    place_px: tuple[float, float]
    """Where it is, pixels of the upright picture."""


@dataclass(frozen=True, kw_only=True)
class MovedInstant:
    """An instant that a person placed."""

    throw: int
    """Number of the throw."""
    instant: InstantName
    """Which instant."""
    time_s: float
    """When it is, seconds on the visit clock."""


@dataclass(frozen=True, kw_only=True)
class DroppedThrow:
    """A throw that is not to count."""

    throw: int
    """Number of the throw."""


@dataclass(frozen=True, kw_only=True)
class JoinedThrow:
    """Two throws that are one, seen by different clips."""

    throw: int
    """Number of the throw, which stays."""
    other: int
    """Number of the throw whose clips it takes over."""


@dataclass(frozen=True, kw_only=True)
class SplitThrow:
    """A throw whose clips show different throws: each clip's becomes one of its own."""

    throw: int
    """Number of the throw; its first clip keeps it."""


Change = MovedLandmark | MovedInstant | DroppedThrow | JoinedThrow | SplitThrow
"""Something that a person put right."""
