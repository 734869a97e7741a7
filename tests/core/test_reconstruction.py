"""The reconstruction, from independent sides.

Sides: finite differences of every residual; a dense solve of the same normal equations; exact pictures give the true
motion; repeated noise scatters as the covariance says; a turned field gives the turned motion; draws against the dense
inverse; the mirror undone by itself; a gross outlier changes little; per-picture triangulation as a second algorithm.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.project import project_points, project_with_jacobian
from elbowroom.core.cameras.rays import undistort_pixels
from elbowroom.core.cameras.types import Camera
from elbowroom.core.landmarks.names import JOINTS, Joint
from elbowroom.core.landmarks.types import JointTrack
from elbowroom.core.quantities.types import Source
from elbowroom.core.reconstruction.draws import draw_curves, draw_noise, locate_joints, mirror_curves
from elbowroom.core.reconstruction.layout import build_grid, build_layout
from elbowroom.core.reconstruction.normal import build_system, factor_system
from elbowroom.core.reconstruction.sightings import collect_sightings
from elbowroom.core.reconstruction.solve import Problem, build_terms, reconstruct_throw
from elbowroom.core.reconstruction.types import Array, Curves, Motion, ViewedThrow
from tests.makers.figure import make_camera, make_figure, make_priors

WINDOW_S = (0.0, 0.35, 0.55, 0.9)
OPEN_SIDE, FRONT = make_camera("open side", (0.3, -5.0, 1.3)), make_camera("front", (5.0, 0.8, 1.4))


def make_view(camera: Camera, noise_px: float, seed: int, truth: float = 0.0, stated: float = 0.0) -> ViewedThrow:
    generator = np.random.default_rng(seed)
    times = np.arange(0.0, 0.9, 1 / 120) + generator.uniform(0, 1 / 120)
    pixels = project_points(camera, make_figure(times)) + noise_px * generator.standard_normal((len(times), JOINTS, 2))
    spread = np.broadcast_to(np.eye(2) * max(noise_px, 0.3) ** 2, (len(times), JOINTS, 2, 2))
    track = JointTrack(
        camera=camera.name,
        pictures=np.arange(len(times)),
        times_s=times - truth,
        pixels=pixels,
        noise_px2=spread,
        offset_px2=spread / 100,
        noise_time_s=1 / 240,
        seen=np.ones((len(times), JOINTS), dtype=bool),
        depth_m=np.zeros((len(times), JOINTS)),
        depth_standard_m=0.2,
        corrections=(),
        model="none",
    )
    flat = undistort_pixels(camera.lens, pixels.reshape(-1, 2)).reshape(pixels.shape)
    return ViewedThrow(track=track, camera=camera, flat=flat, offset_s=truth - stated, offset_standard_s=abs(stated))


def thin_view(view: ViewedThrow, every: int) -> ViewedThrow:
    """Keep one picture in `every` of a view."""
    kept, track = slice(None, None, every), view.track
    names = ("pictures", "times_s", "pixels", "noise_px2", "offset_px2", "seen", "depth_m")
    thinned = replace(track, **{name: getattr(track, name)[kept] for name in names})
    return replace(view, track=thinned, flat=view.flat[kept])


def reconstruct(*views: ViewedThrow) -> Motion:
    return reconstruct_throw(views, WINDOW_S, make_priors(), project_with_jacobian, True)


def find_errors(motion: Motion) -> Array:
    times = np.linspace(0.1, 0.8, 60)
    return np.linalg.norm(locate_joints(motion, times) - make_figure(times), axis=2)


@pytest.fixture(scope="module")
def noisy() -> Motion:
    return reconstruct(make_view(OPEN_SIDE, 2.0, 1), make_view(FRONT, 2.0, 2))


def make_problem(*views: ViewedThrow) -> tuple[Problem, Array]:
    priors, grid = make_priors(), build_grid(0.0, 0.9, (0.35, 0.55))
    layout = build_layout(grid, len(priors.bones), views)
    sightings = tuple(collect_sightings(view, grid) for view in views)
    problem = Problem(
        views=views,
        sightings=sightings,
        grid=grid,
        layout=layout,
        priors=priors,
        project=project_with_jacobian,
        throwing_right=True,
    )
    unknowns = np.zeros(layout.size)
    unknowns[: layout.curve] = make_figure(grid.sites_s).ravel()
    unknowns[layout.curve : layout.clocks] = [bone.length_m for bone in priors.bones]
    return problem, unknowns


@pytest.mark.parametrize("count", [1, 2])
def test_slopes_agree_with_finite_differences(count: int) -> None:
    camera = replace(FRONT, covariance=np.diag([4.0, 1, 1, 1e-4, 1e-4, 1e-6, 1e-6, *[1e-6] * 3, *[1e-4] * 3]))
    views = (make_view(camera, 1.0, 3), make_view(OPEN_SIDE, 1.0, 4))[:count]
    problem, unknowns = make_problem(*views)
    # Far tails make the weights constant, so that only the geometry is differentiated.
    sightings = tuple(replace(seen, testing=seen.testing * 1e-9) for seen in problem.sightings)
    problem = replace(problem, sightings=sightings)
    direction = np.random.default_rng(5).standard_normal(problem.layout.size)
    step = 1e-6
    ahead = build_terms(problem, unknowns + step * direction)
    behind = build_terms(problem, unknowns - step * direction)
    for term, after, before in zip(build_terms(problem, unknowns), ahead, behind, strict=True):
        expected = (after.residuals - before.residuals) / (2 * step)
        given = np.sum(term.slopes * direction[term.columns], axis=1)
        assert np.allclose(given, expected, rtol=1e-4, atol=1e-4 * (1 + np.abs(expected).max()))


def test_banded_step_equals_a_dense_solve() -> None:
    problem, unknowns = make_problem(make_view(OPEN_SIDE, 1.0, 6), make_view(FRONT, 1.0, 7))
    information, right = build_system(build_terms(problem, unknowns), problem.layout)
    dense = information.toarray()
    dense[: problem.layout.curve, : problem.layout.curve] += 1e-6 * np.eye(problem.layout.curve)
    expected = np.linalg.solve(dense, right)
    step = factor_system(information, right, problem.layout).step
    assert np.allclose(step, expected, rtol=1e-6, atol=1e-8 * np.abs(expected).max())


@pytest.mark.parametrize("every", range(5, 12))
def test_a_clock_that_moves_rows_over_knots_leaves_the_band_as_narrow_as_it_is(every: int) -> None:
    problem, unknowns = make_problem(thin_view(make_view(OPEN_SIDE, 1.0, 6), every), make_view(FRONT, 1.0, 7))
    for moved_s in np.linspace(-0.04, 0.04, 17):
        unknowns[problem.layout.clocks] = moved_s
        step = factor_system(*build_system(build_terms(problem, unknowns), problem.layout), problem.layout).step
        assert np.isfinite(step).all()


def test_exact_pictures_give_the_true_motion() -> None:
    errors = find_errors(reconstruct(make_view(OPEN_SIDE, 0.0, 8), make_view(FRONT, 0.0, 9)))
    assert errors.max() < 0.004


def test_noise_scatters_as_the_covariance_says(noisy: Motion) -> None:
    times = np.linspace(0.2, 0.7, 12)
    draws = draw_curves(noisy, Source.LANDMARKS, 200, np.random.default_rng(10))
    spread = np.stack([locate_joints(replace(noisy, coefficients_m=c), times) for c in draws.coefficients_m]).std(0)
    scores = []
    for seed in range(6):
        motion = reconstruct(make_view(OPEN_SIDE, 2.0, 20 + seed), make_view(FRONT, 2.0, 60 + seed))
        scores.append((locate_joints(motion, times) - make_figure(times)) / spread)
    # The smoothness prior expects faster motion than this figure's, so the covariance is an upper bound.
    root = float(np.sqrt(np.mean(np.square(scores))))
    assert 0.5 < root < 1.15


def test_an_unsure_clock_widens_the_fast_joints_and_moves_nothing() -> None:
    views = (make_view(OPEN_SIDE, 0.5, 11), make_view(FRONT, 0.5, 12))
    unsure = replace(views[1], offset_standard_s=0.01)
    sure, motion = reconstruct(*views), reconstruct(views[0], unsure)
    times = np.linspace(0.1, 0.8, 60)
    assert np.abs(locate_joints(motion, times) - locate_joints(sure, times)).max() < 1e-3
    # The other side: a fifth of that clock error put into the pictures' times moves the motion by about a fifth.
    late = reconstruct(views[0], replace(views[1], offset_s=0.002))
    modes = [motion.shared_modes_m[k] for k, name in enumerate(motion.shared_names) if name.startswith("clocks front")]
    predicted = 0.2 * locate_joints(replace(motion, coefficients_m=modes[0]), times)[:, Joint.RIGHT_HAND]
    moved = (locate_joints(late, times) - locate_joints(sure, times))[:, Joint.RIGHT_HAND]
    assert float(np.linalg.norm(moved - np.sign(np.sum(moved * predicted)) * predicted) / np.linalg.norm(moved)) < 0.35


def test_bones_are_measured_and_not_taken_from_the_prior(noisy: Motion) -> None:
    upper_arm = next(b for b in noisy.bones if b.ends == (Joint.RIGHT_SHOULDER, Joint.RIGHT_ELBOW))
    assert abs(upper_arm.length_m - 0.27) < 4 * upper_arm.standard_m < 0.02


def test_a_turned_field_gives_the_turned_motion(noisy: Motion) -> None:
    turn = Rotation.from_euler("z", 0.7).as_matrix()
    views = []
    for camera, seed in ((OPEN_SIDE, 1), (FRONT, 2)):
        view = make_view(camera, 2.0, seed)
        views.append(replace(view, camera=replace(camera, rotation=camera.rotation @ turn.T)))
    times = np.linspace(0.1, 0.8, 20)
    assert np.allclose(locate_joints(reconstruct(*views), times), locate_joints(noisy, times) @ turn.T, atol=2e-3)


def test_an_outlier_changes_little(noisy: Motion) -> None:
    view = make_view(OPEN_SIDE, 2.0, 1)
    pixels = view.track.pixels.copy()
    pixels[40:43, Joint.RIGHT_ELBOW] += 150.0
    spoilt = replace(view, track=replace(view.track, pixels=pixels))
    motion = reconstruct(spoilt, make_view(FRONT, 2.0, 2))
    times = np.linspace(0.1, 0.8, 60)
    assert np.abs(locate_joints(motion, times) - locate_joints(noisy, times)).max() < 0.03


def test_noise_draws_have_the_covariance_of_the_dense_inverse(noisy: Motion) -> None:
    band, size = noisy.factor.shape
    lower = np.zeros((size, size))
    for distance in range(band):
        lower[np.arange(distance, size), np.arange(size - distance)] = noisy.factor[distance, : size - distance]
    chosen = np.arange(600, 620)
    expected = np.linalg.inv(lower @ lower.T)[np.ix_(chosen, chosen)]
    count = 4000
    draws = draw_noise(noisy, count, np.random.default_rng(13)).reshape(count, -1)[:, chosen]
    ratio = draws.var(axis=0) / np.diag(expected)
    assert np.all(np.abs(ratio - 1) < 5 * np.sqrt(2 / count))


def test_one_view_alone_admits_its_depth() -> None:
    motion = reconstruct(make_view(OPEN_SIDE, 1.0, 14))
    draws = draw_curves(motion, Source.OUT_OF_PLANE, 100, np.random.default_rng(15))
    spread = draws.coefficients_m[1:].std(axis=0)[20, Joint.RIGHT_WRIST]
    assert spread[1] > 0.1 > 5 * spread[2]


def test_the_mirror_is_undone_by_itself(noisy: Motion) -> None:
    curves = Curves(knots_s=noisy.knots_s, coefficients_m=noisy.coefficients_m[None])
    mirrored = mirror_curves(curves)
    assert np.array_equal(mirror_curves(mirrored).coefficients_m, curves.coefficients_m)
    assert np.allclose(mirrored.coefficients_m[0, :, Joint.LEFT_HAND, 1], -noisy.coefficients_m[:, Joint.RIGHT_HAND, 1])
