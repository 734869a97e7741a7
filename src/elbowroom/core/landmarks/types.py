"""What a detector of body landmarks takes and gives, and what a clip's throw becomes: joints with covariance.

Pixel coordinates everywhere: x to the right, y down, and (0, 0) is the CENTRE of the top-left pixel, so a
picture w pixels wide spans x from -0.5 to w - 0.5.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Indices = NDArray[np.int64]

LANDMARK_COUNT = 33

LandmarkSize = Literal["light", "large"]
"""Which landmark model: the light one to find a throw, the large one to measure it."""


@dataclass(frozen=True, kw_only=True)
class Region:
    """The turned square of a picture in which one person stands, as a landmark model wants to see it."""

    centre_px: NDArray[np.float64]
    """Centre of the square, x and y, shape (2,)."""
    size_px: float
    """Side of the square."""
    rotation_rad: float
    """Turn of the person in the picture, clockwise as seen, 0 upright; in (-pi, pi] when found in one
    picture."""


@dataclass(frozen=True, kw_only=True)
class Person:
    """One person found in one picture."""

    region: Region
    """Where the landmark model has to look."""
    score: float
    """How sure the person detector is, 0 to 1."""


@dataclass(frozen=True, kw_only=True)
class RawLandmarks:
    """Landmarks of n people (one in each of n pictures) as the model gives them, before any repair or
    smoothing."""

    pixels: NDArray[np.float64]
    """Place in the whole picture, x and y in pixels, shape (n, 33, 2)."""
    depth_px: NDArray[np.float64]
    """Depth from the middle of the hips in pixels of the picture, + away from the camera, shape (n, 33)."""
    world_m: NDArray[np.float64]
    """Place from the middle of the hips in metres for a person of the model's own size: x right in the
    picture, y down, z away from the camera, shape (n, 33, 3)."""
    visibility: NDArray[np.float64]
    """The model's probability that the landmark is in the picture and not hidden, shape (n, 33)."""
    presence: NDArray[np.float64]
    """The model's probability that the landmark lies inside the region, shape (n, 33)."""
    peak: NDArray[np.float64]
    """Highest heat (0 to 1) near the landmark; below 0.5 its place was not refined on the heat; 0 where the
    landmark lies outside the region; shape (n, 33)."""
    spread_px: NDArray[np.float64]
    """Root mean square half-width of the heat near the landmark, in pixels of the picture; it cannot exceed
    that of an even heat over the 9 x 9 cells looked at (2.58 cells), shape (n, 33)."""
    person_score: NDArray[np.float64]
    """The landmark model's probability that the region holds a person, shape (n,)."""
    region_size_px: NDArray[np.float64]
    """Side of the region that was looked at: one cell of the heat is a 64th of it, shape (n,)."""


@dataclass(frozen=True, kw_only=True)
class Correction:
    """One change of the tool or of a person to what the detector gave; the original is kept."""

    what: str
    """What was changed: `sides exchanged`, `arms exchanged`, `legs exchanged`, `arm lost`, `moved by
    hand`."""
    pictures: tuple[int, int]
    """First and last picture that the change covers, numbers in the clip."""
    why: str
    """One sentence of reason."""


@dataclass(frozen=True, kw_only=True)
class JointTrack:
    """The joint centres of one throw as one clip shows them, offset taken off, with covariance.

    The covariance is split: `noise_px2` differs from picture to picture (with `noise_time_s` as correlation
    time), `offset_px2` is the standing part that pictures share and that no averaging removes.
    """

    camera: str
    """Name of the clip's camera."""
    pictures: Indices
    """(n,) numbers of the pictures in the clip, increasing."""
    times_s: Array
    """(n,) capture times on the clip's own clock, seconds."""
    pixels: Array
    """(n, 19, 2) joint centres in pixels of the upright picture; (0, 0) is the centre of the top left
    pixel."""
    noise_px2: Array
    """(n, 19, 2, 2) covariance of the noise, px^2."""
    offset_px2: Array
    """(n, 19, 2, 2) covariance of the standing landmark-to-joint part left after the correction, px^2."""
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
