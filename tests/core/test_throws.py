"""Finding throws, choosing pictures, pairing clips.

Sides: movements that are not throws, built from simple kinematics (must not be found); closed-form shares and spans of
the chosen pictures; shifts and orders known by construction for the pairing.
"""

from __future__ import annotations

import numpy as np
import pytest

from elbowroom.core.landmarks.names import Side
from elbowroom.core.quantities.types import Absent
from elbowroom.core.throws.choose import LARGEST_SHARE, choose_pictures
from elbowroom.core.throws.find import check_hand, find_throws, is_wrong_hand
from elbowroom.core.throws.pair import pair_throws, shift_window
from elbowroom.core.throws.types import ThrowWindow
from tests.makers.landmark_scenes import NOT_THROWS, VIEWS, see_body

TIMES_S = np.arange(0.0, 4.0, 1 / 30)


def window(release_s: float, side: Side = Side.RIGHT) -> ThrowWindow:
    return ThrowWindow(
        start_s=release_s - 1.2,
        contact_guess_s=release_s - 0.16,
        release_guess_s=release_s,
        end_s=release_s + 0.7,
        side=side,
    )


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("movement", NOT_THROWS)
def test_movement_that_is_no_throw_is_not_found(movement: str, view: str) -> None:
    found = find_throws(TIMES_S, see_body(NOT_THROWS[movement](TIMES_S), VIEWS[view], noise_px=3.0))
    assert isinstance(found, Absent)
    assert "No throw was found" in found.reason


def test_clip_that_is_too_short_says_so() -> None:
    times = TIMES_S[:6]
    found = find_throws(times, see_body(NOT_THROWS["standing"](times), VIEWS["front"]))
    assert isinstance(found, Absent)
    assert "half a second" in found.reason


@pytest.mark.parametrize("rate_hz", [60.0, 120.0, 240.0])
def test_chosen_pictures_are_few_dense_where_wanted_and_inside_the_window(rate_hz: float) -> None:
    times = np.arange(0.0, 6.0, 1 / rate_hz)
    throw = window(3.0)
    choice = choose_pictures(throw, times)
    wanted = np.flatnonzero((times >= throw.contact_guess_s - 0.04) & (times <= throw.release_guess_s + 0.06))
    assert choice.share <= LARGEST_SHARE
    assert set(wanted) <= set(choice.dense)
    assert not set(choice.dense) & set(choice.sparse)
    chosen = times[choice.pictures]
    assert throw.start_s <= chosen[0] <= throw.start_s + 1.5 / rate_hz
    assert throw.end_s - 1.5 / rate_hz <= chosen[-1] <= throw.end_s
    assert np.diff(chosen).max() <= 0.12


def test_wrong_hand_is_named() -> None:
    windows = (window(2.0, Side.LEFT),)
    assert is_wrong_hand(windows, Side.RIGHT)
    assert not is_wrong_hand(windows, Side.LEFT)
    assert check_hand(windows, Side.LEFT) == windows
    refused = check_hand(windows, Side.RIGHT)
    assert isinstance(refused, Absent)
    assert "left arm" in refused.reason


def test_equal_numbers_pair_in_order() -> None:
    first, second = (window(2.0), window(9.0)), (window(3.4), window(10.45))
    pairs = pair_throws((first, second))
    assert not isinstance(pairs, Absent)
    assert [pair.members for pair in pairs] == [((0, 0), (1, 0)), ((0, 1), (1, 1))]


def test_missing_throw_is_paired_by_the_gaps() -> None:
    first = (window(2.0), window(9.0), window(21.0))
    second = (window(10.1), window(22.05))
    pairs = pair_throws((first, second))
    assert not isinstance(pairs, Absent)
    assert [pair.members for pair in pairs] == [((0, 0),), ((0, 1), (1, 0)), ((0, 2), (1, 1))]


def test_gaps_that_fit_in_two_ways_are_refused_and_a_rough_offset_settles_it() -> None:
    first, second = (window(2.0), window(9.0), window(16.0)), (window(3.0), window(10.0))
    refused = pair_throws((first, second))
    assert isinstance(refused, Absent)
    assert "more than one way" in refused.reason
    pairs = pair_throws((first, second), {1: 6.05})
    assert not isinstance(pairs, Absent)
    assert [pair.members for pair in pairs] == [((0, 0),), ((0, 1), (1, 0)), ((0, 2), (1, 1))]


def test_window_moves_to_another_clip_or_says_that_it_is_not_there() -> None:
    times = np.arange(0.0, 10.0, 1 / 240)
    moved = shift_window(window(4.0), 1.5, times)
    assert not isinstance(moved, Absent)
    assert (moved.release_guess_s, moved.end_s) == pytest.approx((5.5, 6.2))
    early = shift_window(window(1.0), 0.0, times)
    assert not isinstance(early, Absent)
    assert early.start_s == 0.0
    gone = shift_window(window(4.0), 5.9, times)
    assert isinstance(gone, Absent)
    assert "does not show this throw" in gone.reason
