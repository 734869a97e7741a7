"""The board: printed to scale, found in pictures, and the lens and place that its clip gives.

Sides: OpenCV's detector on the rasterised print against the stated sizes, pictures drawn ray by ray through
a known camera, OpenCV's own standard deviations of a calibration, a still run laid out by hand, refusals by
case.
"""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from elbowroom.adapters.boards.board import BOARDS, LARGE, MIDDLE, SMALL, Board, build_detectable, locate_corners
from elbowroom.adapters.boards.calibrate import (
    SHARED_ERROR_FACTOR,
    build_lens_estimate,
    calibrate_sights,
    choose_sights,
    estimate_lens,
)
from elbowroom.adapters.boards.detect import BoardSight, detect_board
from elbowroom.adapters.boards.print import RULER_MM, find_board_corner_mm, render_sheet, write_board_pdf
from elbowroom.adapters.boards.rest import find_resting
from elbowroom.core.cameras.lens import list_lens_values
from elbowroom.core.cameras.pose import estimate_camera
from elbowroom.core.cameras.project import project_points
from elbowroom.core.cameras.types import Camera, Lens, LensEstimate
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import SetUpError
from tests.makers.boards import Fading, aim_camera, draw_board, hold_board

Array = NDArray[np.float64]
Picture = NDArray[np.uint8]
MM_PER_INCH = 25.4
LENS = Lens(
    width_px=1280,
    height_px=720,
    focal_px=1040.0,
    centre_px=(644.0, 357.0),
    distortion=(0.08, -0.1, 0.0008, -0.0005),
)
SHEETS = [(LARGE, "poster", 100), (SMALL, "letter", 200), (SMALL, "a4", 200), (MIDDLE, "a3", 150)]


def find_corner_errors_mm(picture: Picture, board: Board, paper: str, dots_per_inch: float) -> Array:
    """Return where the detector finds the corners of a rasterised sheet less where they belong,
    millimetres."""
    found, numbers, _, _ = cv2.aruco.CharucoDetector(build_detectable(board)).detectBoard(picture)
    corners = np.asarray(numbers).ravel()
    assert len(corners) == (board.columns - 1) * (board.rows - 1)
    places_mm = locate_corners(board)[corners, :2] * [1000, -1000] + find_board_corner_mm(board, paper)
    return (np.asarray(found).reshape(-1, 2) + 0.5) * MM_PER_INCH / dots_per_inch - places_mm


@pytest.mark.parametrize(("board", "paper", "dots"), SHEETS)
def test_the_print_is_to_scale(board: Board, paper: str, dots: int) -> None:
    raster = cv2.imdecode(np.frombuffer(render_sheet(board, paper, "png", dots), np.uint8), cv2.IMREAD_GRAYSCALE)
    errors = find_corner_errors_mm(raster, board, paper, dots)
    # A raster rounds each edge to half a dot; 0.2 mm is the tolerance asked of the print.
    assert np.abs(errors).max() < 0.2
    assert np.abs(errors.mean(axis=0)).max() < 0.1


def test_the_pdf_is_to_scale_with_its_line(tmp_path: Path) -> None:
    if shutil.which("pdftoppm") is None:
        pytest.skip("pdftoppm of the system package poppler-utils is not on this machine")
    path = tmp_path / "board.pdf"
    write_board_pdf(path, SMALL, "letter")
    command = ["pdftoppm", "-r", "200", "-gray", "-singlefile", str(path), str(tmp_path / "board")]
    subprocess.run(command, check=True, timeout=60)
    raster = cv2.imread(str(tmp_path / "board.pgm"), cv2.IMREAD_GRAYSCALE)
    assert np.abs(find_corner_errors_mm(raster, SMALL, "letter", 200)).max() < 0.2
    bottom = raster[int((find_board_corner_mm(SMALL, "letter")[1] + 182.0) / MM_PER_INCH * 200) :]
    longest = max(measure_longest_run(row < 128) for row in bottom)
    assert longest * MM_PER_INCH / 200 == pytest.approx(RULER_MM, abs=0.5)


def measure_longest_run(is_dark: NDArray[np.bool_]) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], is_dark.astype(int), [0]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))


@pytest.mark.parametrize(("board", "paper"), [(LARGE, "a4"), (SMALL, "napkin")])
def test_a_sheet_that_cannot_be_is_refused(board: Board, paper: str, tmp_path: Path) -> None:
    with pytest.raises(SetUpError, match="choose"):
        write_board_pdf(tmp_path / "board.pdf", board, paper)
    assert not (tmp_path / "board.pdf").exists()


def test_a_folder_that_is_not_there_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(SetUpError, match="choose another place"):
        write_board_pdf(tmp_path / "nowhere" / "board.pdf", SMALL, "a4")


def test_corner_numbers_run_along_the_sheet_and_z_comes_out_of_it() -> None:
    corners = locate_corners(LARGE)
    assert corners[0] == pytest.approx([0.1, -0.1, 0.0])
    assert corners[1] == pytest.approx([0.2, -0.1, 0.0])
    assert corners[-1] == pytest.approx([0.7, -0.5, 0.0])
    assert set(BOARDS) == {"large", "middle", "small"}


