"""Where one camera stands against another, from what both see of the thrower: the essential matrix, robustly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from elbowroom.core.cameras.starts import find_nearest_rotation
from elbowroom.core.cameras.types import Array
from elbowroom.core.quantities.types import Absent

SAMPLES = 200
"""Random samples of matches that a start is made from."""
SAMPLE_SIZE = 16
"""Matches of one sample: twice the fewest, since landmarks are noisy."""
ROUNDS = 12
"""Rounds of reweighting after the best sample."""
CUT = 3.0
"""Distances beyond this many standard uncertainties count no further."""
FEWEST_MATCHES = 60
"""Fewest matches that a pose is made from."""
TURNED_RATIO = 2.0
"""Where turning alone leaves less than this many times what the essential matrix leaves, the cameras stand together;
noise alone gives 1.6: the mean distance in two directions (root of pi / 2) over that in one (root of 2 / pi)."""


MOST_TURNED = 2.2
"""Turning alone explains nothing where it leaves more, in standard uncertainties cut at 3: the clock is wrong."""


@dataclass(frozen=True, kw_only=True)
class Matches:
    """What two cameras saw of the same points at the same moments."""

    first: Array
    """(n, 2) directions x/z and y/z in the first camera."""
    second: Array
    """(n, 2) directions in the second camera."""
    standards: Array
    """(n, 2) standard uncertainty of a direction's coordinate in the first and the second camera."""


@dataclass(frozen=True, kw_only=True)
class RelativePose:
    """The second camera against the first: x_second = rotation @ x_first + length * direction."""

    rotation: Array
    """(3, 3) rotation from the first camera's frame into the second's."""
    direction: Array
    """(3,) unit direction of the translation."""
    misfit_cost: float
    """Mean distance of the matches from their lines of sight, in standard uncertainties, cut at 3: how well it fits."""


def estimate_relative_pose(matches: Matches, generator: np.random.Generator) -> RelativePose | Absent:
    """Return the relative pose of two cameras; `Absent` where the matches do not fix one.

    Method: eight-point algorithm on random samples, the best refined by reweighting all matches by their first-order
    (Sampson) distance; of the four poses of the matrix the one that has most points before both cameras (Hartley and
    Zisserman, Multiple View Geometry, 2nd ed., 9.6 and 11.7, from memory).
    """
    if len(matches.first) < FEWEST_MATCHES:
        return Absent(
            reason="The two cameras see too little of the thrower at the same time.",
            advice="Let both phones run from well before to well after each throw.",
        )
    essential = refine_essential(find_best_sample(matches, generator), matches)
    left = float(np.mean(measure_cut_distances(essential, matches)))
    turned = measure_turned_cost(matches)
    if turned < min(TURNED_RATIO * left, MOST_TURNED):
        return Absent(
            reason="The two cameras see the thrower from almost the same place.",
            advice="Move one phone round the thrower by a quarter turn.",
        )
    rotation, direction = choose_pose(essential, matches)
    return RelativePose(rotation=rotation, direction=direction, misfit_cost=left)


def find_best_sample(matches: Matches, generator: np.random.Generator) -> Array:
    """Return the matrix (3, 3) of the random sample whose cut distances to all matches are least."""
    picks = generator.integers(0, len(matches.first), (SAMPLES, SAMPLE_SIZE))
    rows = build_rows(matches.first, matches.second)[picks]
    flats = np.linalg.svd(rows)[2][:, -1].reshape(-1, 3, 3)
    checked = generator.integers(0, len(matches.first), min(len(matches.first), 600))
    some = Matches(first=matches.first[checked], second=matches.second[checked], standards=matches.standards[checked])
    made = [make_essential(flat) for flat in flats]
    costs = [float(np.mean(measure_cut_distances(matrix, some))) for matrix in made]
    return made[int(np.argmin(costs))]


def build_rows(first: Array, second: Array) -> Array:
    """Return the equations (n, 9) of x_second^T E x_first = 0 in the nine entries of E."""
    one = np.column_stack([first, np.ones(len(first))])
    other = np.column_stack([second, np.ones(len(second))])
    rows: Array = (other[:, :, None] * one[:, None, :]).reshape(len(first), 9)
    return rows


