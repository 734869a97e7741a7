"""What the use cases need from the outside, each need as small as it can be."""

from collections.abc import Iterable, Iterator, Sequence
from math import inf
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.core.clips.types import Clip, ClipTimes, Sound
from elbowroom.core.findings.report import EncodedPicture
from elbowroom.core.landmarks.types import LandmarkSize, Person, RawLandmarks, Region
from elbowroom.core.quantities.types import Absent
from elbowroom.service.visit_plan import VisitPlan


class LandmarkDetector(Protocol):
    """Finds people in pictures, and the landmarks of one of them.

    Pictures are uint8 (height, width, 3), red first, upright. Pixel (0, 0) is the centre of the top-left
    pixel. What one picture gives does not depend on the pictures it comes with, beyond the last digits of its
    numbers.
    """

    def find_people(self, pictures: Sequence[NDArray[np.uint8]]) -> list[tuple[Person, ...]]:
        """All people in each picture, surest first; an empty tuple where there is nobody."""
        ...

    def detect_landmarks(
        self, pictures: Sequence[NDArray[np.uint8]], regions: Sequence[Region], size: LandmarkSize
    ) -> RawLandmarks:
        """Landmarks of the person in each picture's region, in the order of the pictures.

        Raises ValueError when there are not as many regions as pictures.
        """
        ...

    def name_version(self, size: LandmarkSize) -> str:
        """Name and digest of the model of that size, for the history of a result."""
        ...


class CameraFinder(Protocol):
    """Finds the cameras of a visit from its boards and ground marks."""

    def find_set_up(self, plan: VisitPlan, clips: Sequence[Clip]) -> FieldSetUp:
        """Cameras in the field frame, one a clip in the order of the plan; raises `SetUpError` with advice."""
        ...


class PictureDrawer(Protocol):
    """Draws a skeleton on a picture and encodes the result."""

    def draw_key_picture(
        self, picture: NDArray[np.uint8], joints_px: NDArray[np.float64], seen: NDArray[np.bool_]
    ) -> EncodedPicture:
        """The picture (h, w, 3), red first, with the joints (19, 2) joined, cut to the athlete and encoded."""
        ...


class OpenClip(Protocol):
    """A clip whose picture times are known, and whose pictures and sound can be read as often as needed."""

    @property
    def clip(self) -> Clip:
        """What the clip is."""
        ...

    @property
    def times(self) -> ClipTimes:
        """When its pictures were taken."""
        ...

    def read_pictures(
        self, pictures: Iterable[int] | None = None, long_edge_px: int | None = None
    ) -> Iterator[tuple[int, NDArray[np.uint8]]]:
        """Upright pictures (number, (h, w, 3) red first) in the order of time, one at a time; all where left out.

        Raises ClipError for a number that the clip lacks or a picture that cannot be decoded.
        """
        ...

    def find_repeats(self, first: int = 0, last: int | None = None) -> ClipTimes:
        """The times with the repeated pictures from `first` to `last` marked, and the timing judged."""
        ...

    def read_sound(self, start_s: float = -inf, stop_s: float = inf) -> Sound | Absent:
        """The sound between two capture times, or why there is none."""
        ...


class ClipReader(Protocol):
    """Opens clips."""

    def read_clip(self, path: Path, stated_rate_hz: float | None = None) -> OpenClip:
        """Open a clip and check that it is whole.

        Raises ClipError, one sentence that says what to do, for whatever is wrong with the file or the stated rate.
        """
        ...
