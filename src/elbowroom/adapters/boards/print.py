"""Printing the board to scale as PDF."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import Literal

import numpy as np
import typst

from elbowroom.adapters.boards.board import MARKER_CELLS, Array, Board, list_black_squares, list_markers
from elbowroom.errors import SetUpError

PAPERS_MM = {
    "letter": (279.4, 215.9),
    "a4": (297.0, 210.0),
    "a3": (420.0, 297.0),
    "poster": (860.0, 660.0),
}
"""Sheets by name, long side across, in millimetres; the poster is for a print shop."""

RULER_MM = 100.0
"""Length of the line by which a print is checked, millimetres."""

WORDS_ROOM_MM = 12.0
"""Room under the board for the ruler and the words, millimetres."""

QUIET_MM = 5.0
"""Least white border that the detector and printers need, millimetres."""

BLEED_MM = 0.02
"""Overlap of neighbouring cells, so that viewers draw no hairline between them, millimetres."""


def write_board_pdf(path: Path, board: Board, paper: str = "poster") -> None:
    """Write the board to `path` as a one-page PDF, to scale, with a line to check the print by.

    Raises SetUpError where the paper is unknown, the board does not fit on it, or the file cannot be written.
    """
    document = render_sheet(board, paper, "pdf")
    try:
        path.write_bytes(document)
    except OSError as e:
        raise SetUpError(f"The board cannot be written to {path}; choose another place.") from e


def render_sheet(board: Board, paper: str, form: Literal["pdf", "png"], dots_per_inch: float = 144.0) -> bytes:
    """Return the sheet as `pdf` or `png` bytes.

    Raises SetUpError where the paper is unknown or the board does not fit on it.
    """
    template = files("elbowroom").joinpath("adapters", "boards", "board.typ").read_bytes()
    sheet = json.dumps(describe_sheet(board, paper))
    return typst.compile(template, format=form, ppi=dots_per_inch, sys_inputs={"sheet": sheet})


def describe_sheet(board: Board, paper: str) -> dict[str, object]:
    """Return what the template draws, all in millimetres from the top left of the sheet."""
    corner = find_board_corner_mm(board, paper)
    length, width = (1000 * side for side in board.size_m)
    rectangles = [*list_square_rectangles(board), *list_cell_rectangles(board)]
    ruler = {"x": corner[0], "y": corner[1] + width + 4.0, "length": RULER_MM}
    return {
        "title": f"elbowroom board, {board.name}",
        "paper": PAPERS_MM[paper],
        "rectangles": [[x + corner[0], y + corner[1], w, h] for x, y, w, h in rectangles],
        "ruler": ruler,
        "ruler_words": f"This line must measure {RULER_MM:.1f} mm. Print at 100 %, without fitting to the page.",
        "foot_words": f"{board.columns} x {board.rows} squares of {1000 * board.square_m:.1f} mm, "
        f"{length:.0f} x {width:.0f} mm in all. Glue it flat. On the ground, "
        "the right end points to the target; this edge is then on the right of someone who faces it.",
    }


def find_board_corner_mm(board: Board, paper: str) -> tuple[float, float]:
    """Return where the board's top left corner goes on the sheet.

    Raises SetUpError where the paper is unknown or too small.
    """
    if paper not in PAPERS_MM:
        raise SetUpError(f"There is no paper called {paper}; choose {', '.join(PAPERS_MM)}.")
    across, down = PAPERS_MM[paper]
    length, width = (1000 * side for side in board.size_m)
    spare_across, spare_down = across - length, down - width - WORDS_ROOM_MM
    if min(spare_across, spare_down) < 2 * QUIET_MM:
        raise SetUpError(
            f"The {board.name} board of {length:.0f} x {width:.0f} mm does not fit on {paper}; "
            "choose a larger paper or a smaller board."
        )
    return spare_across / 2, spare_down / 2


def list_square_rectangles(board: Board) -> list[tuple[float, ...]]:
    """Return x, y, width, height of the black squares, millimetres from the board's corner."""
    side = 1000 * board.square_m
    return [(*(1000 * corner).tolist(), side, side) for corner in list_black_squares(board)]


def list_cell_rectangles(board: Board) -> list[tuple[float, ...]]:
    """Return x, y, width, height of the runs of black cells in all markers, millimetres from the board's
    corner."""
    side = 1000 * board.marker_m / MARKER_CELLS
    return [
        (1000 * corner[0] + start * side, 1000 * corner[1] + row * side, (stop - start) * side, side + BLEED_MM)
        for corner, cells in list_markers(board)
        for row, line in enumerate(cells)
        for start, stop in find_black_runs(line)
    ]


def find_black_runs(line: Array) -> list[tuple[int, int]]:
    """Return first and one-past-last index of each run of black cells (value 0)."""
    is_black = np.concatenate([[False], line == 0, [False]])
    edges = np.flatnonzero(is_black[1:] != is_black[:-1]).tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))