def make_essential(matrix: Array) -> Array:
    """Return the nearest matrix (3, 3) with singular values 1, 1, 0."""
    left, _, right = np.linalg.svd(matrix)
    nearest: Array = left[:, :2] @ right[:2]
    return nearest


def measure_distances(essential: Array, matches: Matches) -> Array:
    """Return the signed first-order distance (n,) of every match from its lines of sight, in standard uncertainties."""
    one = np.column_stack([matches.first, np.ones(len(matches.first))])
    other = np.column_stack([matches.second, np.ones(len(matches.second))])
    lines_second, lines_first = one @ essential.T, other @ essential
    variance = (matches.standards[:, 0] ** 2) * np.sum(lines_first[:, :2] ** 2, axis=1)
    variance = variance + matches.standards[:, 1] ** 2 * np.sum(lines_second[:, :2] ** 2, axis=1)
    distances: Array = np.sum(other * lines_second, axis=1) / np.sqrt(np.maximum(variance, 1e-24))
    return distances


def measure_cut_distances(essential: Array, matches: Matches) -> Array:
    """Return the distances (n,) without sign, cut at `CUT`."""
    return np.minimum(np.abs(measure_distances(essential, matches)), CUT)


def refine_essential(essential: Array, matches: Matches) -> Array:
    """Return the matrix after rounds of reweighted linear equations on all matches; the best of all rounds."""
    rows = build_rows(matches.first, matches.second)
    best, least = essential, float(np.mean(measure_cut_distances(essential, matches)))
    for _ in range(ROUNDS):
        distances = measure_distances(essential, matches)
        algebraic = np.abs(rows @ essential.ravel())
        scale = np.abs(distances) / np.maximum(algebraic, 1e-12)
        weights = scale**2 / (1.0 + (distances / CUT) ** 2) ** 2
        essential = make_essential(np.linalg.eigh((rows * weights[:, None]).T @ rows)[1][:, 0].reshape(3, 3))
        mean = float(np.mean(measure_cut_distances(essential, matches)))
        if mean < least:
            best, least = essential, mean
    return best


def measure_turned_cost(matches: Matches) -> float:
    """Return the mean cut distance that is left where the second camera is only turned against the first."""
    one = np.column_stack([matches.first, np.ones(len(matches.first))])
    other = np.column_stack([matches.second, np.ones(len(matches.second))])
    unit = [item / np.linalg.norm(item, axis=1, keepdims=True) for item in (one, other)]
    turned = one @ find_nearest_rotation(unit[1].T @ unit[0]).T
    ahead = np.maximum(turned[:, 2:], 1e-3)
    missed = np.linalg.norm(turned[:, :2] / ahead - matches.second, axis=1)
    return float(np.mean(np.minimum(missed / np.linalg.norm(matches.standards, axis=1), CUT)))


def choose_pose(essential: Array, matches: Matches) -> tuple[Array, Array]:
    """Return rotation and unit translation of the four that the matrix allows: most points before both cameras."""
    left, _, right = np.linalg.svd(essential)
    left, right = left * np.sign(np.linalg.det(left)), right * np.sign(np.linalg.det(right))
    turn = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    poses = [
        (rotation, sign * left[:, 2])
        for rotation in (left @ turn @ right, left @ turn.T @ right)
        for sign in (1.0, -1.0)
    ]
    return max(poses, key=lambda pose: count_ahead(pose[0], pose[1], matches))


def count_ahead(rotation: Array, direction: Array, matches: Matches) -> int:
    """Return how many matches lie before both cameras."""
    one = np.column_stack([matches.first, np.ones(len(matches.first))]) @ rotation.T
    other = np.column_stack([matches.second, np.ones(len(matches.second))])
    crossed = np.cross(other, one)
    depth = -np.sum(crossed * np.cross(other, direction), axis=1) / np.maximum(np.sum(crossed**2, axis=1), 1e-12)
    second_depth = depth * one[:, 2] + direction[2]
    return int(np.count_nonzero((depth > 0) & (second_depth > 0)))
