"""Pictures of the printed board through a known camera, drawn ray by ray, with blur, noise and compression."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.spatial.transform import Rotation

from elbowroom.adapters.boards.board import LARGE, Board, build_detectable
from elbowroom.core.cameras.frames import shift_field
from elbowroom.core.cameras.project import project_points
from elbowroom.core.cameras.rays import undistort_pixels
from elbowroom.core.cameras.types import CAMERA_PARAMETERS, Camera, Lens

Array = NDArray[np.float64]
Picture = NDArray[np.uint8]

PIXELS_A_SQUARE = 128
"""Pixels of the drawn board along a square."""

FINE = 2
"""Drawn pixels along a pixel of the picture."""


@dataclass(frozen=True, kw_only=True)
class Fading:
    """What a phone does to a picture."""

    blur_px: float = 0.7
    """Standard deviation of the lens blur."""
    noise: float = 3.0
    """Standard deviation of the noise, grey levels of 255."""
    quality: int = 80
    """Quality of the compression, 0 to 100."""


def aim_camera(lens: Lens, place: tuple[float, ...], target: tuple[float, ...]) -> Camera:
    """Return an upright camera at `place` that looks at `target`."""
    forward = np.asarray(target, float) - np.asarray(place, float)
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    rotation = np.array([right, np.cross(forward, right), forward])
    return Camera(
        name="phone",
        lens=lens,
        rotation=rotation,
        translation=-rotation @ np.asarray(place, float),
        covariance=np.zeros((CAMERA_PARAMETERS, CAMERA_PARAMETERS)),
        residual_px=0.0,
    )


def draw_board(camera: Camera, fading: Fading, rng: np.random.Generator, board: Board = LARGE) -> Picture:
    """Return the picture (height, width) of a board lying in the field frame of the camera, printed side up."""
    lens = camera.lens
    print_size = (board.columns * PIXELS_A_SQUARE, board.rows * PIXELS_A_SQUARE)
    paper = 30.0 + build_detectable(board).generateImage(print_size).astype(np.float32) * (200 / 255)
    smooth = find_smoothing(camera, board)
    if smooth > 0.3:
        paper = cv2.GaussianBlur(paper, (0, 0), smooth, borderType=cv2.BORDER_REPLICATE)
    drawn = np.full((lens.height_px * FINE, lens.width_px * FINE), 110, np.float32)
    rows, columns = find_box(camera, board)
    spots = meet_plane(camera, cast_rays(lens)[rows, columns]) / board.square_m * PIXELS_A_SQUARE
    where = (spots * [1.0, -1.0] - 0.5).astype(np.float32)
    drawn[rows, columns] = cv2.remap(
        paper, where, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=110
    )
    coarse = drawn.reshape(lens.height_px, FINE, lens.width_px, FINE).mean(axis=(1, 3))
    return fade_picture(coarse, fading, rng)


def find_box(camera: Camera, board: Board) -> tuple[slice, slice]:
    """Return rows and columns of the finely drawn picture that hold the board."""
    outline = np.array([[0, 0, 0], [1, 0, 0], [1, -1, 0], [0, -1, 0]]) * [*board.size_m, 0.0]
    pixels = project_points(camera, outline) * FINE
    low, high = np.floor(pixels.min(axis=0)) - 12, np.ceil(pixels.max(axis=0)) + 12
    low = np.maximum(low, 0).astype(int)
    high = np.minimum(high, np.array([camera.lens.width_px, camera.lens.height_px]) * FINE).astype(int)
    return slice(low[1], high[1]), slice(low[0], high[0])


@cache
def cast_rays(lens: Lens) -> Array:
    """Return the directions x/z, y/z of the finely drawn picture's pixels, (rows, columns, 2)."""
    coarse = np.stack(np.meshgrid(np.arange(-4, lens.width_px + 4, 4), np.arange(-4, lens.height_px + 4, 4)), -1)
    flat = undistort_pixels(lens, coarse.reshape(-1, 2).astype(float)).reshape(coarse.shape)
    rows, columns = np.arange(lens.height_px * FINE), np.arange(lens.width_px * FINE)
    places = [((line + 0.5) / FINE - 0.5 + 4) / 4 for line in (rows, columns)]
    grids = np.meshgrid(*places, indexing="ij")
    return np.stack([map_coordinates(flat[:, :, axis], grids, order=3) for axis in (0, 1)], -1)


