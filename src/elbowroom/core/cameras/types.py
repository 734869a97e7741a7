"""Cameras: lens, pose and what is known about their errors."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

LENS_PARAMETERS = 7
"""Parameters of a lens: focal, cx, cy, k1, k2, p1, p2."""

CAMERA_PARAMETERS = 13
"""Parameters of `Camera.covariance`: focal, cx, cy, k1, k2, p1, p2, rotation vector (3), translation (3)."""


class View(StrEnum):
    """Where a camera stands."""

    OPEN_SIDE = "open side"
    BEHIND = "behind"
    FRONT = "front"
    GLOVE_SIDE = "glove side"
    OBLIQUE = "oblique"


@dataclass(frozen=True, kw_only=True)
class Lens:
    """Pinhole lens with radial and tangential distortion (k1, k2, p1, p2: the model of OpenCV)."""

    width_px: int
    """Width of the upright picture in pixels."""
    height_px: int
    """Height of the upright picture in pixels."""
    focal_px: float
    """Focal length in pixels, the same along both axes."""
    centre_px: tuple[float, float]
    """Principal point; (0, 0) is the centre of the top left pixel."""
    distortion: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    """k1, k2, p1, p2."""


@dataclass(frozen=True, kw_only=True)
class Camera:
    """A lens at a place: x_camera = rotation @ x_field + translation, camera z forward, x right, y down."""

    name: str
    """Name of the clip's camera, as the visit file gives it."""
    lens: Lens
    """The camera's lens."""
    rotation: Array
    """(3, 3) rotation from the field frame into the camera frame."""
    translation: Array
    """(3,) metres."""
    covariance: Array
    """(13, 13) covariance of focal, cx, cy, k1, k2, p1, p2, a rotation vector applied on the left of
    `rotation` (rotation_true = exp(v) @ rotation), and the translation; in px, 1, rad and m."""
    residual_px: float
    """Root mean square distance between seen and predicted points of the calibration, in pixels."""
    row_time_s: float = 0.0
    """Time from one picture row to the next (rolling shutter); 0 where unknown."""
    shared: Array = field(default_factory=lambda: np.zeros((CAMERA_PARAMETERS, 0)))
    """(13, q) change of the parameters for one standard deviation of each of q errors that all cameras of the visit
    share; q = 0 where each camera errs by itself. `covariance` is then shared @ shared^T."""

    @property
    def place(self) -> Array:
        """Camera centre in the field frame, (3,) metres."""
        place: Array = -self.rotation.T @ self.translation
        return place


@dataclass(frozen=True, kw_only=True)
class ClipClock:
    """A clip's clock against the first clip's, found together with the cameras."""

    offset_s: float
    """What to add to the clip's own time to reach the first clip's, at `epoch_s`, seconds."""
    standard_s: float
    """Standard uncertainty of `offset_s`, seconds."""
    epoch_s: float
    """Time on the clip's own clock at which `offset_s` holds, seconds."""
    drift_ratio: float
    """Seconds gained on the first clip's clock per second of this one."""
    drift_standard_ratio: float
    """Standard uncertainty of `drift_ratio`."""


@dataclass(frozen=True, kw_only=True)
class FieldSetUp:
    """The cameras of a visit and what is known of scale and direction to the target."""

    cameras: tuple[Camera, ...]
    """One camera a clip, in one field frame: x to the target, z up; origin set at the pivot foot later."""
    scale_standard: float
    """Relative standard uncertainty of lengths (0.002 = 2 mm in a metre)."""
    target_standard_rad: float
    """Standard uncertainty of the direction to the target, radians."""
    upright_standard_rad: float
    """Standard uncertainty of the vertical, radians."""
    ground_height_m: float = 0.0
    """Height of the ground at the pivot foot in the field frame, metres."""
    how: str = ""
    """How the cameras were found, in words for the report: board, ground marks, or both."""
    clocks: tuple[ClipClock, ...] = ()
    """Clocks of the further clips against the first's where they were found with the cameras; else empty."""
    apart: tuple[int, ...] = ()
    """Throws (from 0, in the order of the visit) in which a camera stood elsewhere: they are not measured."""


@dataclass(frozen=True, kw_only=True)
class SeenPoints:
    """Known points as one picture shows them: board corners or ground marks."""

    field_m: Array
    """(n, 3) places of the points in the frame of the board or the field, metres."""
    pixels: Array
    """(n, 2) where the picture shows them, (0, 0) the centre of the top left pixel."""
    standard_px: float
    """Standard uncertainty of each pixel coordinate."""


@dataclass(frozen=True, kw_only=True)
class LensEstimate:
    """A lens with what is known of its errors: from a board clip, or assumed for a phone."""

    lens: Lens
    """Best estimate of the lens."""
    covariance: Array
    """(7, 7) covariance of focal, cx, cy, k1, k2, p1, p2; px and 1."""
    residual_px: float
    """Root mean square distance between seen and predicted corners, in pixels; 0 for an assumed lens."""
    pictures: int
    """Number of pictures that the lens was found from; 0 for an assumed lens."""


@dataclass(frozen=True, kw_only=True)
class FieldSize:
    """One size of the field as the rules print it, with where it is known from."""

    thing: str
    """What is measured, such as pitcher's plate."""
    level: str
    """Level of play that the size holds for."""
    dimension: str
    """Which of its sizes."""
    size_m: float
    """The size in metres."""
    mark: str
    """How the size is known: second-hand copy, from memory, or computed."""
    source: str
    """Where the size was read."""
    note: str
    """What to beware of, or an empty string."""
