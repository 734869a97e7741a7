"""Turns stored pictures upright, as the file's display matrix asks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import atan2, degrees
from typing import cast

import numpy as np
from av.sidedata.sidedata import SideData
from av.video.frame import VideoFrame
from numpy.typing import NDArray

Rgb = NDArray[np.uint8]


@dataclass(frozen=True, kw_only=True)
class Turn:
    """How a stored picture becomes upright: a clockwise turn, then a mirror."""

    clockwise_deg: int
    """0, 90, 180 or 270."""
    is_mirrored: bool
    """Whether left and right are exchanged after the turn."""

    def apply(self, picture: Rgb) -> Rgb:
        """Return the upright picture, (h, w, ...) contiguous."""
        turned = np.rot90(picture, k=-(self.clockwise_deg // 90))
        return np.ascontiguousarray(turned[:, ::-1] if self.is_mirrored else turned)

    def swap(self, width: int, height: int) -> tuple[int, int]:
        """Return width and height after the turn (or before it: the exchange is its own inverse)."""
        return (height, width) if self.clockwise_deg in (90, 270) else (width, height)


def read_turn(frame: VideoFrame) -> Turn:
    """Read the turn from a decoded picture's display matrix; none where it carries none."""
    try:
        data = cast(Mapping[str, SideData], frame.side_data)["DISPLAYMATRIX"]
    except KeyError:
        return Turn(clockwise_deg=0, is_mirrored=False)
    except ValueError:
        # A kind of side data that is newer than the library hides them all; the turn alone is still given.
        return Turn(clockwise_deg=round(-frame.rotation / 90) % 4 * 90, is_mirrored=False)
    return find_turn(np.frombuffer(bytes(data), dtype=np.int32))


def find_turn(matrix: NDArray[np.int32]) -> Turn:
    """Find the turn, to the nearest quarter, in the nine integers of a display matrix.

    Source: ISO/IEC 14496-12, track header box (from memory): with entries a, b, u, c, d, v, x, y, w a point
    goes to x' = a x + c y, y' = b x + d y, y down.
    """
    a, b, _, c, d = (float(value) for value in matrix[:5])
    is_mirrored = a * d - b * c < 0
    # Mirrored: matrix = mirror @ turn, so the turn has the first row's sign changed.
    clockwise = degrees(atan2(b, -a if is_mirrored else a))
    return Turn(clockwise_deg=round(clockwise / 90) % 4 * 90, is_mirrored=is_mirrored)
