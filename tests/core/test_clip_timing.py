"""Capture times and what they can carry.

Sides: closed forms on made times; the thresholds of the module's own table against check-values H (7,000 deg/s is 117
deg a picture at 60 Hz); an identity (nothing repeats in a still scene); refusal messages.
"""

from __future__ import annotations

import numpy as np
import pytest

from elbowroom.core.clips.repeats import find_repeated, measure_level_change
from elbowroom.core.clips.timing import (
    MIN_ARM_RATES_HZ,
    find_gaps,
    find_slow_factor,
    judge_timing,
    mark_repeats,
    time_pictures,
)
from elbowroom.core.clips.types import RateSource
from elbowroom.errors import ClipError


def count_out(rate_hz: float, count: int = 60) -> np.ndarray:
    return np.arange(count) / rate_hz


@pytest.mark.parametrize(
    ("rate_hz", "carries"),
    [
        (25.0, (False, False, False)),
        (30.0, (False, False, False)),
        (59.94, (True, False, False)),
        (119.88, (True, True, False)),
        (239.76, (True, True, True)),
    ],
)
def test_what_each_rate_carries(rate_hz: float, carries: tuple[bool, bool, bool]) -> None:
    timing = judge_timing(count_out(rate_hz), np.zeros(60, bool), is_checked=True)
    assert tuple(map(bool, (timing.instants, timing.trunk_rates, timing.arm_rates))) == carries


def test_refusal_of_arm_rates_says_rate_and_need() -> None:
    timing = judge_timing(count_out(60), np.zeros(60, bool), is_checked=True)
    assert not timing.arm_rates
    assert "60" in timing.arm_rates.reason
    assert "200" in timing.arm_rates.reason
    assert "240" in timing.arm_rates.advice


def test_arm_threshold_keeps_a_picture_under_a_right_angle() -> None:
    # check-values H: 7,000 deg/s gives 117 deg a picture at 60 Hz (CALC there).
    assert pytest.approx(117, abs=0.5) == 7000 / 60
    assert 7000 / MIN_ARM_RATES_HZ < 45


def test_uneven_rate_is_judged_by_its_slow_end() -> None:
    intervals = np.full(100, 1 / 240)
    intervals[::10] = 1 / 60
    timing = judge_timing(np.cumsum(intervals), np.zeros(100, bool), is_checked=True)
    assert timing.instants
    assert not timing.arm_rates


@pytest.mark.parametrize(("share", "trusted"), [(0.02, True), (0.05, False)])
def test_few_repeats_are_borne_and_more_refuse_all_timing(share: float, trusted: bool) -> None:
    repeated = np.zeros(100, bool)
    repeated[: int(100 * share)] = True
    times = mark_repeats(time_pictures(count_out(240, 100)), repeated)
    assert bool(times.timing.instants) is trusted
    assert times.is_checked


def test_slow_motion_factor() -> None:
    assert find_slow_factor(30.0, 240.0) == 8.0
    assert find_slow_factor(239.7, 240.0) == 1.0
    with pytest.raises(ClipError, match="correct the stated rate"):
        find_slow_factor(120.0, 60.0)


def test_coarse_ticks_of_a_slow_file_do_not_stretch_time() -> None:
    # Matroska writes whole milliseconds: 33 or 34 for a thirtieth of a second.
    container_s = np.round(np.arange(200) / 30.0, 3)
    times = time_pictures(container_s, tick_s=0.001, stated_hz=240.0)
    assert np.abs(times.times_s - np.arange(200) / 240.0).max() < 0.0005
    assert not times.is_variable
    assert times.rate_source is RateSource.STATED


def test_gaps_are_placed_and_counted() -> None:
    times_s = np.delete(count_out(240, 50), [10, 30, 31, 32])
    gaps, dropped = find_gaps(times_s)
    assert gaps.tolist() == [10, 29]
    assert dropped == 4


@pytest.mark.parametrize("bad", [[0.0], [0.0, 0.0, 0.1], [0.0, 0.2, 0.1], [0.0, float("nan"), 1.0]])
def test_times_that_do_not_increase_are_refused(bad: list[float]) -> None:
    with pytest.raises(ClipError):
        time_pictures(np.array(bad))


def test_a_still_scene_and_the_start_of_a_movement_hold_no_repeats() -> None:
    assert not find_repeated(np.zeros(100)).any()
    assert not find_repeated(np.concatenate([np.full(50, 0.2), np.full(50, 60.0)])).any()
    assert find_repeated(np.array([])).tolist() == [False]


def test_each_second_picture_of_a_moving_scene_repeats() -> None:
    change = np.where(np.arange(99) % 2 == 0, 0.5, 40.0)
    repeated = find_repeated(change)
    assert np.array_equal(repeated[2:-2], np.arange(100)[2:-2] % 2 == 1)


def test_change_is_the_mean_of_the_largest_hundredth() -> None:
    before = np.zeros((20, 20))
    after = before.copy()
    after[0, :8] = [10, 20, 30, 40, 1, 1, 1, 1]
    assert measure_level_change(before, after) == 25.0
