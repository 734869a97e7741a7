"""From the person detector's raw output to people: anchors, boxes, and the merging of boxes that overlap.

Anchors and box coding follow the published parameters of the model: cells of three grids (28, 14 and 7 to a
side) with 2, 2 and 6 boxes each, offsets in pixels of the 224-pixel input; scores are logits.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SIDE = 224
"""Side of the detector's input in pixels."""

_GRIDS = ((28, 2), (14, 2), (7, 6))
_LEAST_SCORE = 0.5
_LEAST_OVERLAP = 0.3


@dataclass(frozen=True, kw_only=True)
class DetectedPerson:
    """One person as the detector sees it, in shares (0 to 1) of the square it looked at."""

    box: NDArray[np.float64]
    """Left, top, right, bottom of the face box, shape (4,)."""
    points: NDArray[np.float64]
    """Hip centre, full-body circle, shoulder centre, upper-body circle, shape (4, 2)."""
    score: float
    """Probability, 0 to 1."""


def list_anchors() -> NDArray[np.float64]:
    """Centres of the detector's 2254 anchors, x and y in shares of the square, shape (2254, 2)."""
    return np.concatenate([_list_grid_centres(cells, boxes) for cells, boxes in _GRIDS])


def _list_grid_centres(cells: int, boxes: int) -> NDArray[np.float64]:
    rows, columns = np.mgrid[:cells, :cells]
    centres = (np.stack([columns.ravel(), rows.ravel()], axis=1) + 0.5) / cells
    return np.repeat(centres, boxes, axis=0)


_ANCHORS = list_anchors()


def evaluate_logistic(logits: NDArray[np.floating]) -> NDArray[np.float64]:
    """Logistic function without overflow."""
    return 0.5 * (1.0 + np.tanh(0.5 * np.asarray(logits, np.float64)))


def decode_people(raw: NDArray[np.float32], logits: NDArray[np.float32]) -> tuple[DetectedPerson, ...]:
    """All people in one picture, surest first, from the raw boxes (2254, 12) and their logits (2254, 1)."""
    scores = evaluate_logistic(logits[:, 0])
    chosen = np.flatnonzero(scores >= _LEAST_SCORE)
    chosen = chosen[np.argsort(-scores[chosen], kind="stable")]
    values = raw[chosen].astype(np.float64) / SIDE
    centres, halves = values[:, :2] + _ANCHORS[chosen], values[:, 2:4] / 2
    boxes = np.hstack([centres - halves, centres + halves])
    points = values[:, 4:].reshape(-1, 4, 2) + _ANCHORS[chosen, None]
    return tuple(_merge_overlapping(boxes, points, scores[chosen]))


def _merge_overlapping(
    boxes: NDArray[np.float64], points: NDArray[np.float64], scores: NDArray[np.float64]
) -> list[DetectedPerson]:
    """Weighted non-maximum suppression: each surest box becomes the score-weighted mean of those that overlap
    it."""
    people, left = [], np.arange(len(scores))
    while len(left):
        together = find_overlaps(boxes[left[0]], boxes[left]) > _LEAST_OVERLAP
        together[0] = True
        group = left[together]
        weights = scores[group] / scores[group].sum()
        people.append(
            DetectedPerson(
                box=weights @ boxes[group],
                points=np.einsum("k,kij->ij", weights, points[group]),
                score=float(scores[group[0]]),
            )
        )
        left = left[~together]
    return people


def find_overlaps(box: NDArray[np.float64], boxes: NDArray[np.float64]) -> NDArray[np.float64]:
    """Intersection over union of one box (4,) with each of boxes (k, 4), shape (k,)."""
    corner, opposite = np.maximum(box[:2], boxes[:, :2]), np.minimum(box[2:], boxes[:, 2:])
    shared = np.clip(opposite - corner, 0, None).prod(axis=1)
    areas = (boxes[:, 2:] - boxes[:, :2]).prod(axis=1)
    union = areas + (box[2:] - box[:2]).prod() - shared
    overlaps: NDArray[np.float64] = shared / np.maximum(union, 1e-12)
    return overlaps
