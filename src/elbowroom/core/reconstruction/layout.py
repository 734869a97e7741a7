"""Where each unknown stands in the vector: control points first, then bones, clocks and cameras as a narrow border."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras.types import CAMERA_PARAMETERS
from elbowroom.core.geometry.splines import DEGREE, build_basis, build_knots
from elbowroom.core.landmarks.names import JOINTS
from elbowroom.core.reconstruction.types import Array, CurveGrid, ViewedThrow

POINT = 3 * JOINTS
"""Unknowns of one control point of all joints."""
BAND = (DEGREE + 3) * POINT - 1
"""Widest distance between two control-point unknowns that meet in a residual: neighbouring sightings meet too."""
SLOW_KNOT_S = 0.040
"""Distance of the knots where the body moves slowly: 12 pictures a second can carry it."""
FAST_KNOT_S = 0.0125
"""Distance of the knots from foot contact to release: three pictures at 240 a second."""

Columns = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Places of the unknowns."""

    points: int
    """Number of control points m."""
    bones: int
    """Number of bone lengths."""
    views: int
    """Number of views; each has a clock and a camera in the border."""
    modes: int = 0
    """Number of errors that the cameras share; 0 where each camera has 13 of its own."""

    @property
    def curve(self) -> int:
        """Number of control-point unknowns, 57 m."""
        return self.points * POINT

    @property
    def clocks(self) -> int:
        """First column of the clocks."""
        return self.curve + self.bones

    @property
    def cameras(self) -> int:
        """First column of the cameras' whitened parameters."""
        return self.clocks + self.views

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return self.cameras + (self.modes or CAMERA_PARAMETERS * self.views)

    def locate_camera(self, view: int) -> Columns:
        """Return the columns of the camera errors that a view depends on."""
        count = self.modes or CAMERA_PARAMETERS
        return self.cameras + (0 if self.modes else CAMERA_PARAMETERS * view) + np.arange(count)


def build_grid(start_s: float, end_s: float, dense_s: tuple[float, float]) -> CurveGrid:
    """Return the grid from `start_s` to `end_s` on the visit clock, dense between the two times of `dense_s`."""
    lower, upper = max(dense_s[0], start_s), min(dense_s[1], end_s)
    parts = [
        choose_breaks(start_s, lower, SLOW_KNOT_S),
        choose_breaks(lower, upper, FAST_KNOT_S),
        choose_breaks(upper, end_s, SLOW_KNOT_S),
    ]
    knots = build_knots(np.unique(np.round(np.concatenate(parts), 6)))
    sites = (knots[1:-3] + knots[2:-2] + knots[3:-1]) / DEGREE
    return CurveGrid(knots_s=knots, sites_s=sites, dense_s=(lower, upper))


def choose_breaks(start_s: float, end_s: float, step_s: float) -> Array:
    """Return evenly spaced breaks from start to end, about `step_s` apart; empty where there is no room."""
    if end_s - start_s < step_s / 2:
        return np.zeros(0)
    return np.linspace(start_s, end_s, max(2, round((end_s - start_s) / step_s) + 1))


def build_layout(grid: CurveGrid, bones: int, views: tuple[ViewedThrow, ...]) -> Layout:
    """Return the layout for a grid, a number of bones and the views."""
    modes = min((view.camera.shared.shape[1] for view in views), default=0)
    return Layout(points=len(grid.sites_s), bones=bones, views=len(views), modes=modes)


def locate_joint(grid: CurveGrid, joints: NDArray[np.int64], times_s: Array) -> tuple[Columns, Array]:
    """Return for each (joint, time) the x-columns of its four control points (r, 4) and the basis values (r, 4)."""
    first, values = build_basis(grid.knots_s, times_s)
    columns = (first[:, None] + np.arange(DEGREE + 1)) * POINT + 3 * joints[:, None]
    return columns.astype(np.int64), values


def read_positions(unknowns: Array, columns: Columns, values: Array) -> Array:
    """Return the positions (r, 3) from x-columns (r, 4) and basis values (r, 4)."""
    points = unknowns[columns[:, :, None] + np.arange(3)]
    positions: Array = np.einsum("rk,rka->ra", values, points)
    return positions
