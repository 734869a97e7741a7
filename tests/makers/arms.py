"""Rigid arms on known paths: joints with exact derivatives by forward kinematics, without the code under test."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from elbowroom.core.loads.types import ArmBody, HeldBall, SegmentBody

Array = NDArray[np.float64]

LENGTHS_M = (0.29, 0.26, 0.085)
"""Upper arm, forearm, hand."""
TURNS = ("z", "y", "x", "z", "z", "y")
"""Axes of the hinges one after another: three at the shoulder, the elbow, two at the wrist."""


@dataclass(frozen=True, kw_only=True)
class RigidPath:
    """A rigid arm at n times."""

    places: Array
    """(3, n, 3) shoulder position, velocity, acceleration."""
    angles: Array
    """(3, n, 6) hinge angles in the order of `TURNS`, with rates and accelerations, radians."""


def make_arm_body(generator: np.random.Generator | None = None, ball_kg: float = 0.145) -> ArmBody:
    """Return a usual adult arm, or an invented one where a generator is given; the hand is as wide as it is thick."""
    rng = generator or np.random.default_rng(0)
    # Little enough that every moment of inertia stays below the sum of the other two.
    stir = (lambda: float(rng.uniform(0.93, 1.07))) if generator is not None else (lambda: 1.0)

    def segment(numbers: tuple[float, ...]) -> SegmentBody:
        mass, centre, *radii = (np.full((1, 1), stir() * number) for number in numbers)
        return SegmentBody(
            mass_kg=mass, centre_share=centre, sagittal_m=radii[0], transverse_m=radii[1], long_m=radii[2]
        )

    return ArmBody(
        upper_arm=segment((2.2, 0.55, 0.080, 0.076, 0.045)),
        forearm=segment((1.3, 0.45, 0.072, 0.069, 0.031)),
        hand=segment((0.5, 0.75, 0.048, 0.048, 0.034)),
        ball=HeldBall(
            mass_kg=np.full((1, 1), ball_kg), radius_m=np.full((1, 1), 0.037), reach_share=np.full((1, 1), 1.5)
        ),
    )


def make_path(times_s: Array, generator: np.random.Generator) -> RigidPath:
    """Return a fast invented path whose elbow bends between 40 and 120 deg."""
    middle = np.array([0.2, 0.3, -0.1, np.radians(80.0), 0.1, -0.2])
    swing = np.array([1.2, 0.8, 1.5, np.radians(35.0), 0.4, 0.3])
    angles = make_waves(times_s, swing, generator)
    angles[0] += middle
    return RigidPath(places=make_waves(times_s, np.array([0.5, 0.3, 0.2]), generator), angles=angles)


def make_waves(times_s: Array, sizes: Array, generator: np.random.Generator) -> Array:
    """Return sums of two sine waves with their derivatives, (3, n, k)."""
    result = np.zeros((3, len(times_s), len(sizes)))
    for share in (0.6, 0.4):
        speed = generator.uniform(5.0, 25.0, len(sizes))
        phase = times_s[:, None] * speed + generator.uniform(0.0, 6.0, len(sizes))
        size = share * sizes
        result += np.stack([size * np.sin(phase), size * speed * np.cos(phase), -size * speed**2 * np.sin(phase)])
    return result


def place_joints(path: RigidPath) -> tuple[Array, list[Rotation]]:
    """Return joints (4, 3, 3, 1, n) in the layout of the loads, and the orientations of the three segments.

    Frame of a segment: x along it, z the elbow's hinge. Rates add up hinge by hinge: w += a q', dw += a q'' + w x a q'.
    """
    count = path.angles.shape[1]
    turned, rate, gain = Rotation.identity(count), np.zeros((count, 3)), np.zeros((count, 3))
    joints, orientations = [path.places], []
    for number, axis_name in enumerate(TURNS):
        axis = turned.apply(np.eye(3)["xyz".index(axis_name)])
        angle, speed, growth = (path.angles[order, :, number, None] for order in range(3))
        gain = gain + axis * growth + np.cross(rate, axis * speed)
        rate = rate + axis * speed
        turned = turned * Rotation.from_euler(axis_name, angle)
        if number in (2, 3, 5):
            rod = turned.apply([LENGTHS_M[len(orientations)], 0.0, 0.0])
            swing = np.cross(rate, rod)
            joints.append(joints[-1] + np.stack([rod, swing, np.cross(gain, rod) + np.cross(rate, swing)]))
            orientations.append(turned)
    return np.stack(joints).transpose(0, 1, 3, 2)[:, :, :, None, :], orientations
