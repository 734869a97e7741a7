"""What the detector gives for pictures, and what a clip's throw becomes: joint observations with covariance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Indices = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class Region:
    """A turned square of a picture that holds one person."""

    centre_px: tuple[float, float]
    """Middle of the square; (0, 0) is the centre of the top left pixel."""
    size_px: float
    """Side of the square in pixels."""
    rotation_rad: float
    """Turn of the square, clockwise in the picture; 0 for an upright person."""


@dataclass(frozen=True, kw_only=True)
class Person:
    """A person found in a picture."""

    region: Region
    """Where the person is."""
    score: float
    """Confidence of the detector, 0 to 1."""


@dataclass(frozen=True, kw_only=True)
class RawLandmarks:
    """Landmarks of one person in n pictures as the model gives them, in display pixels."""

    pixels: Array
    """(n, 33, 2) places; (0, 0) is the centre of the top left pixel."""
    depth_px: Array
    """(n, 33) depth from the hip centre in pixels of the same scale, + away from the camera."""
    world_m: Array
    """(n, 33, 3) the model's own guess in metres about the hip centre, camera axes (x right, y down, z away)."""
    visibility: Array
    """(n, 33) the model's probability that the landmark is in the picture and not hidden."""
    presence: Array
    """(n, 33) the model's probability that the landmark is inside the picture."""
    peak: Array
    """(n, 33) highest value of the landmark's heatmap, 0 to 1."""
    spread_px: Array
    """(n, 33) width of the heatmap's peak (root of its second moment) in picture pixels."""
    person_score: Array
    """(n,) the model's probability that the region holds a person."""
    region_size_px: Array
    """(n,) side of the region that the model saw, in pixels."""


@dataclass(frozen=True, kw_only=True)
class Correction:
    """One change of the tool or of a person to what the detector gave; the original is kept."""

    what: str
    """What was changed: `sides exchanged`, `arm lost`, `moved by hand`."""
    pictures: tuple[int, int]
    """First and last picture that the change covers, numbers in the clip."""
    why: str
    """One sentence of reason."""


@dataclass(frozen=True, kw_only=True)
class JointTrack:
    """The joint centres of one throw as one clip shows them, offset taken off, with covariance.

    The covariance is split: `noise` differs from picture to picture (with `noise_time_s` as correlation time),
    `offset` is the standing part that pictures share and that no averaging removes.
    """

    camera: str
    """Name of the clip's camera."""
    pictures: Indices
    """(n,) numbers of the pictures in the clip, increasing."""
    times_s: Array
    """(n,) capture times on the clip's own clock, seconds."""
    pixels: Array
    """(n, 19, 2) joint centres in display pixels; (0, 0) is the centre of the top left pixel."""
    noise_px2: Array
    """(n, 19, 2, 2) covariance of the noise, px^2."""
    offset_px2: Array
    """(n, 19, 2, 2) covariance of the standing landmark-to-joint part that is left after the correction, px^2."""
    noise_time_s: float
    """Correlation time of the noise: pictures closer than this are not independent."""
    seen: Mask
    """(n, 19) whether the joint may be used at all."""
    depth_m: Array
    """(n, 19) the model's guess of depth from the hip centre along the camera axis, metres, + away."""
    depth_standard_m: float
    """Standard uncertainty of `depth_m`."""
    corrections: tuple[Correction, ...]
    """Every change made to what the detector gave."""
    model: str
    """Name and version of the landmark model and of the noise model."""
