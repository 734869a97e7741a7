"""The joint adjustment of cameras, clocks, shutters and curves, on the captured pitch seen by two cameras.

Data: subject 124, trial 01. The data used in this project was obtained from mocap.cs.cmu.edu. The database was
created with funding from NSF EIA-0196217.

Sides: finite differences of every kind of border unknown; one step of the arrow-shaped equations against SciPy's sparse
solver on the whole matrix; the optimum against SciPy's trust-region least squares started from it on the same
residuals; OpenCV's pose of a camera from our joints in space; the cameras that the landmarks were made with.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import cycle

import cv2
import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.sparse import block_diag, csr_array, vstack
from scipy.sparse.linalg import spsolve
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.pose import shift_camera
from elbowroom.core.cameras.project import project_with_jacobian
from elbowroom.core.cameras.types import View
from elbowroom.core.chain.tracking import track_clip, view_throw
from elbowroom.core.reconstruction import adjust, sightings
from elbowroom.core.reconstruction.adjust import (
    Adjusted,
    AdjustSetting,
    AdjustState,
    AdjustThrow,
    build_border_prior,
    list_departures,
    see_clip,
    shift_border,
    solve_visit,
)
from elbowroom.core.reconstruction.free_terms import CLIP_UNKNOWNS, FreeSight, WideLayout, build_free_term
from elbowroom.core.reconstruction.layout import build_grid, locate_joint, read_positions
from elbowroom.core.reconstruction.terms import build_bone_term, build_jerk_term
from elbowroom.core.reconstruction.types import Array, CurveGrid
from tests.makers.landmark_scenes import Eye, read_pitch
from tests.makers.pitch_clips import Phone, assume_lens, build_pitch_setting, film

WINDOW_S = (0.75, 1.06, 1.3, 1.55)
"""A short window about foot contact and release, so that the whole matrix stays small."""
LATE_S = 0.004


@pytest.fixture(scope="module")
def problem() -> tuple[AdjustThrow, AdjustSetting]:
    body, setting = read_pitch()[1], build_pitch_setting()
    phones = (
        Phone(view=View.OPEN_SIDE, eyes=(Eye(place=(0.3, -6.0, 1.2)),)),
        Phone(view=View.FRONT, eyes=(Eye(place=(8.0, 0.5, 1.3)),), late_s=LATE_S, seed=2),
    )
    clips = [film(body, phone, noise_px=1.0) for phone in phones]
    tracks = [track_clip(clip, number, setting)[0].track for number, clip in enumerate(clips)]
    views = tuple((number, view_throw(clips[number].camera, track, 0.0, 0.0)) for number, track in enumerate(tracks))
    adjusting = AdjustSetting(
        lenses=tuple(replace(assume_lens(clip.camera.lens), lens=clip.camera.lens) for clip in clips),
        row_priors_s=((1e-9, 1e-6), (1e-9, 1e-6)),
        priors=setting.priors,
        project=project_with_jacobian,
        shift_camera=shift_camera,
        throwing_right=True,
    )
    return AdjustThrow(views=views, window_s=WINDOW_S), adjusting


@pytest.fixture(scope="module")
def solved(problem: tuple[AdjustThrow, AdjustSetting]) -> Adjusted:
    throw, adjusting = problem
    return solve_visit([throw], [view.camera for _, view in throw.views], adjusting)


def list_residuals(
    throw: AdjustThrow, grid: CurveGrid, state: AdjustState, adjusting: AdjustSetting
) -> tuple[csr_array, Array, WideLayout]:
    """All residuals of the throw at a state, without what was known of the border before, and their derivatives."""
    layout = WideLayout(points=len(grid.sites_s), bones=len(state.bones_m), views=2)
    unknowns = np.zeros(layout.size)
    unknowns[: layout.curve] = state.curves[0]
    unknowns[layout.curve : layout.curve + layout.bones] = state.bones_m
    terms = [
        build_free_term(see_clip(view, clip, state, grid, WINDOW_S[2]), layout, grid, unknowns, adjusting.project)
        for clip, view in throw.views
    ]
    terms.append(adjust.widen_term(build_jerk_term(grid, layout, unknowns, True)))
    terms.append(build_bone_term(grid, layout, unknowns, adjusting.priors))
    rows = [
        csr_array(
            (
                term.slopes.ravel(),
                (np.repeat(np.arange(len(term.residuals)), term.columns.shape[1]), term.columns.ravel()),
            ),
            shape=(len(term.residuals), layout.size),
        )
        for term in terms
    ]
    return csr_array(vstack(rows)), np.concatenate([term.residuals for term in terms]), layout


def test_derivatives_by_every_kind_of_unknown(
    problem: tuple[AdjustThrow, AdjustSetting], solved: Adjusted, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sightings, "TAIL", 1e12)  # weights that do not change with the residuals
    throw, adjusting = problem
    grid = build_grid(WINDOW_S[0], WINDOW_S[3], WINDOW_S[1:3])
    slopes, _, layout = list_residuals(throw, grid, solved.state, adjusting)
    border = layout.size - layout.curve
    second = layout.bones + CLIP_UNKNOWNS
    for unknown in (0, *range(second, second + 3), second + 3, second + 6, *range(second + 10, second + 18)):
        sides = []
        for sign in (1.0, -1.0):
            change = np.zeros(border)
            change[unknown] = 1e-4 * sign
            sides.append(list_residuals(throw, grid, shift_border(solved.state, change, adjusting), adjusting)[1])
        numeric = (sides[0] - sides[1]) / 2e-4
        formula = slopes[:, [layout.curve + unknown]].toarray()[:, 0]
        assert np.abs(numeric - formula).max() < 2e-3 * max(np.abs(formula).max(), 1e-6), unknown


def test_one_step_is_that_of_the_whole_sparse_matrix(
    problem: tuple[AdjustThrow, AdjustSetting], solved: Adjusted
) -> None:
    throw, adjusting = problem
    grid = build_grid(WINDOW_S[0], WINDOW_S[3], WINDOW_S[1:3])
    moved = shift_border(solved.state, 0.3 * np.ones(len(solved.modes)), adjusting)
    prior = build_border_prior([throw], adjusting)
    parts, border, rest = adjust.look_around([throw], [grid], moved, prior, adjusting)
    ours = np.linalg.solve(border, rest)
    slopes, residuals, layout = list_residuals(throw, grid, moved, adjusting)
    ridge = csr_array(block_diag([1e-6 * np.ones((1, 1))] * layout.curve))
    whole = slopes.T @ slopes + block_diag([ridge, prior])
    right = -(slopes.T @ residuals)
    right[layout.curve :] -= prior @ list_departures(moved, adjusting)
    theirs = spsolve(csr_array(whole).tocsc(), right)
    scale = 1.0 / np.sqrt(np.diag(border))
    assert np.abs((ours - theirs[layout.curve :]) / scale).max() < 1e-4
    curves = parts[0].first - parts[0].carried @ ours
    assert np.abs(curves - theirs[: layout.curve]).max() < 1e-6


def test_scipy_finds_no_better_optimum(
    problem: tuple[AdjustThrow, AdjustSetting], solved: Adjusted, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Trust-region least squares of SciPy, weights held as they are at our optimum, moves no border unknown by more
    than a fifth of its standard uncertainty; ours stops at a twentieth of a step."""
    throw, adjusting = problem
    grid = build_grid(WINDOW_S[0], WINDOW_S[3], WINDOW_S[1:3])
    held = {clip: see_clip(view, clip, solved.state, grid, WINDOW_S[2]) for clip, view in throw.views}
    weights = [find_weights(sight, solved.state, grid, adjusting) for sight in held.values()]
    prior = build_border_prior([throw], adjusting)
    root = np.linalg.cholesky(prior).T
    curve = len(solved.state.curves[0])

    def state_at(change: Array) -> AdjustState:
        state = shift_border(solved.state, change[curve:], adjusting)
        return replace(state, curves=(state.curves[0] + change[:curve],))

    def with_prior(change: Array) -> tuple[csr_array, Array]:
        state = state_at(change)
        slopes, residuals, _ = list_residuals(throw, grid, state, adjusting)
        below = csr_array(np.hstack([np.zeros((len(root), curve)), root]))
        known = root @ list_departures(state, adjusting)
        return csr_array(vstack([slopes, below])), np.concatenate([residuals, known])

    turns = cycle(weights)  # the two clips are asked for one after the other

    def hold(seen: sightings.Sightings, errors: Array) -> Array:
        return next(turns)

    monkeypatch.setattr("elbowroom.core.reconstruction.free_terms.estimate_weights", hold)
    found = least_squares(
        lambda change: with_prior(change)[1],
        np.zeros(curve + len(root)),
        jac=lambda change: with_prior(change)[0],
        method="trf",
        tr_solver="lsmr",
        x_scale=np.concatenate([np.full(curve, 0.01), np.linalg.norm(solved.modes, axis=1)]),
        max_nfev=15,
    )
    spread = np.linalg.norm(solved.modes, axis=1)
    assert np.abs(found.x[curve:] / spread).max() < 0.2
    start = 0.5 * float(np.sum(with_prior(np.zeros(len(found.x)))[1] ** 2))
    assert found.cost > 0.999 * start


