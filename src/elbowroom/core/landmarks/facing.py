"""From which side a camera sees a thrower, told by the chest while the lead knee is up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.layout import measure_torso
from elbowroom.core.landmarks.names import Landmark, Side
from elbowroom.core.landmarks.types import RawLandmarks
from elbowroom.core.quantities.types import Absent

Array = NDArray[np.float64]

KNEE_UP = -0.35
"""A knee higher than this above the hips, in torso lengths, is a leg lift; standing gives about -0.85."""
SECTOR_DEG = 60.0
"""A chest within this of a direction is said to face it; between two directions nothing is said (our choice)."""


@dataclass(frozen=True, kw_only=True)
class Facing:
    """Where the chest faces at the lift, seen from the camera."""

    chest_deg: float
    """Direction of the chest over the ground: 0 to the camera, 90 to the right of the picture, 180 away, -90 left."""
    picture: int
    """Row of the picture in which the knee is highest."""


def estimate_facing(raw: RawLandmarks, hand: Side) -> Facing | Absent:
    """Return where the chest faces when the lead knee is highest, or why that cannot be told.

    `raw` holds one person in some pictures. The direction comes from the model's own depth, which is coarse: it tells
    sides apart, not degrees.
    """
    if not len(raw.pixels):
        return Absent(reason="Nobody was seen.")
    lead = "LEFT" if hand is Side.RIGHT else "RIGHT"
    hips = raw.pixels[:, [Landmark.LEFT_HIP, Landmark.RIGHT_HIP], 1].mean(axis=1)
    knee = raw.pixels[:, Landmark[f"{lead}_KNEE"], 1]
    height = (hips - knee) / np.maximum(measure_torso(raw), 1e-6)
    highest = int(np.argmax(height))
    if height[highest] < KNEE_UP:
        return Absent(reason="No leg lift was among the pictures looked at.")
    marks = [Landmark.LEFT_SHOULDER, Landmark.RIGHT_SHOULDER, Landmark.LEFT_HIP, Landmark.RIGHT_HIP]
    places = raw.world_m[highest, marks]
    across = (places[0] - places[1]) + (places[2] - places[3])
    # The chest faces a quarter turn from the line to the left side: with the left side away it faces right.
    return Facing(chest_deg=float(np.degrees(np.arctan2(across[2], across[0]))), picture=highest)


def choose_direction(facing: Facing, hand: Side) -> str | Absent:
    """Return where a camera stands that sees the chest so: `open side`, `glove side`, `behind` or `front`.

    At the lift the chest faces the open side; the target lies to the left of the chest of a right-hander.
    """
    right, left = ("behind", "front") if hand is Side.RIGHT else ("front", "behind")
    for centre_deg, name in ((0.0, "open side"), (90.0, right), (180.0, "glove side"), (-90.0, left)):
        away_deg = abs((facing.chest_deg - centre_deg + 180.0) % 360.0 - 180.0)
        if away_deg < SECTOR_DEG / 2:
            return name
    return Absent(reason="The camera stands between two views.")
