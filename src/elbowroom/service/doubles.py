"""In-memory doubles of the Protocols in `ports`, for tests and for trying the use cases without files or
models."""

from collections.abc import Sequence
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.types import LandmarkSize, Person, RawLandmarks, Region


class ScriptedLandmarkDetector:
    """A `LandmarkDetector` that gives stored people and landmarks, whatever the pictures show.

    A picture is known by the number in its first pixel, which `mark_picture` puts there.
    """

    def __init__(self, people: Sequence[tuple[Person, ...]], landmarks: RawLandmarks) -> None:
        """`people` and `landmarks` hold, for each picture number, what is to be given for that picture."""
        self._people = tuple(people)
        self._landmarks = landmarks
        self.pictures_seen: dict[LandmarkSize, int] = {"light": 0, "large": 0}

    def find_people(self, pictures: Sequence[NDArray[np.uint8]]) -> list[tuple[Person, ...]]:
        """The stored people of each picture."""
        return [self._people[read_picture_number(picture)] for picture in pictures]

    def detect_landmarks(
        self, pictures: Sequence[NDArray[np.uint8]], regions: Sequence[Region], size: LandmarkSize
    ) -> RawLandmarks:
        """The stored landmarks of each picture, with the size of the region asked for."""
        if len(pictures) != len(regions):
            raise ValueError(f"{len(pictures)} pictures need as many regions, not {len(regions)}")
        self.pictures_seen[size] += len(pictures)
        numbers = np.array([read_picture_number(picture) for picture in pictures], np.int64)
        chosen = {field.name: getattr(self._landmarks, field.name)[numbers] for field in fields(RawLandmarks)}
        chosen["region_size_px"] = np.array([region.size_px for region in regions], np.float64)
        return RawLandmarks(**chosen)

    def name_version(self, size: LandmarkSize) -> str:
        """A name that says that this is no model."""
        return f"scripted {size}"


def mark_picture(number: int, height: int = 4, width: int = 4) -> NDArray[np.uint8]:
    """A black picture that carries its number in its first pixel, for `ScriptedLandmarkDetector`."""
    picture = np.zeros((height, width, 3), np.uint8)
    picture[0, 0] = [number & 255, number >> 8 & 255, number >> 16 & 255]
    return picture


def read_picture_number(picture: NDArray[np.uint8]) -> int:
    """The number that `mark_picture` put into the first pixel."""
    red, green, blue = (int(value) for value in picture[0, 0])
    return red + 256 * green + 65536 * blue
