"""Regions of interest: from the person detector's points to the turned square, and from its crop to the picture.

A crop's pixels tile the region exactly: the outer edges of its outermost pixels are the region's sides, so a
share of the crop is the same share of the region. The program that the model was published with puts crop
pixel (0, 0) itself on the region's corner and reads the model's answers as if whole numbers were pixel
centres. Held against mirrored pictures (rendered figures, 96 regions) that leaves every landmark 0.44 +- 0.02
crop pixels to the right with the heavy model and 0.34 +- 0.04 with the lite one, so the model counts from the
pixel's edge: half a crop pixel is 1.5 picture pixels for a region of 768.
"""

import math

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.types import Region

_MARGIN = 1.25
"""Side of the region over the diameter of the person's circle (published parameter of the model)."""


def find_region(hips_px: NDArray[np.float64], circle_px: NDArray[np.float64]) -> Region:
    """Region of a person whose hip centre and point on the enclosing circle are known.

    Points are (2,), in pixels of the picture. The circle point lies above the head of an upright person, whose
    rotation is 0.
    """
    across, down = circle_px - hips_px
    turn = math.pi / 2 - math.atan2(-down, across)
    return Region(
        centre_px=np.array(hips_px, np.float64),
        size_px=2 * _MARGIN * math.hypot(across, down),
        rotation_rad=math.remainder(turn, 2 * math.pi),
    )


def find_crop_map(region: Region, side: int) -> NDArray[np.float64]:
    """Affine map (2, 3) from crop pixels to picture pixels for a crop of side x side."""
    scale = region.size_px / side
    cosine, sine = scale * math.cos(region.rotation_rad), scale * math.sin(region.rotation_rad)
    linear = np.array([[cosine, -sine], [sine, cosine]])
    shift = region.centre_px - linear @ np.full(2, (side - 1) / 2)
    return np.column_stack([linear, shift])


def find_whole_region(picture: NDArray[np.uint8]) -> Region:
    """The upright square around the whole picture, which the person detector looks at."""
    height, width = picture.shape[:2]
    return Region(
        centre_px=np.array([(width - 1) / 2, (height - 1) / 2]),
        size_px=float(max(height, width)),
        rotation_rad=0.0,
    )
