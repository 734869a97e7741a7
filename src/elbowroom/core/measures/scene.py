"""One throw, ready to be measured: poses at the instants and the path about the throw, for every draw at once."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.geometry.splines import evaluate_curves, evaluate_each
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.measures.types import MeasureSetting
from elbowroom.core.reconstruction.types import Curves

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

STEP_S = 0.001
"""Step of the path's grid; a rate taken from it by differences is low by 0.1 % at a peak 40 ms wide."""
BEFORE_CONTACT_S = 0.10
"""The path begins this long before foot contact: the pelvis may be fastest before the foot stands."""
AFTER_RELEASE_S = 0.06
"""The path ends this long after release: the forearm is fastest about there."""


@dataclass(frozen=True, kw_only=True)
class Path:
    """All joints on even times that every draw shares."""

    times_s: Array
    """(n,) even times, seconds."""
    joints_m: Array
    """(s, n, 19, 3) joint centres, metres, field frame."""

    def find_between(self, start_s: Array, end_s: Array) -> Mask:
        """Return which times lie between each draw's own start and end, (s,) each -> (s, n)."""
        return np.asarray((self.times_s >= start_s[:, None]) & (self.times_s <= end_s[:, None]))


@dataclass(frozen=True, kw_only=True)
class Scene:
    """Draws of one throw with each draw's own instants; only what was found is in `times_s`."""

    curves: Curves
    """Joint curves of s draws."""
    times_s: Mapping[InstantName, Array]
    """(s,) times of each instant that was found, seconds; not-a-number where a draw lost it."""
    setting: MeasureSetting
    """What is known beside the motion."""
    kept: dict[Hashable, Array] = field(default_factory=dict, repr=False, compare=False)
    """What was worked out already: several measures ask for the same poses and the same angles along the path."""

    def find_pose(self, name: InstantName) -> Array:
        """Return the joint centres at an instant, (s, 19, 3) metres."""
        if name not in self.kept:
            self.kept[name] = evaluate_each(self.curves.knots_s, self.curves.coefficients_m, self.times_s[name])
        return self.kept[name]

    def find_series(self, measure_pose: Callable[[Array], Array]) -> Array:
        """Return a measure of the pose, (..., 19, 3) -> (...), along the path, (s, n)."""
        if measure_pose not in self.kept:
            self.kept[measure_pose] = measure_pose(self.path.joints_m)
        return self.kept[measure_pose]

    def find_velocity(self, name: InstantName, joint: Joint) -> Array:
        """Return the velocity of one joint at an instant, (s, 3) m/s."""
        coefficients = self.curves.coefficients_m[:, :, joint]
        return evaluate_each(self.curves.knots_s, coefficients, self.times_s[name], 1)

    def find_trace(self, joints: tuple[Joint, ...], start: InstantName, end: InstantName) -> tuple[Array, Array]:
        """Return even times (n,) from the first draw's start to the last one's end, and joints there (s, n, j, 3)."""
        grid = _build_grid(np.nanmin(self.times_s[start]), np.nanmax(self.times_s[end]), 2.0 * STEP_S)
        coefficients = self.curves.coefficients_m[:, :, list(joints)]
        return grid, evaluate_curves(self.curves.knots_s, coefficients, grid)

    @cached_property
    def path(self) -> Path:
        """The path from shortly before foot contact to shortly after release; both have to be found."""
        start_s = np.nanmin(self.times_s[InstantName.FOOT_CONTACT]) - BEFORE_CONTACT_S
        end_s = np.nanmax(self.times_s[InstantName.RELEASE]) + AFTER_RELEASE_S
        knots = self.curves.knots_s
        grid = _build_grid(max(start_s, knots[0]), min(end_s, knots[-1]), STEP_S)
        joints = evaluate_curves(knots, self.curves.coefficients_m, grid)
        # One joint's one coordinate lies together in memory: the measures take few joints of many poses.
        together = np.ascontiguousarray(np.moveaxis(joints, (2, 3), (0, 1)))
        return Path(times_s=grid, joints_m=np.moveaxis(together, (0, 1), (2, 3)))


def _build_grid(start_s: float, end_s: float, step_s: float) -> Array:
    return start_s + step_s * np.arange(max(3, int(np.ceil((end_s - start_s) / step_s)) + 1), dtype=np.float64)