def find_weights(sight: FreeSight, state: AdjustState, grid: CurveGrid, adjusting: AdjustSetting) -> Array:
    """The robust weights of a clip at a state."""
    columns, values = locate_joint(grid, sight.seen.joints, sight.seen.times_s)
    pixels = adjusting.project(sight.camera, read_positions(state.curves[0], columns, values))[0]
    errors = pixels + sight.standing_px[sight.seen.joints] - sight.seen.pixels
    return sightings.estimate_weights(sight.seen, errors)


def test_opencv_places_the_second_camera_at_the_same_place(
    problem: tuple[AdjustThrow, AdjustSetting], solved: Adjusted
) -> None:
    """OpenCV's iterative pose of the second camera from our joints in space and the places it saw them at."""
    throw, _ = problem
    grid = build_grid(WINDOW_S[0], WINDOW_S[3], WINDOW_S[1:3])
    clip, view = throw.views[1]
    sight = see_clip(view, clip, solved.state, grid, WINDOW_S[2])
    columns, values = locate_joint(grid, sight.seen.joints, sight.seen.times_s)
    points = read_positions(solved.state.curves[0], columns, values)
    pixels = sight.seen.pixels - sight.standing_px[sight.seen.joints]
    lens = sight.camera.lens
    matrix = np.array([[lens.focal_px, 0, lens.centre_px[0]], [0, lens.focal_px, lens.centre_px[1]], [0, 0, 1.0]])
    _, turn, shift = cv2.solvePnP(points, pixels, matrix, np.array(lens.distortion), flags=cv2.SOLVEPNP_ITERATIVE)
    theirs = Rotation.from_rotvec(turn[:, 0]).as_matrix()
    gap = np.degrees(Rotation.from_matrix(theirs @ sight.camera.rotation.T).magnitude())
    assert gap < 0.15
    place = -theirs.T @ shift[:, 0]
    assert np.linalg.norm(place - sight.camera.place) < 0.03
    true = view.camera.rotation
    assert np.degrees(Rotation.from_matrix(sight.camera.rotation @ true.T).magnitude()) < 3.0