@pytest.fixture(name="sights", scope="module")
def draw_sights() -> list[BoardSight]:
    rng = np.random.default_rng(21)
    views = [draw_board(hold_board(rng, LENS, number), Fading(), rng) for number in range(14)]
    found = [detect_board(view, LARGE, number) for number, view in enumerate(views)]
    assert all(isinstance(sight, BoardSight) for sight in found)
    return [sight for sight in found if isinstance(sight, BoardSight)]


def test_corners_are_found_to_a_fraction_of_a_pixel() -> None:
    rng = np.random.default_rng(8)
    camera = hold_board(rng, LENS, 4)
    sight = detect_board(draw_board(camera, Fading(), rng), LARGE)
    assert isinstance(sight, BoardSight)
    errors = sight.seen.pixels - project_points(camera, sight.seen.field_m)
    assert len(sight.corners) == 35
    assert np.abs(errors.mean(axis=0)).max() < 0.05
    assert errors.std() < sight.seen.standard_px


def test_the_lens_is_found_within_its_uncertainty(sights: list[BoardSight]) -> None:
    found = estimate_lens(sights, (1280, 720))
    assert isinstance(found, LensEstimate)
    error = list_lens_values(LENS) - list_lens_values(found.lens)
    # Chi-squared with 7 degrees stays below 24.3 in 999 of 1000 cases.
    assert error @ np.linalg.solve(found.covariance, error) < 24.3
    assert abs(error[0]) < 0.005 * LENS.focal_px
    assert found.residual_px < 0.3


def test_standard_deviations_of_the_lens_are_those_of_opencv(sights: list[BoardSight]) -> None:
    cameras = calibrate_sights(sights, (1280, 720))
    ours = np.sqrt(np.diag(build_lens_estimate(cameras, sights).covariance)) / SHARED_ERROR_FACTOR
    answer = cv2.calibrateCameraExtended(
        [sight.seen.field_m.astype(np.float32) for sight in sights],
        [sight.seen.pixels.astype(np.float32) for sight in sights],
        (1280, 720),
        np.eye(3),
        np.zeros(5),
        flags=cv2.CALIB_FIX_ASPECT_RATIO | cv2.CALIB_FIX_K3,
    )
    theirs = np.ravel(answer[5])[[1, 2, 3, 4, 5, 6, 7]]
    assert np.allclose(ours, theirs, rtol=0.05)


def test_too_few_places_of_the_board_are_refused(sights: list[BoardSight]) -> None:
    found = estimate_lens([sights[0]] * 30, (1280, 720))
    assert isinstance(found, Absent)
    assert "1 places" in found.reason
    nothing = estimate_lens([], (1280, 720))
    assert isinstance(nothing, Absent)


def test_chosen_sights_are_the_different_ones(sights: list[BoardSight]) -> None:
    chosen = choose_sights([*sights, *sights], 10)
    assert len({sight.picture for sight in chosen}) == 10


def test_a_blurred_picture_and_an_empty_one_are_left_out() -> None:
    rng = np.random.default_rng(8)
    camera = hold_board(rng, LENS, 4)
    blurred = detect_board(draw_board(camera, Fading(blur_px=4.0), rng), LARGE)
    assert isinstance(blurred, Absent)
    empty = detect_board(np.full((720, 1280, 3), 90, np.uint8), LARGE)
    assert isinstance(empty, Absent)
    assert "0 corners" in empty.reason


def move_sight(sight: BoardSight, number: int, shift_px: float) -> BoardSight:
    return replace(sight, picture=number, seen=replace(sight.seen, pixels=sight.seen.pixels + shift_px))


def test_the_board_at_rest_is_the_still_run_and_its_camera_is_found() -> None:
    rng = np.random.default_rng(5)
    camera = aim_camera(LENS, (-0.3, -2.2, 1.6), (0.4, -0.3, 0.0))
    sight = detect_board(draw_board(camera, Fading(), rng), LARGE)
    assert isinstance(sight, BoardSight)
    moving = [move_sight(sight, number, 40.0 - 8 * number) for number in range(5)]
    still = [move_sight(sight, number, 0.1 * (number % 2)) for number in range(5, 12)]
    resting = find_resting([*moving, *still], LARGE)
    assert not isinstance(resting, Absent)
    assert np.abs(resting.pixels - sight.seen.pixels).max() < 0.11
    lens = LensEstimate(lens=LENS, covariance=np.diag([4, 4, 4, 1e-4, 1e-4, 1e-6, 1e-6]), residual_px=0.2, pictures=20)
    found = estimate_camera("phone", lens, [resting])
    assert isinstance(found, Camera), found
    standards = np.sqrt(np.diag(found.covariance))
    assert np.all(np.abs(found.translation - camera.translation) < 4 * standards[10:])
    assert np.linalg.norm(found.place - camera.place) < 0.03


def test_a_board_that_never_rests_is_refused() -> None:
    rng = np.random.default_rng(5)
    sight = detect_board(draw_board(hold_board(rng, LENS, 4), Fading(), rng), LARGE)
    assert isinstance(sight, BoardSight)
    found = find_resting([move_sight(sight, number, 3.0 * number) for number in range(12)], LARGE)
    assert isinstance(found, Absent)
    assert "never lies still" in found.reason
