"""Finding the board's corners in pictures."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.boards.board import Array, Board, build_detectable, locate_corners
from elbowroom.core.cameras.types import SeenPoints
from elbowroom.core.quantities.types import Absent

Picture = NDArray[np.uint8]

CORNER_STANDARD_PX = 0.2
"""Standard uncertainty of a corner in a sharp picture; chosen by this project, held against rendered
truth."""

FEWEST_CORNERS = 8
"""Fewest corners that make a picture of the board useful."""

SMALLEST_SQUARE_PX = 12.0
"""Smallest side of a square: below it the markers' cells are under two pixels."""

WIDEST_EDGE_PX = 2.5
"""Largest blur of the edges (standard deviation of the step) in a picture that is used; chosen by this
project."""

SHARPEST_SLOPE = 0.5
"""Slope of a step without any blur as central differences show it, in contrasts per pixel."""


@dataclass(frozen=True, kw_only=True)
class BoardSight:
    """The board as one picture shows it."""

    picture: int
    """Number of the picture among those looked at."""
    corners: NDArray[np.int64]
    """(n,) numbers of the corners seen."""
    seen: SeenPoints
    """Places of the corners in the frame of the lying board, and their pixels."""
    edge_px: float
    """Blur of the edges: standard deviation of the step, pixels."""
    square_px: float
    """Median distance between neighbouring corners, pixels."""


@cache
def build_detector(board: Board) -> cv2.aruco.CharucoDetector:
    """Return OpenCV's detector for the board."""
    return cv2.aruco.CharucoDetector(build_detectable(board))


def detect_sights(pictures: Iterable[tuple[int, Picture]], board: Board) -> list[BoardSight]:
    """Return the useful sights of the board in numbered pictures, in their order; blurred ones are left
    out."""
    sights = (detect_board(picture, board, number) for number, picture in pictures)
    return [sight for sight in sights if isinstance(sight, BoardSight)]


def detect_board(picture: Picture, board: Board, number: int = 0) -> BoardSight | Absent:
    """Return the board's corners in a picture (height, width) or (height, width, 3) uint8, red first.

    Absent with the reason where too little of it is seen, it is too small, or it is blurred.
    """
    grey = picture if picture.ndim == 2 else np.asarray(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), np.uint8)
    # OpenCV answers None where it finds nothing, against its own type stubs.
    answer: tuple[Any, ...] = build_detector(board).detectBoard(grey)
    found, numbers = answer[:2]
    corners = np.empty(0, np.int64) if numbers is None else np.asarray(numbers, np.int64).ravel()
    if len(corners) < FEWEST_CORNERS:
        return Absent(
            reason=f"{len(corners)} corners of the board are seen, and {FEWEST_CORNERS} are needed.",
            advice="Show the whole board, in even light, without a hand on its squares.",
        )
    pixels = np.asarray(found, float).reshape(-1, 2)
    places = locate_corners(board)[corners]
    seen = SeenPoints(field_m=places, pixels=pixels, standard_px=CORNER_STANDARD_PX)
    square_px = measure_square_px(places, pixels, board)
    edge_px = measure_edge_px(grey, pixels, square_px)
    sight = BoardSight(picture=number, corners=corners, seen=seen, edge_px=edge_px, square_px=square_px)
    for flaw in find_sight_flaws(sight):
        return flaw
    return sight


def find_sight_flaws(sight: BoardSight) -> tuple[Absent, ...]:
    """Return why a sight is not to be used: too small or blurred."""
    flaws = []
    if sight.square_px < SMALLEST_SQUARE_PX:
        flaws.append(
            Absent(
                reason=f"A square of the board is {sight.square_px:.0f} px; {SMALLEST_SQUARE_PX:.0f} are needed.",
                advice="Bring the board nearer, or use the large board.",
            )
        )
    if sight.edge_px > WIDEST_EDGE_PX:
        flaws.append(
            Absent(
                reason=f"The board is blurred over {sight.edge_px:.1f} px.",
                advice="Move the board slowly, hold it still in each place, and film in good light.",
            )
        )
    return tuple(flaws)


def measure_square_px(places: Array, pixels: Array, board: Board) -> float:
    """Return the median distance in pixels between corners that are one square apart on the board."""
    apart = np.linalg.norm(places[:, None] - places[None], axis=2)
    first, second = np.nonzero(np.triu(np.abs(apart - board.square_m) < 0.01 * board.square_m))
    if not len(first):
        return 0.0
    return float(np.median(np.linalg.norm(pixels[first] - pixels[second], axis=1)))


def measure_edge_px(grey: Picture, pixels: Array, square_px: float) -> float:
    """Return the blur of the steps at the corners: their standard deviation in pixels, the median over
    corners.

    A step blurred by s has the slope contrast / (s sqrt(2 pi)); the blur of a sharp step's sampling is
    taken off.
    """
    half = max(int(square_px / 4), 3)
    widths = [measure_step_px(crop_window(grey, pixel, half)) for pixel in pixels]
    return float(np.median(widths))


def crop_window(grey: Picture, pixel: Array, half: int) -> Array:
    """Return the window of `half` pixels on each side of a place, cut off at the picture's border."""
    column, row = np.rint(pixel).astype(int)
    window = grey[max(row - half, 0) : row + half + 1, max(column - half, 0) : column + half + 1]
    return window.astype(float)


def measure_step_px(window: Array) -> float:
    """Return the blur of the steepest step in a window, pixels; infinite where there is no contrast."""
    if min(window.shape) < 3:
        return float("inf")
    contrast = float(np.percentile(window, 95) - np.percentile(window, 5))
    down, across = np.gradient(window)
    slope = float(np.percentile(np.hypot(down, across), 98))
    if contrast < 20 or slope <= 0:
        return float("inf")
    width = contrast / (slope * np.sqrt(2 * np.pi))
    sharpest = 1 / (SHARPEST_SLOPE * np.sqrt(2 * np.pi))
    return float(np.sqrt(max(width**2 - sharpest**2, 0.0)))
