"""Exchanged sides of the captured pitch are put right.

Sides: exchanges laid over true landmarks in known pictures (the truth is the answer); two views tied by an exact
fundamental matrix; the mirrored picture; an arm moved to a known wrong place.
"""

from __future__ import annotations

import numpy as np
import pytest

from elbowroom.core.landmarks.layout import (
    ARMS,
    FACE,
    LEGS,
    OTHER,
    mirror_landmarks,
    reorder_landmarks,
    select_pictures,
)
from elbowroom.core.landmarks.names import Joint, Landmark, Side
from elbowroom.core.landmarks.provisional import build_provisional_tables
from elbowroom.core.landmarks.sides import SideKnowledge, repair_sides
from elbowroom.core.landmarks.tracks import build_joint_track
from elbowroom.core.landmarks.types import RawLandmarks
from elbowroom.core.landmarks.views import ViewLandmarks, measure_epipolar, repair_across_views
from tests.conftest import shared_dir
from tests.makers.landmark_scenes import VIEWS, Array, read_pitch, see_body, tie_views

shared_dir()
GROUPS = {"all": np.arange(33), "arms": np.concatenate([FACE, ARMS]), "legs": LEGS}


def see_pitch(view: str, step: int, seed: int = 0) -> tuple[Array, Array, RawLandmarks]:
    times, body = read_pitch()
    rows = np.arange(160, 560, step)
    return rows, times[rows], select_pictures(see_body(body, VIEWS[view], 4.0, seed), rows)


def draw_exchanged(n: int, share: float, seed: int) -> Array:
    """Stretches of pictures that together make about a share of all."""
    rng = np.random.default_rng(seed)
    flags, at = np.zeros(n, dtype=bool), 0
    while at < n:
        at += int(rng.geometric(1 / 12))
        length = int(rng.geometric(1 / (12 * share / (1 - share))))
        flags[at : at + length] = True
        at += length
    return flags


def exchange(raw: RawLandmarks, flags: Array, marks: Array) -> RawLandmarks:
    order = np.tile(np.arange(33), (len(flags), 1))
    order[np.ix_(flags, marks)] = OTHER[marks]
    return reorder_landmarks(raw, order)


def count_wrong(given: RawLandmarks, truth: RawLandmarks) -> float:
    return float((np.abs(given.pixels - truth.pixels).max(axis=(1, 2)) > 0).mean())


@pytest.mark.parametrize("hand", [Side.RIGHT, None])
@pytest.mark.parametrize("step", [1, 4])
@pytest.mark.parametrize("view", VIEWS)
def test_whole_body_exchanges_are_put_right(view: str, step: int, hand: Side | None) -> None:
    rows, times, truth = see_pitch(view, step)
    is_behind = view == "behind"
    flags = draw_exchanged(len(rows), 0.33 if is_behind else 0.08, seed=3)
    spoilt = exchange(truth, flags, GROUPS["all"])
    known = SideKnowledge(is_behind=is_behind, hand=hand)
    repaired, corrections = repair_sides(spoilt, rows, times, known)
    assert count_wrong(spoilt, truth) >= 0.02
    assert count_wrong(repaired, truth) <= 0.02
    covered = sum(int(((rows >= c.pictures[0]) & (rows <= c.pictures[1])).sum()) for c in corrections)
    assert covered == pytest.approx(flags.sum(), abs=0.03 * len(rows))


@pytest.mark.parametrize("group", ["arms", "legs"])
@pytest.mark.parametrize("view", VIEWS)
def test_exchanges_of_arms_or_legs_are_mostly_put_right(view: str, group: str) -> None:
    rows, times, truth = see_pitch(view, 1)
    spoilt = exchange(truth, draw_exchanged(len(rows), 0.15, seed=5), GROUPS[group])
    repaired, _ = repair_sides(spoilt, rows, times, SideKnowledge(is_behind=view == "behind", hand=Side.RIGHT))
    assert count_wrong(repaired, truth) <= 0.25 * count_wrong(spoilt, truth)


