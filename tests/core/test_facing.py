"""Facing and light: from which side a camera sees a thrower, and how bright pictures are.

Sides: a body built in field coordinates and seen from cameras at known places (the views' own definition) against the
answer; both hands mirrored; pictures of a known level.
"""

from __future__ import annotations

import numpy as np
import pytest

from elbowroom.core.clips.light import measure_light
from elbowroom.core.landmarks.facing import Facing, choose_direction, estimate_facing
from elbowroom.core.landmarks.names import Landmark, Side
from elbowroom.core.landmarks.types import RawLandmarks
from elbowroom.core.quantities.types import Absent

# Field frame: x to the target, z up, y = z cross x, which lies to the left of who looks at the target. A right-hander
# at the lift stands side-on: left side to the target (+x), chest to -y, which is the open side.
CAMERAS = {"open side": (0.0, -1.0), "glove side": (0.0, 1.0), "behind": (-1.0, 0.0), "front": (1.0, 0.0)}


def see_body(place: tuple[float, float], hand: Side, knee: float = 0.1) -> RawLandmarks:
    """Return the landmarks of a thrower at the lift as a camera at `place` (towards the origin) sees them.

    The model's world: x right in the picture, y down, z away from the camera.
    """
    sign = 1.0 if hand is Side.RIGHT else -1.0
    lead, other = ("LEFT", "RIGHT") if hand is Side.RIGHT else ("RIGHT", "LEFT")
    field = np.zeros((33, 3))
    for name, x, z in (("SHOULDER", 0.2, 1.3), ("HIP", 0.12, 0.9), ("KNEE", 0.15, 0.5), ("ANKLE", 0.15, 0.1)):
        field[Landmark[f"{lead}_{name}"]] = (x, 0.0, z)
        field[Landmark[f"{other}_{name}"]] = (-x, 0.0, z)
    field[Landmark[f"{lead}_KNEE"], 2] = 0.9 + knee
    away = -np.array([place[0], place[1] * sign, 0.0])
    # A left-hander's open side lies at +y: the camera that is said to stand there is moved over.
    right = np.cross(away, [0.0, 0.0, 1.0])
    world = np.column_stack([field @ right, -field[:, 2], field @ away])[None]
    pixels = 500.0 + 300.0 * world[..., :2]
    ones = np.ones((1, 33))
    return RawLandmarks(
        pixels=pixels,
        depth_px=300.0 * world[..., 2],
        world_m=world,
        visibility=ones,
        presence=ones,
        peak=ones,
        spread_px=ones,
        person_score=np.ones(1),
        region_size_px=np.full(1, 600.0),
    )


@pytest.mark.parametrize("hand", list(Side))
@pytest.mark.parametrize("view", list(CAMERAS))
def test_each_view_is_told_from_the_others(view: str, hand: Side) -> None:
    facing = estimate_facing(see_body(CAMERAS[view], hand), hand)
    assert isinstance(facing, Facing)
    assert choose_direction(facing, hand) == view


def test_between_two_views_nothing_is_said() -> None:
    facing = estimate_facing(see_body((-0.7071, -0.7071), Side.RIGHT), Side.RIGHT)
    assert isinstance(facing, Facing)
    assert isinstance(choose_direction(facing, Side.RIGHT), Absent)


def test_without_a_lift_nothing_is_said() -> None:
    assert isinstance(estimate_facing(see_body((0.0, -1.0), Side.RIGHT, knee=-0.4), Side.RIGHT), Absent)


@pytest.mark.parametrize(("level", "black", "white"), [(10, 1.0, 0.0), (128, 0.0, 0.0), (255, 0.0, 1.0)])
def test_light_of_even_pictures(level: int, black: float, white: float) -> None:
    light = measure_light([np.full((40, 60, 3), level, np.uint8)])
    assert light.mean_level == pytest.approx(level)
    assert (light.black_share, light.white_share) == (black, white)


def test_green_counts_most() -> None:
    picture = np.zeros((8, 8, 3), np.uint8)
    means = []
    for channel in range(3):
        one = picture.copy()
        one[..., channel] = 200
        means.append(measure_light([one]).mean_level)
    assert means[1] > means[0] > means[2]
    assert sum(means) == pytest.approx(200.0)
