"""Marks of known size on the ground: pitcher's plate, home plate, tape cross; and a camera found from them.

Field frame of the marks: origin at the middle of the plate's front edge (or of the cross), x to the target,
z up, y to the left of someone who faces the target. Left and right in the names are that person's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from elbowroom.core.cameras.pose import estimate_camera
from elbowroom.core.cameras.types import Array, Camera, LensEstimate, SeenPoints
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import VisitError

MARK_STANDARD_PX = 1.5
"""Standard uncertainty of a mark that a person points at in a picture; chosen by this project."""

Marks = Mapping[str, Array]
"""Place (3,) of each named mark in the field frame, metres."""


@dataclass(frozen=True, kw_only=True)
class MarkGroup:
    """Marks that belong to one thing on the ground, as one picture shows them."""

    seen: SeenPoints
    """Places and pixels of the marks."""
    laid_standard_m: float
    """Standard uncertainty of how the thing was made and laid, metres in each direction."""


def locate_plate_marks(width_m: float, depth_m: float) -> dict[str, Array]:
    """Return the corners of the pitcher's plate; its front edge faces the target."""
    half = width_m / 2
    return {
        "plate_front_left": np.array([0.0, half, 0.0]),
        "plate_front_right": np.array([0.0, -half, 0.0]),
        "plate_back_left": np.array([-depth_m, half, 0.0]),
        "plate_back_right": np.array([-depth_m, -half, 0.0]),
    }


def locate_home_marks(
    distance_m: float, drop_m: float, width_m: float, side_m: float, depth_m: float
) -> dict[str, Array]:
    """Return the corners of home plate.

    `distance_m` runs from the front of the pitcher's plate to the apex, level with the ground; `drop_m` is
    how much lower home lies (the height of the mound); `depth_m` is from the front edge back to the apex.
    The two back edges follow from width, side and depth: the 12 in that are printed for them do not close
    (12.02 in do).
    """
    front, half = distance_m - depth_m, width_m / 2
    return {
        "home_front_left": np.array([front, half, -drop_m]),
        "home_front_right": np.array([front, -half, -drop_m]),
        "home_side_left": np.array([front + side_m, half, -drop_m]),
        "home_side_right": np.array([front + side_m, -half, -drop_m]),
        "home_apex": np.array([distance_m, 0.0, -drop_m]),
    }


def locate_cross_marks(front_m: float, back_m: float, left_m: float, right_m: float) -> dict[str, Array]:
    """Return the middle and the four ends of a tape cross whose front arm points to the target."""
    return {
        "cross_middle": np.zeros(3),
        "cross_front": np.array([front_m, 0.0, 0.0]),
        "cross_back": np.array([-back_m, 0.0, 0.0]),
        "cross_left": np.array([0.0, left_m, 0.0]),
        "cross_right": np.array([0.0, -right_m, 0.0]),
    }


def pair_marks(
    marks: Marks, pixels: Mapping[str, tuple[float, float]], standard_px: float = MARK_STANDARD_PX
) -> SeenPoints:
    """Return the marks that a picture shows, in the order of `pixels`.

    Raises VisitError naming every mark that is not known.
    """
    unknown = sorted(set(pixels) - set(marks))
    if unknown:
        raise VisitError(
            f"The visit file names marks that are not known here: {', '.join(unknown)}; use {', '.join(sorted(marks))}."
        )
    places = np.array([marks[name] for name in pixels]).reshape(-1, 3)
    seen = np.array([pixels[name] for name in pixels], float).reshape(-1, 2)
    return SeenPoints(field_m=places, pixels=seen, standard_px=standard_px)


def estimate_marked_camera(
    name: str, lens: LensEstimate, groups: Sequence[MarkGroup], *, row_time_s: float = 0.0
) -> Camera | Absent:
    """Return the camera from marks on the ground, or the reason why they do not fix it.

    Twice: first with the pixels' own uncertainty, then with the uncertainty of how each thing was laid
    added as that first camera shows it (focal over depth), which makes a far plate count for less in
    metres, not in pixels.
    """
    first = estimate_camera(name, lens, [group.seen for group in groups], row_time_s=row_time_s)
    if isinstance(first, Absent):
        return first
    widened = [add_laid_standard(first, group) for group in groups]
    return estimate_camera(name, lens, widened, row_time_s=row_time_s)


def add_laid_standard(camera: Camera, group: MarkGroup) -> SeenPoints:
    """Return the group's points with the uncertainty of how it was laid added to that of the pixels."""
    depth = float((group.seen.field_m @ camera.rotation[2] + camera.translation[2]).mean())
    laid_px = camera.lens.focal_px * group.laid_standard_m / depth
    return replace(group.seen, standard_px=float(np.hypot(group.seen.standard_px, laid_px)))
