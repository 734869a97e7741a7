"""From landmarks to joint tracks: offset, covariance, what is seen.

Sides: mirrored and shifted input; a loop over single numbers as a second algorithm for the offset network; closed
forms for the covariance; seeded Monte Carlo of the correlated draw behind a covariance.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from elbowroom.adapters.tables.landmark_tables import read_landmark_tables
from elbowroom.core.landmarks.layout import estimate_scale, mirror_landmarks
from elbowroom.core.landmarks.models import KINDS, LandmarkTables, find_kind
from elbowroom.core.landmarks.names import JOINT_LANDMARKS, OTHER_SIDE, Joint, Landmark
from elbowroom.core.landmarks.noise import find_limb_axes, predict_covariance, turn_variances
from elbowroom.core.landmarks.offsets import average_landmarks, build_features, predict_offsets
from elbowroom.core.landmarks.provisional import build_provisional_tables
from elbowroom.core.landmarks.tracks import build_joint_track
from elbowroom.core.landmarks.types import JointTrack, RawLandmarks
from tests.makers.landmark_scenes import NOT_THROWS, VIEWS, see_body, walk

TIMES_S = np.arange(0.0, 0.5, 1 / 60)
PICTURES = np.arange(len(TIMES_S))
WIDTH = 1280
MIRRORED = [OTHER_SIDE[joint] for joint in Joint]


def see_walk(view: str = "oblique", seed: int = 0) -> RawLandmarks:
    raw = see_body(walk(TIMES_S), VIEWS[view], noise_px=3.0, seed=seed)
    rng = np.random.default_rng(seed + 100)
    shape = raw.peak.shape
    return replace(raw, peak=rng.uniform(0.3, 1.0, shape), visibility=rng.uniform(0.2, 1.0, shape))


def build(raw: RawLandmarks, tables: LandmarkTables, shift_s: float = 0.0) -> JointTrack:
    return build_joint_track(raw, PICTURES, TIMES_S + shift_s, "oblique", tables)


@pytest.fixture(scope="module")
def fitted() -> LandmarkTables:
    return read_landmark_tables("large")


@settings(max_examples=12, deadline=None)
@given(seed=st.integers(0, 1000), view=st.sampled_from(sorted(VIEWS)))
def test_mirrored_picture_gives_the_mirrored_track(seed: int, view: str) -> None:
    tables, raw = read_landmark_tables("large"), see_walk(view, seed)
    plain, turned = build(raw, tables), build(mirror_landmarks(raw, WIDTH), tables)
    back = turned.pixels[:, MIRRORED] * np.array([-1.0, 1.0]) + np.array([WIDTH - 1.0, 0.0])
    np.testing.assert_allclose(back, plain.pixels, atol=1e-8)
    flip = np.diag([-1.0, 1.0])
    np.testing.assert_allclose(flip @ turned.noise_px2[:, MIRRORED] @ flip, plain.noise_px2, atol=1e-8)
    np.testing.assert_allclose(turned.depth_m[:, MIRRORED], plain.depth_m, atol=1e-12)


def test_shifted_clock_and_shifted_picture_change_nothing_else(fitted: LandmarkTables) -> None:
    raw = see_walk()
    plain, later = build(raw, fitted), build(raw, fitted, shift_s=3600.0)
    np.testing.assert_allclose(later.pixels, plain.pixels)
    np.testing.assert_allclose(later.noise_px2, plain.noise_px2, rtol=1e-6)
    moved = build(replace(raw, pixels=raw.pixels + np.array([40.0, -25.0])), fitted)
    np.testing.assert_allclose(moved.pixels - np.array([40.0, -25.0]), plain.pixels, atol=1e-8)


def test_offset_network_agrees_with_a_loop_over_numbers(fitted: LandmarkTables) -> None:
    raw, model = see_walk(), fitted.offset
    given = predict_offsets(model, raw)[3, Joint.RIGHT_ELBOW]
    kind = KINDS.index("ELBOW")
    features = build_features(raw, kind)[3]
    scaled = [
        min(max((f - c) / s, -3.0), 3.0)
        for f, c, s in zip(features, model.centre[kind], model.spread[kind], strict=True)
    ]
    total = list(model.output_bias[kind])
    for unit in range(model.hidden.shape[-1]):
        level = sum(f * w for f, w in zip(scaled, model.hidden[kind, :, unit], strict=True))
        level = np.tanh(level + model.hidden_bias[kind, unit])
        total = [t + level * model.output[kind, unit, axis] for axis, t in enumerate(total)]
    np.testing.assert_allclose(given, np.array(total) * estimate_scale(raw)[3], rtol=1e-9)


def test_scale_is_pixels_for_a_metre_of_an_even_picture() -> None:
    raw = see_walk()
    flat = replace(raw, pixels=raw.world_m[..., :2] * 137.0 + np.array([600.0, 300.0]))
    np.testing.assert_allclose(estimate_scale(flat), 137.0, rtol=1e-9)


def test_covariance_has_the_closed_form_of_the_provisional_table() -> None:
    raw = see_walk()
    even = np.full(raw.peak.shape, 0.8)
    raw = replace(raw, peak=even, visibility=even)
    tables = build_provisional_tables()
    still = np.repeat(average_landmarks(raw)[:1], len(TIMES_S), axis=0)
    given = predict_covariance(tables.noise, raw, still, TIMES_S)
    standard_px = 0.025 * np.exp(0.5 * (2.0 * 0.2 + 1.5 * 0.2)) * estimate_scale(raw)
    np.testing.assert_allclose(given[:, Joint.RIGHT_WRIST], standard_px[:, None, None] ** 2 * np.eye(2), atol=1e-9)


def test_standing_and_noise_parts_add_up_to_the_whole(fitted: LandmarkTables) -> None:
    raw = see_walk()
    track = build(raw, fitted)
    whole = predict_covariance(fitted.noise, raw, track.pixels, TIMES_S)
    np.testing.assert_allclose(track.noise_px2 + track.offset_px2, whole)
    share = fitted.noise.standing_share[find_kind(Joint.LEFT_KNEE)]
    np.testing.assert_allclose(track.offset_px2[:, Joint.LEFT_KNEE], share * whole[:, Joint.LEFT_KNEE])
    assert (np.linalg.eigvalsh(whole) > 0).all()


def test_turned_variances_are_those_of_turned_draws() -> None:
    rng = np.random.default_rng(4)
    axis = np.array([np.cos(0.7), np.sin(0.7)])
    along, across = rng.normal(0, 3.0, 40000), rng.normal(0, 1.0, 40000)
    draws = along[:, None] * axis + across[:, None] * np.array([-axis[1], axis[0]])
    given = turn_variances(np.array([9.0, 1.0]), axis)
    # A variance of 40,000 normal draws has a relative standard deviation of sqrt(2 / 40000) = 0.7 %; five of them.
    np.testing.assert_allclose(np.cov(draws.T), given, atol=0.035 * 9.0)


def test_less_heat_means_more_noise(fitted: LandmarkTables) -> None:
    raw = see_walk()
    weak = replace(raw, peak=0.5 * raw.peak)
    strong, faint = build(raw, fitted), build(weak, fitted)
    traces = [np.trace(track.noise_px2[:, Joint.RIGHT_ELBOW], axis1=-2, axis2=-1) for track in (strong, faint)]
    assert (traces[1] > traces[0]).all()


def test_joint_without_presence_or_heat_or_person_is_not_seen(fitted: LandmarkTables) -> None:
    raw = see_walk()
    presence, peak, score = raw.presence.copy(), raw.peak.copy(), raw.person_score.copy()
    presence[4, Landmark.LEFT_KNEE] = 0.05
    peak[5, Landmark.RIGHT_PINKY] = 0.0
    score[6] = 0.1
    track = build(replace(raw, presence=presence, peak=peak, person_score=score), fitted)
    assert not track.seen[4, Joint.LEFT_KNEE]
    assert not track.seen[5, Joint.RIGHT_HAND]
    assert not track.seen[6].any()
    assert track.seen.sum() == track.seen.size - 2 - len(Joint)


def test_every_joint_has_landmarks_and_a_limb_axis_of_length_one() -> None:
    raw = see_body(NOT_THROWS["standing"](TIMES_S), VIEWS["front"])
    axes = find_limb_axes(average_landmarks(raw))
    assert set(JOINT_LANDMARKS) == set(Joint)
    np.testing.assert_allclose(np.linalg.norm(axes, axis=-1), 1.0, atol=1e-9)
