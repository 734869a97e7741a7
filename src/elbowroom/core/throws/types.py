"""Where in a clip a throw lies."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.names import Side
from elbowroom.core.landmarks.types import RawLandmarks

Indices = NDArray[np.int64]


class ThrowingHand(StrEnum):
    """The hand that throws."""

    RIGHT = "right"
    LEFT = "left"


@dataclass(frozen=True, kw_only=True)
class ThrowWindow:
    """One throw as the sparse pictures show it; the times are guesses to within about a sparse step."""

    start_s: float
    """Start of what is analysed: 0.3 s before the lead knee is highest, capture time of the clip."""
    contact_guess_s: float
    """About when the lead foot lands."""
    release_guess_s: float
    """About when the ball is released: the hand is fastest."""
    end_s: float
    """End of what is analysed: after the finish."""
    side: Side
    """The arm that throws, as the landmarks name it."""


@dataclass(frozen=True, kw_only=True)
class PictureChoice:
    """Which pictures of a throw the large model looks at."""

    dense: Indices
    """Numbers of all pictures from just before foot contact to just after release, increasing."""
    sparse: Indices
    """Numbers of the pictures looked at in the rest of the window, increasing; none of them is in `dense`."""
    window_count: int
    """Number of all pictures in the window."""

    @property
    def pictures(self) -> Indices:
        """All pictures to look at, increasing."""
        return np.sort(np.concatenate([self.dense, self.sparse]))

    @property
    def share(self) -> float:
        """Share of the window's pictures that the large model sees."""
        return len(self.pictures) / max(self.window_count, 1)


@dataclass(frozen=True, kw_only=True)
class PairedThrow:
    """One throw and where each clip shows it."""

    members: tuple[tuple[int, int], ...]
    """(number of the clip, number of the throw within that clip), one row for each clip that shows the throw."""


@dataclass(frozen=True, kw_only=True)
class SeenThrow:
    """One throw with the large model's landmarks in the chosen pictures of one clip."""

    window: ThrowWindow
    """Where in the clip the throw lies."""
    choice: PictureChoice
    """Which pictures the large model looked at."""
    landmarks: RawLandmarks
    """Landmarks of the thrower in `choice.pictures`, in that order."""
