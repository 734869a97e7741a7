"""Lens parameters as a vector, and the lens assumed where no board clip was filmed."""

from __future__ import annotations

from dataclasses import replace
from math import radians, tan

import numpy as np

from elbowroom.core.cameras.types import Array, Lens, LensEstimate

PHONE_FIELD_OF_VIEW_DEG = 65.0
"""Field of view along the long side of the main camera of a phone while filming; chosen by this project."""

PHONE_FIELD_OF_VIEW_STANDARD_DEG = 5.0
"""Its standard uncertainty, wide enough for the crop of slow motion; chosen by this project."""

PHONE_CENTRE_STANDARD = 0.015
"""Standard uncertainty of the principal point as a share of the long side; chosen by this project."""

PHONE_DISTORTION_STANDARDS = (0.05, 0.05, 0.002, 0.002)
"""Standard uncertainty of k1, k2, p1, p2, since phones correct most of it; chosen by this project."""


def assume_phone_lens(width_px: int, height_px: int) -> LensEstimate:
    """Return the lens of an unknown phone for pictures of that size, with wide uncertainty."""
    long_side = max(width_px, height_px)
    half = radians(PHONE_FIELD_OF_VIEW_DEG) / 2
    focal = (long_side / 2) / tan(half)
    slope = (long_side / 2) / np.sin(half) ** 2 / 2
    centre = PHONE_CENTRE_STANDARD * long_side
    focal_standard = slope * radians(PHONE_FIELD_OF_VIEW_STANDARD_DEG)
    standards = np.array([focal_standard, centre, centre, *PHONE_DISTORTION_STANDARDS])
    lens = Lens(
        width_px=width_px,
        height_px=height_px,
        focal_px=focal,
        centre_px=((width_px - 1) / 2, (height_px - 1) / 2),
    )
    return LensEstimate(lens=lens, covariance=np.diag(standards**2), residual_px=0.0, pictures=0)


def list_lens_values(lens: Lens) -> Array:
    """Return focal, cx, cy, k1, k2, p1, p2, (7,)."""
    return np.array([lens.focal_px, *lens.centre_px, *lens.distortion])


def shift_lens(lens: Lens, step: Array) -> Lens:
    """Return the lens with `step` (7,) added to focal, cx, cy, k1, k2, p1, p2."""
    focal, cx, cy, k1, k2, p1, p2 = (float(value) for value in list_lens_values(lens) + step)
    return replace(lens, focal_px=focal, centre_px=(cx, cy), distortion=(k1, k2, p1, p2))
