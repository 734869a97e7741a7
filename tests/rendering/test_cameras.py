"""The rendered phones' lens, clocks and board.

Sides: our projection against OpenCV's projectPoints (second algorithm); pixel to ray and back (round trip);
board frames against the field's axes (identity); time stamps against the stated clock rule (closed form).
"""

import cv2
import numpy as np
import pytest

from rendering.board import SIZE_M, lay_board, stand_board
from rendering.cameras import Phone, aim_phone, find_picture_times, find_rays, place_phone, project_points
from rendering.sound import SAMPLE_HZ, find_pop_times, record_sound

PHONE = place_phone(np.random.default_rng(4), "open-side", "R", (1280, 720), 240.0)


def draw_points(count: int) -> np.ndarray:
    return np.random.default_rng(5).uniform([-0.5, -1.0, 0.0], [1.6, 1.0, 2.0], (count, 3))


def test_projection_agrees_with_opencv() -> None:
    points = draw_points(50)
    turn, _ = cv2.Rodrigues(PHONE.rotation)
    expected, _ = cv2.projectPoints(points, turn, PHONE.translation, PHONE.matrix, PHONE.distortion)
    assert np.allclose(project_points(PHONE, points), expected[:, 0], atol=1e-9)


def test_rays_undo_the_lens() -> None:
    points = draw_points(50)
    rays = find_rays(PHONE, project_points(PHONE, points))
    away = points - PHONE.centre
    cosine = np.sum(rays * away, axis=1) / np.linalg.norm(rays, axis=1) / np.linalg.norm(away, axis=1)
    assert np.degrees(np.arccos(np.clip(cosine, -1, 1))).max() < 1e-3


@pytest.mark.parametrize("view", ["open-side", "front", "behind", "front-oblique"])
@pytest.mark.parametrize("side", ["R", "L"])
def test_the_thrower_is_in_the_picture(view: str, side: str) -> None:
    phone: Phone = place_phone(np.random.default_rng(6), view, side, (1280, 720), 240.0)
    pixels = project_points(phone, np.array([[0.55, 0.0, 0.1], [0.55, 0.0, 1.8]]))
    assert np.all(pixels > 0)
    assert np.all(pixels < [1280, 720])
    assert pixels[0, 1] > pixels[1, 1]


def test_camera_looks_at_its_aim() -> None:
    rotation, translation = aim_phone(np.array([1.0, -4.0, 1.3]), np.array([0.5, 0.0, 1.0]), 3.0)
    seen = rotation @ np.array([0.5, 0.0, 1.0]) + translation
    assert np.allclose(seen[:2], 0.0, atol=1e-12)
    assert np.linalg.det(rotation) == pytest.approx(1.0)


def test_board_lies_print_up_with_x_to_the_target() -> None:
    turn = lay_board((0.2, 0.3))[:3, :3]
    assert np.allclose(turn @ [1, 0, 0], [1, 0, 0])
    assert np.allclose(turn @ [0, 0, 1], [0, 0, -1])
    assert np.linalg.det(turn) == pytest.approx(1.0)


def test_standing_board_touches_the_ground_along_its_long_edge() -> None:
    pose = stand_board((0.5, 0.1), -45.0, 20.0)
    low = pose[:3, :3] @ np.array([[0.0, SIZE_M[1], 0.0], [SIZE_M[0], SIZE_M[1], 0.0]]).T + pose[:3, 3:]
    assert np.allclose(low[2], 0.0, atol=1e-12)
    assert np.allclose(low[:2].mean(axis=1), [0.5, 0.1])
    towards = -pose[:3, 2]
    assert np.degrees(np.arctan2(towards[1], towards[0])) == pytest.approx(-45.0)
    assert towards[2] == pytest.approx(np.sin(np.radians(20.0)))


def test_picture_times_follow_the_phone_clock() -> None:
    times = find_picture_times(PHONE, 241)
    assert times[0] == PHONE.start_s
    assert times[240] - times[0] == pytest.approx(1.0 + PHONE.drift, abs=1e-12)


def test_pop_is_heard_late_by_its_way() -> None:
    heard = find_pop_times([1.0], np.array([9.0, 0.0, 0.8]), np.array([9.0, 3.43, 0.8]))
    assert heard[0] == pytest.approx(1.01)
    samples = record_sound(np.random.default_rng(7), 1.5, heard)
    loud = np.flatnonzero(np.abs(samples) > 0.1)
    assert loud[0] / SAMPLE_HZ == pytest.approx(1.01, abs=0.001)
