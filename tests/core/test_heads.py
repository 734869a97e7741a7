"""Where heads are hidden.

Sides: every head landmark lies inside the circle, whatever the place, size and turn of the person; circles follow a
known path between pictures, grow while nobody looks and are held at the ends; what is uncovered is named.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from elbowroom.core.landmarks.heads import (
    GROWTH_PER_S,
    HEAD,
    LONGEST_HOLD_S,
    HeadTrack,
    add_circles,
    find_heads,
    find_uncovered,
    place_circles,
)
from elbowroom.core.landmarks.names import Landmark
from elbowroom.core.landmarks.types import LANDMARK_COUNT, RawLandmarks

TIMES_S = np.arange(0.0, 4.0, 0.1)


def make_raw(centre: tuple[float, float] = (200.0, 100.0), size_px: float = 20.0, turn: float = 0.0) -> RawLandmarks:
    """Return one person: a head of eleven landmarks about `centre`, shoulders and hips below it."""
    pixels = np.zeros((1, LANDMARK_COUNT, 2))
    angles = np.linspace(0.0, np.pi, len(HEAD)) + turn
    pixels[0, HEAD] = np.array(centre) + size_px / 2.0 * np.column_stack([np.cos(angles), np.sin(angles)])
    for landmark, place in (
        (Landmark.LEFT_SHOULDER, (15.0, 25.0)),
        (Landmark.RIGHT_SHOULDER, (-15.0, 25.0)),
        (Landmark.LEFT_HIP, (10.0, 80.0)),
        (Landmark.RIGHT_HIP, (-10.0, 80.0)),
    ):
        pixels[0, landmark] = np.array(centre) + np.array(place) * size_px / 20.0
    flat = np.ones((1, LANDMARK_COUNT))
    return RawLandmarks(
        pixels=pixels,
        depth_px=flat * 0.0,
        world_m=np.zeros((1, LANDMARK_COUNT, 3)),
        visibility=flat,
        presence=flat,
        peak=flat,
        spread_px=flat,
        person_score=np.ones(1),
        region_size_px=np.full(1, 200.0),
    )


@given(x=st.floats(-100, 2000), y=st.floats(-100, 2000), size_px=st.floats(2, 300), turn=st.floats(-np.pi, np.pi))
def test_a_circle_holds_the_whole_head(x: float, y: float, size_px: float, turn: float) -> None:
    raw = make_raw((x, y), size_px, turn)
    (circle,) = find_heads(raw)
    away = np.linalg.norm(raw.pixels[0, HEAD] - circle[:2], axis=1)
    assert away.max() < circle[2]
    # A head is 0.13 of the height and the torso 0.29 of it (Winter 2009), so the radius is never below half a head.
    assert circle[2] > 0.5 * 0.13 / 0.29 * 55.0 * size_px / 20.0
    assert len(find_uncovered(raw, circle[None])) == 0


def test_circles_follow_between_pictures_and_grow() -> None:
    track = HeadTrack(pictures=np.array([10, 20]), circles_px=np.array([[100.0, 50.0, 10.0], [200.0, 70.0, 20.0]]))
    covers = place_circles([track], TIMES_S)
    np.testing.assert_allclose(covers[10], [[100.0, 50.0, 10.0]])
    np.testing.assert_allclose(covers[15], [[150.0, 60.0, 15.0 * (1.0 + GROWTH_PER_S * 0.5)]])


def test_circles_are_held_at_the_ends_for_a_while() -> None:
    track = HeadTrack(pictures=np.array([10, 11]), circles_px=np.full((2, 3), 30.0))
    held = [number for number, circles in enumerate(place_circles([track], TIMES_S)) if len(circles)]
    assert TIMES_S[held[0]] == pytest.approx(1.0 - LONGEST_HOLD_S, abs=0.1)
    assert TIMES_S[held[-1]] == pytest.approx(1.1 + LONGEST_HOLD_S, abs=0.1)


def test_a_head_outside_every_circle_is_named() -> None:
    two = make_raw((200.0, 100.0)), make_raw((500.0, 100.0))
    raw = replace(two[0], pixels=np.concatenate([person.pixels for person in two]))
    circles = find_heads(two[0])
    assert find_uncovered(raw, circles).tolist() == [1]
    assert find_uncovered(raw, np.zeros((0, 3))).tolist() == [0, 1]
    (all_covered,) = add_circles([circles], {0: find_heads(two[1])})
    assert find_uncovered(raw, all_covered).tolist() == []


def test_half_a_head_is_uncovered() -> None:
    raw = make_raw()
    circle = find_heads(raw)
    circle[0, 2] = 0.5 * np.linalg.norm(raw.pixels[0, HEAD] - circle[0, :2], axis=1).max()
    assert find_uncovered(raw, circle).tolist() == [0]
