"""What the use cases need from the outside, each need as small as it can be."""

from collections.abc import Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.types import LandmarkSize, Person, RawLandmarks, Region


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
