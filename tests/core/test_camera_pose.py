"""A camera's pose from known points: flat and solid, exact and noisy, and when it is refused.

Sides: round trip through a known camera, OpenCV's solvePnP, Monte Carlo of the covariance (mean of a
chi-squared with the tolerance of its sample size), moved and turned field frames, the reflection of a
plane, refusals by case.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.flaws import REACH_M, measure_turn_deg, predict_spread_m
from elbowroom.core.cameras.frames import shift_field, shift_set_up
from elbowroom.core.cameras.lens import assume_phone_lens, list_lens_values, shift_lens
from elbowroom.core.cameras.pose import estimate_camera, shift_camera
from elbowroom.core.cameras.project import project_points, project_with_jacobian
from elbowroom.core.cameras.starts import reflect_pose
from elbowroom.core.cameras.types import CAMERA_PARAMETERS, Camera, FieldSetUp, Lens, LensEstimate, SeenPoints
from elbowroom.core.quantities.types import Absent

Array = NDArray[np.float64]

BOARD = np.array([[x, y, 0.0] for x in np.arange(1, 8) * 0.1 for y in -np.arange(1, 6) * 0.1])
LENS = Lens(
    width_px=1280,
    height_px=720,
    focal_px=1000.0,
    centre_px=(642.0, 355.0),
    distortion=(-0.12, 0.05, 0.001, -0.002),
)
KNOWN = LensEstimate(
    lens=LENS,
    covariance=np.diag(np.array([2.0, 2.0, 2.0, 0.01, 0.02, 5e-4, 5e-4]) ** 2),
    residual_px=0.3,
    pictures=20,
)


def aim_camera(place: Sequence[float], target: Sequence[float] = (0.5, 0.0, 0.9)) -> Camera:
    """Return a camera at `place` that looks at `target`, upright."""
    forward = np.asarray(target) - np.asarray(place)
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    rotation = np.array([right, np.cross(forward, right), forward])
    return Camera(
        name="phone",
        lens=LENS,
        rotation=rotation,
        translation=-rotation @ np.asarray(place),
        covariance=np.zeros((CAMERA_PARAMETERS, CAMERA_PARAMETERS)),
        residual_px=0.0,
    )


def show_points(camera: Camera, points: Array, noise_px: float = 0.0, seed: int = 0) -> SeenPoints:
    noise = np.random.default_rng(seed).normal(size=(len(points), 2)) * noise_px
    return SeenPoints(field_m=points, pixels=project_points(camera, points) + noise, standard_px=noise_px or 0.1)


def expect_camera(found: Camera | Absent) -> Camera:
    assert isinstance(found, Camera), found
    return found


PLACES = [(4.0, 3.0, 1.2), (-3.0, -4.0, 1.5), (6.0, 0.2, 1.0), (-5.0, 0.5, 0.7), (0.4, -0.3, 3.0)]


@pytest.mark.parametrize("place", PLACES)
def test_exact_points_give_the_camera_back(place: tuple[float, float, float]) -> None:
    true = aim_camera(place, (0.4, -0.2, 0.3))
    found = expect_camera(estimate_camera("phone", KNOWN, [show_points(true, BOARD)]))
    assert np.allclose(found.place, place, atol=1e-5)
    assert measure_turn_deg(found, true) < 1e-4
    assert found.residual_px < 1e-4


def test_points_in_space_give_the_camera_back() -> None:
    true = aim_camera((4.0, 3.0, 1.2))
    points = np.random.default_rng(5).uniform([-0.5, -0.5, 0.0], [1.5, 0.5, 1.8], (9, 3))
    found = expect_camera(estimate_camera("phone", KNOWN, [show_points(true, points)]))
    assert np.allclose(found.place, true.place, atol=1e-5)


def test_the_pose_is_that_of_opencv_when_the_lens_is_certain() -> None:
    true = aim_camera((4.0, -2.0, 1.4))
    seen = show_points(true, BOARD, noise_px=0.5, seed=3)
    certain = replace(KNOWN, covariance=np.eye(7) * 1e-16)
    found = expect_camera(estimate_camera("phone", certain, [seen]))
    matrix = np.array([[1000.0, 0, 642], [0, 1000, 355], [0, 0, 1]])
    start = Rotation.from_matrix(true.rotation).as_rotvec(), true.translation.copy()
    _, vector, translation = cv2.solvePnP(
        seen.field_m,
        seen.pixels,
        matrix,
        np.array(LENS.distortion),
        start[0].copy(),
        start[1].copy(),
        useExtrinsicGuess=True,
        flags=cv2.SOLVEPNP_ITERATIVE,
    )
    vector, translation = cv2.solvePnPRefineLM(
        seen.field_m, seen.pixels, matrix, np.array(LENS.distortion), vector, translation
    )
    assert np.allclose(Rotation.from_rotvec(vector[:, 0]).as_matrix(), found.rotation, atol=2e-5)
    assert np.allclose(translation[:, 0], found.translation, atol=1e-4)


def measure_errors(true: Camera, found: Camera) -> Array:
    """Return true minus found in the order and sense of `Camera.covariance`."""
    return np.concatenate(
        [
            list_lens_values(true.lens) - list_lens_values(found.lens),
            Rotation.from_matrix(true.rotation @ found.rotation.T).as_rotvec(),
            true.translation - found.translation,
        ]
    )


def test_errors_are_as_large_as_the_covariance_says() -> None:
    rng = np.random.default_rng(17)
    runs, squares, heights = 150, [], []
    for seed in range(runs):
        bearing, distance = rng.uniform(0, 2 * np.pi), rng.uniform(3, 7)
        true = aim_camera((distance * np.cos(bearing), distance * np.sin(bearing), rng.uniform(0.8, 2)))
        lens = shift_lens(LENS, rng.multivariate_normal(np.zeros(7), KNOWN.covariance))
        found = estimate_camera("phone", replace(KNOWN, lens=lens), [show_points(true, BOARD, 0.3, seed)])
        error = measure_errors(true, expect_camera(found))
        squares.append(error @ np.linalg.solve(expect_camera(found).covariance, error))
        heights.append(error[-1] / np.sqrt(expect_camera(found).covariance[-1, -1]))
    # Chi-squared with 13 degrees has variance 26; four standard deviations of the mean, and 0.5 because the part of
    # the covariance from the points is widened, never narrowed, by their scatter.
    assert np.mean(squares) == pytest.approx(CAMERA_PARAMETERS, abs=4 * np.sqrt(26 / runs) + 0.5)
    assert np.mean(np.square(heights)) == pytest.approx(1.0, abs=4 * np.sqrt(2 / runs) + 0.1)


def test_an_assumed_phone_learns_its_focal_length_from_the_board() -> None:
    true = aim_camera((3.0, 2.0, 1.2), (0.4, -0.2, 0.2))
    assumed = assume_phone_lens(1280, 720)
    found = expect_camera(estimate_camera("phone", assumed, [show_points(true, BOARD, 0.3, 1)]))
    prior, after = np.sqrt(assumed.covariance[0, 0]), np.sqrt(found.covariance[0, 0])
    assert after < 0.7 * prior
    assert abs(found.lens.focal_px - 1000) < 3 * after


def test_the_assumed_focal_length_is_that_of_its_field_of_view() -> None:
    lens = assume_phone_lens(1080, 1920).lens
    across = np.degrees(2 * np.arctan(1920 / 2 / lens.focal_px))
    assert across == pytest.approx(65.0)
    narrow = 960 / np.tan(np.radians(35))
    spread = np.sqrt(assume_phone_lens(1080, 1920).covariance[0, 0])
    assert spread == pytest.approx(lens.focal_px - narrow, rel=0.08)


def test_both_tilts_of_the_plane_are_tried() -> None:
    true = aim_camera((5.0, 1.0, 1.3), (0.4, -0.2, 0.0))
    flipped, moved = reflect_pose(true.rotation, true.translation, BOARD)
    middle = BOARD.mean(axis=0)
    assert np.allclose(flipped @ middle + moved, true.rotation @ middle + true.translation)
    normals = flipped[:, 2], true.rotation[:, 2]
    sight = true.rotation @ middle + true.translation
    assert normals[0] @ sight == pytest.approx(normals[1] @ sight)
    assert np.allclose(flipped @ flipped.T, np.eye(3))
    assert np.linalg.det(flipped) == pytest.approx(1.0)
    assert normals[0] @ normals[1] < 0.99


@pytest.mark.parametrize(
    ("points", "words"),
    [
        pytest.param(BOARD[:3], "Only 3 known points", id="too-few"),
        pytest.param(np.repeat(BOARD[:2], 3, axis=0), "Only 2 known points", id="repeated"),
        pytest.param(BOARD[::5], "one line", id="collinear"),
        pytest.param(np.zeros((0, 3)), "Only 0 known points", id="none"),
    ],
)
def test_points_that_fix_no_pose_are_refused(points: Array, words: str) -> None:
    found = estimate_camera("phone", KNOWN, [show_points(aim_camera((4.0, 3.0, 1.2)), points)])
    assert isinstance(found, Absent)
    assert words in found.reason
    assert found.advice


def test_marks_with_swapped_names_are_refused() -> None:
    seen = show_points(aim_camera((4.0, 3.0, 1.2)), BOARD, 0.3)
    pixels = seen.pixels.copy()
    pixels[[0, 30]] = pixels[[30, 0]]
    found = estimate_camera("phone", KNOWN, [replace(seen, pixels=pixels)])
    assert isinstance(found, Absent)
    assert "miss their places" in found.reason


def test_a_board_too_far_is_refused() -> None:
    true = aim_camera((60.0, 40.0, 1.5))
    found = estimate_camera("phone", KNOWN, [show_points(true, BOARD, 0.5)])
    assert isinstance(found, Absent)
    assert "too loose" in found.reason or "two camera poses" in found.reason


def test_the_predicted_spread_is_what_redrawn_cameras_show() -> None:
    true = aim_camera((4.0, 3.0, 1.2))
    found = expect_camera(estimate_camera("phone", KNOWN, [show_points(true, BOARD, 0.3)]))
    draws = np.random.default_rng(2).multivariate_normal(np.zeros(13), found.covariance, 2000)
    pixels = np.array([project_points(shift_camera(found, draw), REACH_M) for draw in draws])
    depth = REACH_M @ found.rotation[2] + found.translation[2]
    drawn_m = np.sqrt(pixels.var(axis=0).sum(axis=1)) * depth / found.lens.focal_px
    assert np.allclose(predict_spread_m(found, REACH_M), drawn_m, rtol=4 / np.sqrt(2 * 2000))


def test_a_moved_field_shows_the_same_pixels_with_the_same_uncertainty() -> None:
    camera = aim_camera((4.0, 3.0, 1.2))
    root = np.random.default_rng(9).normal(size=(13, 13)) * 1e-3
    camera = replace(camera, covariance=root @ root.T)
    origin, turn = np.array([0.7, -0.4, 0.1]), Rotation.from_rotvec([0.1, 0.2, 1.1]).as_matrix()
    moved = shift_field(camera, origin, turn)
    points = BOARD + np.array([0.2, 0.1, 0.8])
    there = (points - origin) @ turn.T
    assert np.allclose(project_points(moved, there), project_points(camera, points))
    here_by, there_by = (project_with_jacobian(item, places)[2] for item, places in ((camera, points), (moved, there)))
    assert np.allclose(
        here_by @ camera.covariance @ here_by.transpose(0, 2, 1),
        there_by @ moved.covariance @ there_by.transpose(0, 2, 1),
    )


def test_a_moved_set_up_keeps_the_ground_under_the_thrower() -> None:
    camera = aim_camera((4.0, 3.0, 1.2))
    set_up = FieldSetUp(
        cameras=(camera,),
        scale_standard=0.002,
        target_standard_rad=0.01,
        upright_standard_rad=0.01,
        ground_height_m=0.25,
    )
    moved = shift_set_up(set_up, np.array([1.0, 2.0, 0.25]))
    assert moved.ground_height_m == 0.0
    assert np.allclose(moved.cameras[0].place, camera.place - [1.0, 2.0, 0.25])
