"""The board: chessboard squares with a marker in each white one (ChArUco), known to the printer and the
detector."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DICTIONARY = cv2.aruco.DICT_5X5_100
"""Dictionary of the markers: 5 x 5 cells, 100 markers."""

MARKER_CELLS = 7
"""Cells along a marker: five of code and one of border on each side."""


@dataclass(frozen=True, kw_only=True)
class Board:
    """A board of squares; x runs along its long side, to the target when it lies on the ground."""

    name: str
    """Name by which the commands and the visit file know it."""
    columns: int
    """Squares along x."""
    rows: int
    """Squares across."""
    square_m: float
    """Side of a square, metres."""
    marker_m: float
    """Side of a marker, metres."""

    @property
    def size_m(self) -> tuple[float, float]:
        """Length along x and width, metres."""
        return self.columns * self.square_m, self.rows * self.square_m


LARGE = Board(name="large", columns=8, rows=6, square_m=0.10, marker_m=0.075)
"""The usual board, 0.8 m x 0.6 m, for print shops."""

SMALL = Board(name="small", columns=8, rows=6, square_m=0.03, marker_m=0.0225)
"""A board for a sheet of Letter or A4: enough for the lens, too small to lay on the ground far away."""

MIDDLE = Board(name="middle", columns=8, rows=6, square_m=0.045, marker_m=0.034)
"""A board for a sheet of A3."""

BOARDS = {board.name: board for board in (LARGE, MIDDLE, SMALL)}
"""The boards by name."""


@cache
def build_detectable(board: Board) -> cv2.aruco.CharucoBoard:
    """Return the board as OpenCV knows it."""
    dictionary = cv2.aruco.getPredefinedDictionary(DICTIONARY)
    return cv2.aruco.CharucoBoard((board.columns, board.rows), board.square_m, board.marker_m, dictionary)


def locate_corners(board: Board) -> Array:
    """Return the inner corners (n, 3) in the frame of the lying board, metres, in the detector's order.

    Origin at the outer corner of the first square, x along the long side, z up out of the print, y = z
    cross x. The print's own y runs down the sheet, so it is the negative of this frame's y.
    """
    corners = np.asarray(build_detectable(board).getChessboardCorners(), float)
    lying: Array = corners * np.array([1.0, -1.0, 1.0])
    return lying


def list_markers(board: Board) -> list[tuple[Array, Array]]:
    """Return for each marker its top left corner (2,) on the sheet, metres from the board's corner, and its
    cells.

    Cells (7, 7): 1 for white, 0 for black, border included; y runs down the sheet.
    """
    detectable = build_detectable(board)
    dictionary = cv2.aruco.getPredefinedDictionary(DICTIONARY)
    markers = []
    for number, corners in zip(detectable.getIds(), detectable.getObjPoints(), strict=True):
        picture = dictionary.generateImageMarker(int(number), MARKER_CELLS, borderBits=1)
        markers.append((np.asarray(corners, float)[0, :2], (picture > 127).astype(float)))
    return markers


def list_black_squares(board: Board) -> list[Array]:
    """Return the top left corner (2,) of every black square on the sheet, metres from the board's corner."""
    centres = np.array([corner + board.marker_m / 2 for corner, _ in list_markers(board)])
    white = {tuple(cell) for cell in np.floor(centres / board.square_m).astype(int)}
    return [
        np.array([column, row]) * board.square_m
        for row in range(board.rows)
        for column in range(board.columns)
        if (column, row) not in white
    ]