def test_right_sides_stay_as_they_are() -> None:
    for view in VIEWS:
        rows, times, truth = see_pitch(view, 2)
        repaired, corrections = repair_sides(truth, rows, times, SideKnowledge(is_behind=view == "behind"))
        assert count_wrong(repaired, truth) == 0
        assert all(correction.what == "arm lost" for correction in corrections)
        assert (repaired.presence == 0).mean() < 0.01


def test_mirrored_pictures_and_shifted_times_give_the_same_repair() -> None:
    rows, times, truth = see_pitch("behind", 2)
    spoilt = exchange(truth, draw_exchanged(len(rows), 0.33, seed=1), GROUPS["all"])
    plain, corrections = repair_sides(spoilt, rows, times, SideKnowledge(is_behind=True, hand=Side.RIGHT))
    turned, mirrored_corrections = repair_sides(
        mirror_landmarks(spoilt, 1280), rows, times + 17.0, SideKnowledge(is_behind=True, hand=Side.LEFT)
    )
    np.testing.assert_allclose(mirror_landmarks(turned, 1280).pixels, plain.pixels)
    assert [c.pictures for c in corrections] == [c.pictures for c in mirrored_corrections]


@pytest.mark.parametrize("length", [1, 3, 6])
def test_lost_throwing_arm_comes_out_as_not_seen(length: int) -> None:
    rows, times, truth = see_pitch("open side", 1)
    start = 275
    pixels, peak = truth.pixels.copy(), truth.peak.copy()
    arm = [Landmark.RIGHT_ELBOW, Landmark.RIGHT_WRIST, Landmark.RIGHT_INDEX, Landmark.RIGHT_PINKY]
    pixels[start : start + length, arm] = pixels[start : start + length, [Landmark.LEFT_HIP]] + 8.0
    peak[start : start + length, arm] = 0.4
    spoilt = RawLandmarks(**{**vars(truth), "pixels": pixels, "peak": peak})
    repaired, corrections = repair_sides(spoilt, rows, times, SideKnowledge(is_behind=False, hand=Side.RIGHT))
    track = build_joint_track(repaired, rows, times, "open side", build_provisional_tables(), corrections)
    gone = ~track.seen[:, [Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST, Joint.RIGHT_HAND]]
    assert gone[start : start + length].all()
    assert gone.sum() <= 3 * (length + 2)
    assert any(c.what == "arm lost" and c.pictures[0] <= rows[start] <= c.pictures[1] for c in track.corrections)


def test_epipolar_distance_is_zero_for_one_point_seen_twice() -> None:
    _, body = read_pitch()
    first, second = VIEWS["open side"], VIEWS["behind"]
    seen = [see_body(body, eye).pixels for eye in (first, second)]
    assert measure_epipolar(seen[0], seen[1], tie_views(first, second)).max() < 1e-8


@pytest.mark.parametrize("group", GROUPS)
@pytest.mark.parametrize("stretch", [(0, 200), (50, 120), (100, 110)])
def test_two_views_put_right_what_one_view_cannot(group: str, stretch: tuple[int, int]) -> None:
    rows, times, side = see_pitch("open side", 2, seed=1)
    _, _, back = see_pitch("behind", 2, seed=2)
    flags = np.zeros(len(rows), dtype=bool)
    flags[slice(*stretch)] = True
    spoilt = exchange(back, flags, GROUPS[group])
    views = [
        ViewLandmarks(landmarks=raw, points_px=raw.pixels, pictures=rows, times_s=times, is_behind=is_behind)
        for raw, is_behind in ((side, False), (spoilt, True))
    ]
    repaired = repair_across_views(views[0], views[1], tie_views(VIEWS["open side"], VIEWS["behind"]))
    assert repaired.first_corrections == ()
    assert count_wrong(repaired.second, back) <= 0.02
    assert 1 <= len(repaired.second_corrections) <= 3
