"""Refines landmarks on the model's heat maps and tells how high and how wide the heat is there."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model.people import evaluate_logistic

CELLS = 64
"""Cells of a heat map to a side."""
REACH = 4
"""Cells looked at on each side of the landmark's own: a window of 9 x 9 (published parameter of the
model)."""
LEAST_PEAK = 0.5
"""Below this peak the landmark stays where the model put it (published parameter of the model)."""

EVEN_SPREAD_CELLS = float(np.sqrt(((2 * REACH + 1) ** 2 - 1) / 12))
"""Root mean square half-width of an even heat over the window; stands for "as wide as can be told"."""

_STEPS = np.arange(-REACH, REACH + 1)


@dataclass(frozen=True, kw_only=True)
class Refined:
    """Landmarks of n crops after refinement, in shares of the crop."""

    places: NDArray[np.float64]
    """x and y, shape (n, k, 2)."""
    peak: NDArray[np.float64]
    """Highest heat in the window, 0 to 1; 0 where the landmark lies outside the crop, shape (n, k)."""
    spread: NDArray[np.float64]
    """Root mean square half-width of the heat in the window, in cells, shape (n, k)."""


def refine_landmarks(places: NDArray[np.float64], heat: NDArray[np.float32]) -> Refined:
    """Move each landmark to the centre of heat around it where the heat is high enough.

    places is (n, k, 2) in shares of the crop; heat is (n, >=k, 64, 64) logits. The half-width is the root of
    the mean of the heat's two second moments about its centre.
    """
    cells = np.trunc(places * CELLS).astype(np.int64)
    is_inside = np.logical_and.reduce((cells >= 0) & (cells < CELLS), axis=-1)
    columns, rows = cells[..., 0, None] + _STEPS, cells[..., 1, None] + _STEPS
    weights = _read_windows(heat, rows, columns) * is_inside[..., None, None]
    total = weights.sum(axis=(-1, -2))
    safe = np.where(total > 0, total, 1.0)[..., None]
    across, down = weights.sum(axis=-2) / safe, weights.sum(axis=-1) / safe
    centre = np.stack([(across * columns).sum(axis=-1), (down * rows).sum(axis=-1)], axis=-1)
    variance = (across * (columns - centre[..., 0, None]) ** 2).sum(axis=-1)
    variance += (down * (rows - centre[..., 1, None]) ** 2).sum(axis=-1)
    peak = weights.max(axis=(-1, -2))
    return Refined(
        places=np.where((peak >= LEAST_PEAK)[..., None], centre / CELLS, places),
        peak=peak,
        spread=np.where(total > 0, np.sqrt(variance / 2), EVEN_SPREAD_CELLS),
    )


def _read_windows(
    heat: NDArray[np.float32], rows: NDArray[np.int64], columns: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Heat (0 to 1) of each landmark's window, 0 outside the map, shape (n, k, 9, 9)."""
    count, points = rows.shape[:2]
    picture = np.arange(count)[:, None, None, None]
    point = np.arange(points)[None, :, None, None]
    row, column = rows[..., :, None], columns[..., None, :]
    logits = heat[picture, point, row.clip(0, CELLS - 1), column.clip(0, CELLS - 1)]
    is_on_map = ((row >= 0) & (row < CELLS)) & ((column >= 0) & (column < CELLS))
    return evaluate_logistic(logits) * is_on_map
