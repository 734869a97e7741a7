"""Cuts the turned squares that the networks look at out of pictures."""

import threading
from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model.regions import find_crop_map
from elbowroom.core.landmarks.types import Region


class CropCutter:
    """Cuts crops, each thread in memory of its own that is used again: fresh memory costs as much as the cutting."""

    def __init__(self) -> None:
        """Each thread gets its memory when it first cuts."""
        self._own = threading.local()

    def crop_regions(
        self,
        pictures: Sequence[NDArray[np.uint8]],
        regions: Sequence[Region],
        side: int,
        *,
        repeats_edge: bool,
    ) -> NDArray[np.uint8]:
        """Crops (n, side, side, 3) of the regions by bilinear interpolation, valid until this thread cuts again.

        Outside a picture its edge is repeated, or black is put.
        """
        crops = self._borrow("crops", (len(pictures), side, side, 3))
        for picture, region, crop in zip(pictures, regions, crops, strict=True):
            self._crop_region(picture, region, crop, cv2.BORDER_REPLICATE if repeats_edge else cv2.BORDER_CONSTANT)
        return crops

    def _crop_region(self, picture: NDArray[np.uint8], region: Region, crop: NDArray[np.uint8], border: int) -> None:
        side = crop.shape[0]
        to_picture = find_crop_map(region, side)
        rows, columns = find_part(picture.shape, to_picture, side)
        # Reading a turned square straight from a large picture waits for memory at every pixel: copying the part
        # in order first takes half the time.
        part = self._borrow("part", picture[rows, columns].shape)
        np.copyto(part, picture[rows, columns])
        to_picture[:, 2] -= (columns.start, rows.start)
        flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        cv2.warpAffine(part, to_picture, (side, side), dst=crop, flags=flags, borderMode=border)

    def _borrow(self, name: str, shape: tuple[int, ...]) -> NDArray[np.uint8]:
        """This thread's memory of that name, as an array of that shape."""
        size = int(np.prod(shape))
        memory: NDArray[np.uint8] | None = getattr(self._own, name, None)
        if memory is None or memory.size < size:
            memory = np.empty(size, np.uint8)
            setattr(self._own, name, memory)
        return memory[:size].reshape(shape)


def find_part(shape: tuple[int, ...], to_picture: NDArray[np.float64], side: int) -> tuple[slice, slice]:
    """Rows and columns of the upright part of a picture that a crop reads, at least one of each."""
    corners = np.array([[0, side, 0, side], [0, 0, side, side], [1, 1, 1, 1]])
    reached = to_picture @ corners
    last = np.array([shape[1] - 1, shape[0] - 1])
    low = np.clip(np.floor(reached.min(axis=1)) - 1, 0, last).astype(int)
    high = np.clip(np.ceil(reached.max(axis=1)) + 2, 1, last + 1).astype(int)
    return slice(int(low[1]), int(high[1])), slice(int(low[0]), int(high[0]))
