"""One robust least-squares over all views and pictures: smooth curves, constant bones, ground, clocks and cameras."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_triangular

from elbowroom.core.cameras.types import CAMERA_PARAMETERS
from elbowroom.core.landmarks.names import JOINTS
from elbowroom.core.reconstruction.layout import (
    Layout,
    build_grid,
    build_layout,
    locate_joint,
    read_positions,
)
from elbowroom.core.reconstruction.normal import Factored, build_system, factor_system
from elbowroom.core.reconstruction.offsets import build_offset_modes
from elbowroom.core.reconstruction.sightings import (
    Sightings,
    build_depth_term,
    build_sighting_term,
    collect_sightings,
    estimate_weights,
)
from elbowroom.core.reconstruction.start import estimate_start
from elbowroom.core.reconstruction.terms import (
    HELD,
    Term,
    build_bone_term,
    build_ground_term,
    build_jerk_term,
    build_prior_term,
    build_stance_term,
)
from elbowroom.core.reconstruction.types import (
    Array,
    BodyPriors,
    BoneLength,
    CurveGrid,
    Motion,
    Projection,
    ViewedThrow,
)

MOST_STEPS = 15
"""Most Gauss-Newton steps; rendered throws settle in six to nine."""
SETTLED_M = 3e-4
"""The search ends when no control point moves by more than this."""
LONGEST_STEP_M = 0.5
"""A longer step is shortened to this, so that a bad start cannot throw the curves behind a camera."""


@dataclass(frozen=True, kw_only=True)
class Problem:
    """All that one throw's least-squares needs."""

    views: tuple[ViewedThrow, ...]
    """The views."""
    sightings: tuple[Sightings, ...]
    """Usable joint sightings of each view."""
    grid: CurveGrid
    """Knots of the curves."""
    layout: Layout
    """Places of the unknowns."""
    priors: BodyPriors
    """Bones and ground."""
    project: Projection
    """Projection of points by a camera, with derivatives."""
    throwing_right: bool
    """Whether the RIGHT arm throws."""


@dataclass(frozen=True, kw_only=True)
class Solution:
    """Where a search ended."""

    base: Array
    """(k,) unknowns at which the information matrix was set up last."""
    unknowns: Array
    """(k,) unknowns at the optimum."""
    factored: Factored
    """Factors of the information matrix at `base`."""


def reconstruct_throw(
    views: tuple[ViewedThrow, ...],
    window_s: tuple[float, float, float, float],
    priors: BodyPriors,
    project: Projection,
    throwing_right: bool,
) -> Motion:
    """Return the motion of one throw with its covariance.

    `window_s` = start, begin of the fast part, its end, end; seconds on the visit clock. All lengths in metres in the
    field frame of the cameras. Raises numpy.linalg.LinAlgError where the views cannot hold the curves.
    """
    problem = build_problem(views, window_s, priors, project, throwing_right)
    start = estimate_start(views, problem.grid, problem.layout, priors, throwing_right)
    return build_motion(problem, solve_problem(problem, start))


def refine_throw(problem: Problem, start: Array, steps: int = MOST_STEPS) -> Motion:
    """Return the motion of one throw by a search from the unknowns (k,) of an earlier one with little changed.

    `steps` = most steps; three bring a landmark's move of 60 px to within a degree of the end on a rendered throw.
    Raises numpy.linalg.LinAlgError where the views cannot hold the curves.
    """
    return build_motion(problem, solve_problem(problem, start, steps))


def build_motion_again(problem: Problem, base: Array, unknowns: Array) -> Motion:
    """Return the motion again whose search ended at `unknowns` with its last equations set up at `base`."""
    return build_motion(problem, Solution(base=base, unknowns=unknowns, factored=step_once(problem, base)))


def build_problem(
    views: tuple[ViewedThrow, ...],
    window_s: tuple[float, float, float, float],
    priors: BodyPriors,
    project: Projection,
    throwing_right: bool,
) -> Problem:
    """Return one throw's least-squares; arguments as for `reconstruct_throw`."""
    start_s, fast_s, slow_s, end_s = window_s
    grid = build_grid(start_s, end_s, (fast_s, slow_s))
    return Problem(
        views=views,
        sightings=tuple(collect_sightings(view, grid) for view in views),
        grid=grid,
        layout=build_layout(grid, len(priors.bones), views),
        priors=priors,
        project=project,
        throwing_right=throwing_right,
    )


def solve_problem(problem: Problem, start: Array, steps: int = MOST_STEPS) -> Solution:
    """Return the unknowns at the optimum, searched from `start` (k,), and the factors of the information matrix."""
    base = unknowns = start
    for _ in range(steps):
        base, factored = unknowns, step_once(problem, unknowns)
        longest = float(np.abs(factored.step[: problem.layout.curve]).max())
        unknowns = base + factored.step * min(1.0, LONGEST_STEP_M / max(longest, 1e-12))
        if longest < SETTLED_M:
            return Solution(base=base, unknowns=unknowns, factored=factored)
    return Solution(base=unknowns, unknowns=unknowns, factored=step_once(problem, unknowns))


