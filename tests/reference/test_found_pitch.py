"""The captured pitch is found as one throw from every side.

Sides: instants stated beside the outside data (data README: foot contact frame 435, fastest hand 447, highest lead
knee 358, 120 Hz); the mirrored body (a left-hander); clips cut off before and after.
"""

from __future__ import annotations

import numpy as np
import pytest

from elbowroom.core.landmarks.layout import mirror_landmarks, select_pictures
from elbowroom.core.landmarks.names import Side
from elbowroom.core.landmarks.types import RawLandmarks
from elbowroom.core.quantities.types import Absent
from elbowroom.core.throws.find import find_cut_throws, find_throws
from elbowroom.core.throws.types import ThrowWindow
from tests.conftest import shared_dir
from tests.makers.landmark_scenes import (
    PITCH_CONTACT_S,
    PITCH_FASTEST_S,
    PITCH_LIFT_S,
    VIEWS,
    Array,
    read_pitch,
    see_body,
)

shared_dir()
STEP = 4
"""Every fourth picture of 120 Hz, as the light model sees a clip."""


def see_pitch(view: str, first: int = 0, last: int = 643, noise_px: float = 3.0) -> tuple[Array, RawLandmarks]:
    times, body = read_pitch()
    rows = np.arange(first, last, STEP)
    return times[rows], select_pictures(see_body(body, VIEWS[view], noise_px), rows)


def the_throw(times_s: Array, raw: RawLandmarks) -> ThrowWindow:
    found = find_throws(times_s, raw)
    assert not isinstance(found, Absent), found.reason
    assert len(found) == 1
    return found[0]


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("first", range(STEP))
def test_pitch_is_found_with_its_instants(view: str, first: int) -> None:
    throw = the_throw(*see_pitch(view, first))
    assert throw.side is Side.RIGHT
    # One sparse step and the three frames by which the filter moves the fastest hand (data README); the foot comes
    # down slowly here (toe lowest 5 frames before contact), and a guess that is early only costs pictures.
    assert abs(throw.release_guess_s - PITCH_FASTEST_S) <= (STEP + 3) / 120.0
    assert -0.1 <= throw.contact_guess_s - PITCH_CONTACT_S <= 0.04
    assert abs(throw.start_s + 0.3 - PITCH_LIFT_S) <= 0.1
    assert throw.end_s >= PITCH_FASTEST_S + 0.6


@pytest.mark.parametrize("view", VIEWS)
def test_mirrored_pitch_is_a_left_hander_s(view: str) -> None:
    times, raw = see_pitch(view)
    throw, mirrored = the_throw(times, raw), the_throw(times, mirror_landmarks(raw, 1280))
    assert mirrored.side is Side.LEFT
    assert mirrored.release_guess_s == pytest.approx(throw.release_guess_s, abs=1e-9)


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [(0, 455, "the clip ends before the throw does"), (400, 643, "the clip starts after the throw has begun")],
)
def test_pitch_cut_off_is_refused_with_the_reason(first: int, last: int, words: str) -> None:
    times, raw = see_pitch("open side", first, last)
    found = find_throws(times, raw)
    assert isinstance(found, Absent)
    assert words in found.reason
    assert len(find_cut_throws(times, raw)) == 1


def test_two_pitches_in_one_clip_are_two_throws() -> None:
    times, raw = see_pitch("oblique")
    rows = np.concatenate([np.arange(len(times)), np.arange(len(times))])
    long = np.concatenate([times, times + times[-1] + STEP / 120.0])
    found = find_throws(long, select_pictures(raw, rows))
    assert not isinstance(found, Absent)
    assert len(found) == 2
