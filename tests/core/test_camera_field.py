"""All cameras of a visit in one field frame, from boards and marks.

Sides: round trip through known cameras, Monte Carlo against the stated covariance, the same answer from the
joint estimate and from each camera alone where nothing ties them, refusals by case.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from elbowroom.adapters.boards.board import LARGE, locate_corners
from elbowroom.core.cameras.field import FieldCameras, GroundView, estimate_field_cameras
from elbowroom.core.cameras.frames import shift_field
from elbowroom.core.cameras.lens import list_lens_values, shift_lens
from elbowroom.core.cameras.marks import locate_cross_marks, locate_home_marks, locate_plate_marks
from elbowroom.core.cameras.project import project_points
from elbowroom.core.cameras.set_up import Ground, build_set_up
from elbowroom.core.cameras.types import Camera, Lens, LensEstimate, SeenPoints
from elbowroom.core.quantities.types import Absent
from tests.makers.boards import aim_camera

Array = NDArray[np.float64]

LENS = Lens(width_px=1280, height_px=720, focal_px=1005.0, centre_px=(641, 358), distortion=(0.05, -0.08, 0.0, 0.0))
LENS_COVARIANCE = np.diag(np.array([3.0, 3.0, 3.0, 0.006, 0.012, 1e-3, 1e-3]) ** 2)
PLATES = {**locate_plate_marks(0.61, 0.152), **locate_home_marks(14.0, 0.0, 0.432, 0.216, 0.432)}
CROSS = locate_cross_marks(0.5, 0.5, 0.5, 0.5)
CROSS_AHEAD = np.array([2.2, 0.0, 0.0])
CAMERAS = (
    replace(aim_camera(LENS, (0.75, -4.4, 1.3), (0.6, 0.0, 0.9)), name="open side"),
    replace(aim_camera(LENS, (5.4, 0.4, 1.4), (0.6, 0.0, 0.9)), name="front"),
)
STANDING = Rotation.from_euler("zx", [42, 70], degrees=True).as_matrix()
BOARD_PLACE = np.array([0.4, -0.1, 0.05])


def view_ground(
    camera: Camera, rng: np.random.Generator, things: Sequence[str], noise: tuple[float, float] = (1.5, 0.2)
) -> GroundView:
    """Return what a camera sees of the things named, with the lens known up to its covariance."""
    places = {**PLATES, **{name: place + CROSS_AHEAD for name, place in CROSS.items()}}
    names = [
        name
        for name in places
        if name.split("_")[0] in things and np.isfinite(project_points(camera, places[name])).all()
    ]
    pixels = project_points(camera, np.array([places[name] for name in names]).reshape(-1, 3))
    pixels += rng.normal(size=pixels.shape) * noise[0]
    corners = locate_corners(LARGE)
    board = project_points(camera, corners @ STANDING.T + BOARD_PLACE)
    seen = SeenPoints(field_m=corners, pixels=board + rng.normal(size=board.shape) * noise[1], standard_px=0.2)
    step = rng.multivariate_normal(np.zeros(7), LENS_COVARIANCE) if noise[0] else np.zeros(7)
    lens = LensEstimate(lens=shift_lens(LENS, step), covariance=LENS_COVARIANCE, residual_px=0.2, pictures=20)
    return GroundView(
        name=camera.name,
        lens=lens,
        marks={name: (float(x), float(y)) for name, (x, y) in zip(names, pixels, strict=True)},
        resting=(seen,) if "board" in things else (),
        row_time_s=0.0,
    )


def expect_cameras(found: FieldCameras | Absent) -> FieldCameras:
    assert isinstance(found, FieldCameras), found
    return found


@pytest.mark.parametrize(
    ("things", "ground"),
    [
        pytest.param(("plate", "cross", "board"), Ground.PLATE, id="all"),
        pytest.param(("plate", "home", "board"), Ground.BOTH_PLATES, id="plates-board"),
        pytest.param(("cross",), Ground.CROSS, id="cross"),
    ],
)
def test_exact_sights_give_the_cameras_back(things: tuple[str, ...], ground: Ground) -> None:
    rng = np.random.default_rng(0)
    views = [view_ground(camera, rng, things, (0.0, 0.0)) for camera in CAMERAS]
    found = expect_cameras(estimate_field_cameras(views, PLATES, CROSS))
    origin = CROSS_AHEAD if ground is Ground.CROSS else np.zeros(3)
    assert found.ground is ground
    for camera, true in zip(found.cameras, CAMERAS, strict=True):
        assert camera.name == true.name
        assert np.allclose(camera.place, true.place - origin, atol=1e-3)


def test_a_camera_without_marks_is_tied_by_the_board() -> None:
    rng = np.random.default_rng(0)
    views = [
        view_ground(CAMERAS[0], rng, ("plate", "cross", "board"), (0.0, 0.0)),
        view_ground(CAMERAS[1], rng, ("board",), (0.0, 0.0)),
    ]
    found = expect_cameras(estimate_field_cameras(views, PLATES, CROSS))
    assert np.allclose(found.cameras[1].place, CAMERAS[1].place, atol=2e-3)


@pytest.mark.parametrize("seed", range(3))
def test_a_mirrored_pose_of_the_board_that_puts_marks_behind_a_camera_is_left_out(seed: int) -> None:
    pair = (
        replace(aim_camera(LENS, (0.6, -4.2, 1.3), (0.5, 0.0, 0.9)), name="open side"),
        replace(aim_camera(LENS, (-3.5, -0.3, 1.3), (0.6, 0.0, 0.9)), name="behind"),
    )
    rng = np.random.default_rng(seed)
    views = [view_ground(camera, rng, ("plate", "cross", "board")) for camera in pair]
    found = expect_cameras(estimate_field_cameras(views, PLATES, CROSS))
    for camera, true in zip(found.cameras, pair, strict=True):
        spread = np.sqrt(np.diag(camera.rotation.T @ camera.covariance[10:, 10:] @ camera.rotation))
        assert np.all(np.abs(camera.place - true.place) < 4 * spread)


def test_a_flat_board_alone_makes_the_frame() -> None:
    rng = np.random.default_rng(0)
    corners = locate_corners(LARGE)
    views = []
    for camera in CAMERAS:
        view = view_ground(camera, rng, ("board",), (0.0, 0.0))
        flat = replace(view.resting[0], pixels=project_points(camera, corners + BOARD_PLACE * [1, 1, 0]))
        views.append(replace(view, resting=(flat,)))
    found = expect_cameras(estimate_field_cameras(views, PLATES, CROSS))
    assert found.ground is Ground.BOARD
    for camera, true in zip(found.cameras, CAMERAS, strict=True):
        assert np.allclose(camera.place, true.place - BOARD_PLACE * [1, 1, 0], atol=1e-3)


def test_a_standing_board_alone_is_refused() -> None:
    rng = np.random.default_rng(0)
    views = [view_ground(camera, rng, ("board",), (0.0, 0.0)) for camera in CAMERAS]
    steep = aim_camera(LENS, (0.4, -0.3, 4.0), (0.4, -0.28, 0.0))
    seen = replace(views[0].resting[0], pixels=project_points(steep, locate_corners(LARGE)))
    found = estimate_field_cameras([replace(views[0], resting=(seen,))], PLATES, CROSS)
    assert isinstance(found, Absent)
    assert "does not lie on the ground" in found.reason


def test_a_board_that_was_moved_between_the_cameras_is_refused() -> None:
    rng = np.random.default_rng(0)
    views = [view_ground(camera, rng, ("plate", "cross", "board")) for camera in CAMERAS]
    moved = shift_field(CAMERAS[1], np.array([0.0, 0.6, 0.0]), np.eye(3))
    corners = locate_corners(LARGE) @ STANDING.T + BOARD_PLACE
    seen = replace(views[1].resting[0], pixels=project_points(moved, corners))
    found = estimate_field_cameras([views[0], replace(views[1], resting=(seen,))], PLATES, CROSS)
    assert isinstance(found, Absent)
    assert "miss their places" in found.reason


def test_no_marks_and_no_board_are_refused_with_advice() -> None:
    views = [view_ground(camera, np.random.default_rng(0), ()) for camera in CAMERAS]
    found = estimate_field_cameras(views, PLATES, CROSS)
    assert isinstance(found, Absent)
    assert found.advice


def test_errors_are_as_large_as_the_joint_covariance_says() -> None:
    runs, squares = 16, []
    for seed in range(runs):
        rng = np.random.default_rng(seed)
        views = [view_ground(camera, rng, ("plate", "cross", "board")) for camera in CAMERAS]
        found = expect_cameras(estimate_field_cameras(views, PLATES, CROSS))
        for camera, true in zip(found.cameras, CAMERAS, strict=True):
            error = np.concatenate(
                [
                    list_lens_values(true.lens) - list_lens_values(camera.lens),
                    Rotation.from_matrix(true.rotation @ camera.rotation.T).as_rotvec(),
                    true.translation - camera.translation,
                ]
            )
            squares.append(error @ np.linalg.solve(camera.covariance, error))
    # Chi-squared with 13 degrees: variance 26. The two cameras of a run go together, so runs count, not cameras. The
    # marks are simulated exactly laid while the estimate allows for 3 to 5 mm, so the mean may fall below 13.
    tolerance = 4 * np.sqrt(26 / runs)
    assert 13 - tolerance - 2 < np.mean(squares) < 13 + tolerance


def test_the_set_up_carries_its_standards() -> None:
    set_up = build_set_up(CAMERAS, Ground.BOARD)
    assert set_up.scale_standard == 0.002
    assert set_up.target_standard_rad == pytest.approx(np.radians(1.0))
    assert "board" in set_up.how
    assert "2 cameras" in set_up.how