def step_once(problem: Problem, unknowns: Array) -> Factored:
    """Return the factors of the information matrix and the Gauss-Newton step at `unknowns`."""
    return factor_system(*build_system(build_terms(problem, unknowns), problem.layout), problem.layout)


def build_terms(problem: Problem, unknowns: Array) -> list[Term]:
    """Return all residuals at `unknowns`."""
    grid, layout, priors = problem.grid, problem.layout, problem.priors
    clocks = np.array([view.offset_standard_s for view in problem.views])
    pairs = list(zip(problem.views, problem.sightings, strict=True))
    terms = [
        build_sighting_term(seen, view, index, layout, grid, (unknowns, problem.project))
        for index, (view, seen) in enumerate(pairs)
    ]
    if len(pairs) == 1:
        terms += [build_depth_term(seen, view, layout, grid, unknowns) for view, seen in pairs]
        terms += [build_stance_term(grid, layout, unknowns, priors.ground_height_m)]
    return [
        *terms,
        build_jerk_term(grid, layout, unknowns, problem.throwing_right),
        build_bone_term(grid, layout, unknowns, priors),
        build_ground_term(grid, layout, unknowns, priors.ground_height_m),
        build_prior_term(layout, unknowns, priors, clocks),
    ]


def build_motion(problem: Problem, solution: Solution) -> Motion:
    """Return the result: curves, factor, shared modes, bones and residual."""
    layout, grid = problem.layout, problem.grid
    unknowns, factored = solution.unknowns, solution.factored
    border_modes = -factored.carried @ solve_triangular(
        factored.border, np.eye(len(factored.border)), lower=True, trans="T"
    )
    border_modes[:, layout.bones :] *= HELD
    shape = (-1, layout.points, JOINTS, 3)
    offset_modes = build_offset_modes(problem.views, grid, unknowns[: layout.curve].reshape(shape[1:]))
    word = "plane" if len(problem.views) == 1 else "offset"
    times, seen = list_seen(problem)
    return Motion(
        knots_s=grid.knots_s,
        coefficients_m=unknowns[: layout.curve].reshape(shape[1:]),
        factor=factored.factor,
        shared_modes_m=np.concatenate([border_modes.T.reshape(shape), offset_modes]),
        shared_names=(*name_border(problem), *(f"{word} {index}" for index in range(len(offset_modes)))),
        bones=read_bones(problem, unknowns, factored),
        seen=seen,
        seen_times_s=times,
        views=len(problem.views),
        residual_px=estimate_residual(problem, unknowns),
        base=solution.base,
        unknowns=unknowns,
    )


def name_border(problem: Problem) -> tuple[str, ...]:
    """Return the names of the border's modes in their order: bones, clocks, cameras."""
    views = [view.camera.name for view in problem.views]
    bones = [f"bones {index}" for index in range(problem.layout.bones)]
    clocks = [f"clocks {name}" for name in views]
    cameras = [f"cameras {name} {index}" for name in views for index in range(CAMERA_PARAMETERS)]
    if problem.layout.modes:
        cameras = [f"cameras together {index}" for index in range(problem.layout.modes)]
    return (*bones, *clocks, *cameras)


def read_bones(problem: Problem, unknowns: Array, factored: Factored) -> tuple[BoneLength, ...]:
    """Return the bones' lengths with the standard uncertainty that the border's factor gives."""
    inverse = solve_triangular(factored.border, np.eye(len(factored.border)), lower=True)
    variances = np.sum(inverse**2, axis=0)
    lengths = unknowns[problem.layout.curve : problem.layout.clocks]
    return tuple(
        BoneLength(ends=bone.ends, length_m=float(length), standard_m=float(np.sqrt(variance)))
        for bone, length, variance in zip(problem.priors.bones, lengths, variances, strict=False)
    )


def list_seen(problem: Problem) -> tuple[Array, np.ndarray[tuple[int, ...], np.dtype[np.bool_]]]:
    """Return all picture times within the grid (n,) and which joints some view saw there (n, 19)."""
    times, seen = [], []
    for view in problem.views:
        clock = view.track.times_s + view.offset_s
        inside = (clock >= problem.grid.knots_s[0]) & (clock <= problem.grid.knots_s[-1])
        times.append(clock[inside])
        seen.append(view.track.seen[inside])
    order = np.argsort(np.concatenate(times), kind="stable")
    return np.concatenate(times)[order], np.concatenate(seen)[order]


def estimate_residual(problem: Problem, unknowns: Array) -> float:
    """Return the robustly weighted root mean square distance between seen and predicted places, pixels."""
    squares, weights = [], []
    for view, seen in zip(problem.views, problem.sightings, strict=True):
        columns, values = locate_joint(problem.grid, seen.joints, seen.times_s)
        errors = problem.project(view.camera, read_positions(unknowns, columns, values))[0] - seen.pixels
        weight = estimate_weights(seen, errors)
        squares.append(np.sum(weight * np.sum(np.nan_to_num(errors) ** 2, axis=1)))
        weights.append(np.sum(weight))
    return float(np.sqrt(np.sum(squares) / max(float(np.sum(weights)), 1e-9)))
