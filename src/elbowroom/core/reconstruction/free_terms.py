"""The residuals of the adjustment in which cameras, clocks, shutters and standing offsets are free as well."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras.types import CAMERA_PARAMETERS, Camera
from elbowroom.core.geometry.splines import build_basis
from elbowroom.core.landmarks.names import JOINTS
from elbowroom.core.reconstruction.layout import Layout, locate_joint, read_positions
from elbowroom.core.reconstruction.sightings import (
    Sightings,
    estimate_weights,
    select_near,
    take_likeness,
)
from elbowroom.core.reconstruction.terms import Term
from elbowroom.core.reconstruction.types import Array, CurveGrid, Projection

CLOCK_UNIT_S = 1e-3
"""Unit of the clock unknowns."""
DRIFT_UNIT = 1e-5
"""Unit of the drift unknowns: 10 microseconds a second."""
ROW_UNIT_S = 1e-6
"""Unit of the row-time unknowns."""
CAMERA_UNITS = np.array([10.0, 10.0, 10.0, 0.01, 0.01, 1e-3, 1e-3, 0.01, 0.01, 0.01, 0.02, 0.02, 0.02])
"""Units of the camera unknowns in the order of `Camera.covariance`; px, 1, rad and m."""
CLIP_UNKNOWNS = 3 + CAMERA_PARAMETERS + 2 * JOINTS
"""Unknowns of one clip in the border: clock, drift, row time, camera, standing offset of every joint."""


@dataclass(frozen=True, kw_only=True)
class WideLayout(Layout):
    """Places of the unknowns of one throw, all clips of the visit in the border."""

    @property
    def size(self) -> int:
        """Number of unknowns: curve, bones, then clip by clip."""
        return self.curve + self.bones + self.views * CLIP_UNKNOWNS

    def locate_clip(self, clip: int) -> int:
        """Return the first column of a clip."""
        return self.curve + self.bones + clip * CLIP_UNKNOWNS


@dataclass(frozen=True, kw_only=True)
class FreeSight:
    """What one clip shows of one throw, as it is predicted at the present state."""

    seen: Sightings
    """Usable joint sightings, their times by the present clock and row time."""
    rows_px: Array
    """(r,) picture row of each sighting."""
    camera: Camera
    """The camera as it stands now."""
    standing_px: Array
    """(19, 2) standing offset of every joint as it stands now."""
    clip: int
    """Number of the clip."""
    age_s: float
    """Time of the throw from the middle of the visit, for the drift."""


def build_free_term(
    sight: FreeSight, layout: WideLayout, grid: CurveGrid, unknowns: Array, project: Projection
) -> Term:
    """Return the whitened, robustly weighted residuals (2r,) of one clip of one throw at the present state.

    Columns: 12 control-point unknowns, 12 of the row before, then clock, drift, row time, 13 of the camera and the 2 of
    the joint's standing offset; all border unknowns are changes from the present state in their units.
    """
    seen = sight.seen
    columns, values = locate_joint(grid, seen.joints, seen.times_s)
    pixels, by_point, by_camera = project(sight.camera, read_positions(unknowns, columns, values))
    errors = pixels + sight.standing_px[seen.joints] - seen.pixels
    velocity = read_positions(unknowns, columns, build_basis(grid.knots_s, seen.times_s, derivative=1)[1])
    by_time = by_point @ velocity[:, :, None]
    by_border = np.concatenate(
        [
            by_time * CLOCK_UNIT_S,
            by_time * (DRIFT_UNIT * sight.age_s),
            by_time * (ROW_UNIT_S * sight.rows_px[:, None, None]),
            by_camera * CAMERA_UNITS,
            np.broadcast_to(np.eye(2), (len(errors), 2, 2)),
        ],
        axis=2,
    )
    by_curve = (by_point[:, :, None, :] * values[:, None, :, None]).reshape(len(errors), 2, -1)
    whitening = seen.whitening * np.sqrt(estimate_weights(seen, errors))[:, None, None]
    spread = (columns[:, :, None] + np.arange(3)).reshape(len(errors), -1)
    border = list_border_columns(layout, sight.clip, seen.joints)
    return take_likeness(
        select_near(seen.likeness, columns),
        np.concatenate([spread, np.roll(spread, 1, axis=0), border], axis=1),
        (whitening @ by_curve, whitening @ by_border, (whitening @ errors[:, :, None])[:, :, 0]),
    )


def list_border_columns(layout: WideLayout, clip: int, joints: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the border columns (r, 18) of each sighting of a clip."""
    first = layout.locate_clip(clip)
    shared = np.broadcast_to(first + np.arange(3 + CAMERA_PARAMETERS), (len(joints), 3 + CAMERA_PARAMETERS))
    own = first + 3 + CAMERA_PARAMETERS + 2 * joints[:, None] + np.arange(2)
    return np.concatenate([shared, own], axis=1)
