"""Regions of interest: from the points of the person detector to the turned square, and the crop of that
square.

The reference puts crop pixel (u, v) at picture pixel centre + R (u - side/2, v - side/2) * size / side with
both in OpenCV's convention (whole numbers at pixel centres) and takes landmarks back by the same map; so do
we.
"""

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.types import Region

_MARGIN = 1.25
"""Side of the region over the diameter of the person's circle (published parameter of the model)."""


def find_region(hips_px: NDArray[np.float64], circle_px: NDArray[np.float64]) -> Region:
    """Region of a person whose hip centre and point on the enclosing circle are known; upright gives rotation
    0.

    Points are (2,), in pixels of the picture. The circle point lies above the head of an upright person.
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
    shift = region.centre_px - linear @ np.full(2, side / 2)
    return np.column_stack([linear, shift])


def crop_region(
    picture: NDArray[np.uint8], region: Region, out: NDArray[np.uint8], *, repeats_edge: bool
) -> None:
    """Fill `out` (side, side, 3) with the region of the picture, by bilinear interpolation.

    Outside the picture its edge is repeated, or black is put.
    """
    cv2.warpAffine(
        picture,
        find_crop_map(region, out.shape[0]),
        (out.shape[1], out.shape[0]),
        dst=out,
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE if repeats_edge else cv2.BORDER_CONSTANT,
    )


def find_whole_region(picture: NDArray[np.uint8]) -> Region:
    """The upright square around the whole picture, which the person detector looks at."""
    height, width = picture.shape[:2]
    return Region(
        centre_px=np.array([width / 2, height / 2]), size_px=float(max(height, width)), rotation_rad=0.0
    )
