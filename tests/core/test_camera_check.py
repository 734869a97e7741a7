"""Whether a set-up can measure a throw, and the advice where it cannot.

Sides: set-ups laid out by hand with known angles, heights and sizes (closed form), the advised place put
back into the check (round trip), turned fields, cameras moved apart by a known distance.
"""

from __future__ import annotations

from dataclasses import replace
from math import cos, radians, sin

import numpy as np
import pytest

from elbowroom.core.cameras.check import (
    FlawKind,
    SharedPoints,
    check_set_up,
    find_crossing_place,
    measure_angle_deg,
)
from elbowroom.core.cameras.frames import shift_field
from elbowroom.core.cameras.project import project_points
from elbowroom.core.cameras.types import Camera, Lens
from tests.makers.boards import aim_camera

LENS = Lens(width_px=1280, height_px=720, focal_px=1000.0, centre_px=(639.5, 359.5))
FEET = np.zeros(3)


def stand_camera(bearing_deg: float, distance_m: float = 5.0, height_m: float = 1.3, name: str = "a") -> Camera:
    place = (distance_m * cos(radians(bearing_deg)), distance_m * sin(radians(bearing_deg)), height_m)
    return replace(aim_camera(LENS, place, (0.0, 0.0, 0.85)), name=name)


def list_kinds(*cameras: Camera, height_m: float = 1.7) -> list[FlawKind]:
    return [flaw.kind for flaw in check_set_up(cameras, FEET, height_m)]


def test_two_views_at_a_right_angle_are_sound() -> None:
    assert list_kinds(stand_camera(-90), stand_camera(0, name="b")) == []


@pytest.mark.parametrize("bearing_deg", [-75, -105, 80, 100])
def test_nearly_equal_and_opposite_views_are_refused(bearing_deg: float) -> None:
    flaws = check_set_up((stand_camera(-90), stand_camera(bearing_deg, name="b")), FEET, 1.7)
    assert [flaw.kind for flaw in flaws] == [FlawKind.NEARLY_EQUAL_VIEWS]
    assert flaws[0].is_fatal
    assert "Move camera b" in flaws[0].advice
    is_ahead = cos(radians(bearing_deg)) > 0
    assert ("ahead of" in flaws[0].advice) == is_ahead
    assert ("behind" in flaws[0].advice) != is_ahead


def test_a_third_view_makes_up_for_an_equal_pair() -> None:
    flaws = check_set_up((stand_camera(-90), stand_camera(-80, name="b"), stand_camera(0, name="c")), FEET, 1.7)
    assert [flaw.is_fatal for flaw in flaws] == [False]


def test_the_advised_place_is_a_right_angle_and_the_nearer_of_two() -> None:
    first, second = stand_camera(-90), stand_camera(-75, name="b")
    place = find_crossing_place(first.place, second.place)
    assert measure_angle_deg(np.array([*place, 1.3]), first.place * [1, 1, 0]) == pytest.approx(90, abs=1e-6) or (
        abs(place @ first.place[:2]) < 1e-9
    )
    assert place[0] > 0
    assert np.linalg.norm(place) == pytest.approx(5.0)
    moved = replace(aim_camera(LENS, (*place, 1.3), (0.0, 0.0, 0.85)), name="b")
    assert list_kinds(first, moved) == []


def test_a_small_thrower_is_refused_with_how_far_to_move() -> None:
    flaws = check_set_up((stand_camera(-90, 10.0), stand_camera(0, name="b")), FEET, 1.7)
    assert [flaw.kind for flaw in flaws] == [FlawKind.THROWER_TOO_SMALL]
    # 1.7 m at 10 m with a focal length of 1000 px is 170 px: 68 % of 250.
    assert "170 px" in flaws[0].reason
    assert "68 %" in flaws[0].advice


def test_a_thrower_cut_off_is_refused() -> None:
    assert list_kinds(stand_camera(-90, 1.5), stand_camera(0, name="b")) == [FlawKind.THROWER_CUT_OFF]
    away = aim_camera(LENS, (0.0, -5.0, 1.3), (0.0, -9.0, 1.3))
    assert FlawKind.THROWER_CUT_OFF in list_kinds(away, stand_camera(0, name="b"))


def test_a_camera_under_the_ground_is_refused() -> None:
    kinds = list_kinds(stand_camera(-90, height_m=-1.3), stand_camera(0, name="b"))
    assert kinds == [FlawKind.CAMERA_UNDER_GROUND]


def test_a_loose_pose_brings_advice() -> None:
    spread = np.zeros((13, 13))
    spread[10:, 10:] = np.eye(3) * 0.04**2
    loose = replace(stand_camera(-90), covariance=spread)
    flaws = check_set_up((loose, stand_camera(0, name="b")), FEET, 1.7)
    # 4 cm across and 4 cm up are 5.7 cm across the line of sight.
    assert "5." in flaws[0].reason
    assert [(flaw.kind, flaw.is_fatal) for flaw in flaws] == [(FlawKind.POSE_TOO_LOOSE, False)]


@pytest.mark.parametrize(("apart_m", "expected"), [(0.0, 0), (0.02, 0), (0.4, 1)])
def test_cameras_that_disagree_are_refused(apart_m: float, expected: int) -> None:
    cameras = stand_camera(-90), stand_camera(0, name="b")
    points = np.random.default_rng(1).uniform([-0.5, -0.5, 0], [0.5, 0.5, 0.1], (12, 3))
    pixels = np.array([project_points(camera, points) for camera in cameras])
    moved = cameras[0], shift_field(cameras[1], np.array([0.0, apart_m, 0.0]), np.eye(3))
    shared = SharedPoints(pixels=pixels, field_m=points)
    kinds = [flaw.kind for flaw in check_set_up(moved, FEET, 1.7, shared)]
    assert kinds == [FlawKind.CAMERAS_DISAGREE] * expected


def test_a_turned_field_has_the_same_flaws() -> None:
    cameras = stand_camera(-90, 10.0), stand_camera(-80, name="b")
    turn = np.array([[cos(0.7), -sin(0.7), 0], [sin(0.7), cos(0.7), 0], [0, 0, 1.0]])
    turned = [shift_field(camera, np.zeros(3), turn) for camera in cameras]
    assert list_kinds(*cameras) == list_kinds(*turned)
