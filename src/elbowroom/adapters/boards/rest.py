"""The board at rest on the ground at the end of its clip."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from elbowroom.adapters.boards.board import Array, Board, locate_corners
from elbowroom.adapters.boards.detect import CORNER_STANDARD_PX, BoardSight
from elbowroom.core.cameras.types import SeenPoints
from elbowroom.core.quantities.types import Absent

FEWEST_STILL = 5
"""Fewest pictures in a row in which the board must lie still."""

STILL_PX = 0.5
"""Largest median movement of the corners between two pictures of a board that lies still."""

FEWEST_COMMON = 6
"""Fewest corners that two pictures must both show to be compared."""


def find_resting(sights: Sequence[BoardSight], board: Board) -> SeenPoints | Absent:
    """Return the corners of the resting board: the median over the run of still pictures that shows it best.

    Runs in the second half of the clip count; of those, the one with most corners, then the last.

    The uncertainty stays that of one picture: what blur, light and compression do to a corner does not
    average.
    """
    late = sights[len(sights) // 2 :]
    runs = [run for run in split_still_runs(late) if len(run) >= FEWEST_STILL]
    if not runs:
        return Absent(
            reason="The board never lies still in its clip.",
            advice="End the clip with the board flat on the ground for two seconds, its right end to the target.",
        )
    best = max(reversed(runs), key=lambda run: float(np.median([len(sight.corners) for sight in run])))
    return average_corners(best, board)


def split_still_runs(sights: Sequence[BoardSight]) -> list[list[BoardSight]]:
    """Return the runs of sights in which the board does not move from one to the next, in order."""
    runs = [[sight] for sight in sights[:1]]
    for before, after in pairwise(sights):
        if measure_movement_px(before, after) <= STILL_PX:
            runs[-1].append(after)
        else:
            runs.append([after])
    return runs


def measure_movement_px(before: BoardSight, after: BoardSight) -> float:
    """Return the median movement of the corners that both sights show; infinite where they share too few."""
    common, first, second = np.intersect1d(before.corners, after.corners, return_indices=True)
    if len(common) < FEWEST_COMMON:
        return float("inf")
    moved = before.seen.pixels[first] - after.seen.pixels[second]
    return float(np.median(np.linalg.norm(moved, axis=1)))


def average_corners(run: Sequence[BoardSight], board: Board) -> SeenPoints:
    """Return the median place of every corner that at least half of the sights show."""
    places = locate_corners(board)
    pixels = np.full((len(run), len(places), 2), np.nan)
    for row, sight in enumerate(run):
        pixels[row, sight.corners] = sight.seen.pixels
    is_seen = np.isfinite(pixels[:, :, 0]).sum(axis=0) * 2 >= len(run)
    middle: Array = np.nanmedian(pixels[:, is_seen], axis=0)
    return SeenPoints(field_m=places[is_seen], pixels=middle, standard_px=CORNER_STANDARD_PX)