def meet_plane(camera: Camera, flat: Array) -> Array:
    """Return where (..., 2) rays of directions (..., 2) meet the ground z = 0; far away where they do not."""
    directions = flat @ camera.rotation[:2] + camera.rotation[2]
    falls = directions[..., 2] < -1e-6
    along = np.where(falls, -camera.place[2] / np.where(falls, directions[..., 2], -1.0), 1e3)
    return camera.place[:2] + along[..., None] * directions[..., :2]


def find_smoothing(camera: Camera, board: Board) -> float:
    """Return the blur of the drawn board that keeps it from flickering when it is shown smaller."""
    middle = np.array([board.size_m[0] / 2, -board.size_m[1] / 2, 0.0])
    depth = float(camera.rotation[2] @ middle + camera.translation[2])
    return 0.35 * PIXELS_A_SQUARE / (camera.lens.focal_px * board.square_m / depth * FINE)


def fade_picture(picture: NDArray[np.float32], fading: Fading, rng: np.random.Generator) -> Picture:
    """Return the picture blurred, with noise, compressed and opened again."""
    blurred = cv2.GaussianBlur(picture.astype(np.float32), (0, 0), fading.blur_px)
    noisy = blurred + rng.normal(size=blurred.shape).astype(np.float32) * fading.noise
    grey = np.clip(np.rint(noisy), 0, 255).astype(np.uint8)
    _, packed = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, fading.quality])
    return np.asarray(cv2.imdecode(packed, cv2.IMREAD_GRAYSCALE), np.uint8)


def hold_board(rng: np.random.Generator, lens: Lens, number: int, board: Board = LARGE) -> Camera:
    """Return the camera for the frame of a board held before it, all of it in the picture, places by turns."""
    spots = [(x, y) for y in (-0.5, 0.0, 0.5) for x in (-0.6, 0.0, 0.6)]
    outline = np.array([[0, 0, 0], [1, 0, 0], [1, -1, 0], [0, -1, 0]]) * [*board.size_m, 0.0]
    while True:
        x, y = np.array(spots[number % len(spots)]) + rng.uniform(-0.15, 0.15, 2)
        camera = place_before(rng, lens, np.array([x, y]), board)
        pixels = project_points(camera, outline)
        if (pixels > 5).all() and (pixels < np.array([lens.width_px, lens.height_px]) - 6).all():
            return camera


def place_before(rng: np.random.Generator, lens: Lens, spot: Array, board: Board) -> Camera:
    """Return the camera for a board whose middle is at a spot of the picture (shares -1 to 1), tilted at random."""
    depth = rng.uniform(1.2, 2.2) * board.size_m[0] / 0.8
    half = np.array([lens.width_px, lens.height_px]) / 2 / lens.focal_px
    turn = Rotation.from_euler("yxz", [*rng.uniform(-35, 35, 2), rng.uniform(-15, 15)], degrees=True).as_matrix()
    facing = turn @ np.diag([1.0, -1.0, -1.0])
    middle = np.array([board.size_m[0] / 2, -board.size_m[1] / 2, 0.0])
    seen = np.array([spot[0] * half[0], spot[1] * half[1], 1.0]) * depth
    blank = aim_camera(lens, (0.0, -1.0, 1.0), (0.0, 0.0, 0.0))
    return replace(blank, rotation=facing, translation=seen - facing @ middle)


def lay_board(camera: Camera, corner: tuple[float, float], yaw_rad: float = 0.0) -> Camera:
    """Return the camera for the frame of a board that lies in the field with its first corner at `corner`."""
    turn = Rotation.from_euler("z", -yaw_rad).as_matrix()
    return shift_field(camera, np.array([*corner, 0.0]), turn)
