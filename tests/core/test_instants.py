"""Instants found in an invented throw.

Sides: closed form of the drivers of the throw; mirrored and cut-off throws; seeded Monte Carlo of noisy draws;
marks (peak, crossing, hump) against closed forms.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from elbowroom.core.instants.find import draw_times, find_instants, remove_disordered
from elbowroom.core.instants.marks import find_hump_centres, find_last_crossings, find_peaks
from elbowroom.core.instants.model import TIMING_MODEL, estimate_model_spread_s
from elbowroom.core.instants.search import (
    STOP_DISTANCES_M,
    TOUCH_S,
    find_distance_stop,
    find_middle_value,
    find_speed_stop,
)
from elbowroom.core.instants.types import InstantName as Name
from elbowroom.core.quantities.types import Absent, Source, Uncertain
from elbowroom.core.reconstruction.types import Curves
from tests.makers.throws import add_noise, find_true_instants, fit_curves, make_curves, make_throw, mirror_hands

ALLOWED_S = {
    Name.LIFT: 0.001,
    Name.FOOT_CONTACT: 0.002,
    Name.LAYBACK: 0.001,
    Name.RELEASE: 0.006,
    Name.FINISH: 0.001,
}
"""Release is the centre of the hand's fast stretch, which the trunk's turn moves a little from the arm's driver."""


@pytest.mark.parametrize("rate_hz", [120.0, 240.0])
def test_instants_are_where_they_were_driven(rate_hz: float) -> None:
    instants, _ = find_instants(make_curves(rate_hz), rate_hz)
    # The driven foot is wholly still at its time; the rule puts the touch of the ground this long before.
    early = {Name.FOOT_CONTACT: TOUCH_S}
    for name, true_s in find_true_instants().items():
        assert instants.find(name).value == pytest.approx(true_s - early.get(name, 0.0), abs=ALLOWED_S[name]), name
    assert find_true_instants()[Name.LIFT] < instants.find(Name.HANDS_APART).value < 1.30


def test_shifted_clock_shifts_every_instant() -> None:
    curves = make_curves()
    later = Curves(knots_s=curves.knots_s + 7.25, coefficients_m=curves.coefficients_m)
    here, there = find_instants(curves, 240.0)[0], find_instants(later, 240.0)[0]
    for name in Name:
        assert there.find(name).value - here.find(name).value == pytest.approx(7.25, abs=1e-6)


def test_mirrored_left_hander_has_the_same_instants() -> None:
    times_s = np.arange(0.0, 2.1, 1 / 240)
    left_hander = mirror_hands(make_throw(times_s))
    wrong, _ = find_instants(fit_curves(times_s, left_hander), 240.0)
    right, _ = find_instants(fit_curves(times_s, mirror_hands(left_hander)), 240.0)
    expected, _ = find_instants(make_curves(), 240.0)
    assert right == expected
    assert wrong != expected


@pytest.mark.parametrize(
    ("start_s", "end_s", "lost"),
    [
        (0.70, 2.1, {Name.LIFT}),
        (0.0, 1.60, {Name.FINISH}),
        (0.0, 1.46, set(Name)),
        (1.44, 2.1, set(Name)),
    ],
    ids=["begins after the lift", "ends before the finish", "ends in release", "begins in release"],
)
def test_cut_off_throw(start_s: float, end_s: float, lost: set[Name]) -> None:
    instants, times = find_instants(make_curves(start_s=start_s, end_s=end_s), 240.0)
    absent = {name for name in Name if isinstance(instants.find(name), Absent)}
    assert absent == lost
    assert set(times) == set(Name) - lost
    for name in absent:
        refused = instants.find(name)
        assert isinstance(refused, Absent)
        assert refused.reason.endswith(".")
        assert refused.advice.endswith(".")


def test_standing_still_is_no_throw() -> None:
    times_s = np.arange(0.0, 2.0, 1 / 240)
    still = np.repeat(make_throw(times_s)[:1], len(times_s), axis=0)
    instants, times = find_instants(fit_curves(times_s, still), 240.0)
    refused = instants.find(Name.RELEASE)
    assert not times
    assert isinstance(refused, Absent)
    assert "nothing was thrown" in refused.reason


def test_hands_never_together() -> None:
    times_s = np.arange(0.0, 2.1, 1 / 240)
    places = make_throw(times_s)
    places[:, [6, 7, 8]] += [0.0, 0.0, -0.8]
    refused = find_instants(fit_curves(times_s, places), 240.0)[0].find(Name.HANDS_APART)
    assert isinstance(refused, Absent)
    assert "together" in refused.reason


def test_disorder_is_not_believed() -> None:
    found: dict[Name, float | Absent] = {
        Name.LIFT: 0.5,
        Name.HANDS_APART: 0.6,
        Name.FOOT_CONTACT: 1.2,
        Name.LAYBACK: 1.1,
        Name.RELEASE: 1.3,
        Name.FINISH: 1.6,
    }
    assert remove_disordered(dict(found, **{Name.LAYBACK: 1.25})) == dict(found, **{Name.LAYBACK: 1.25})
    assert isinstance(remove_disordered(found)[Name.FOOT_CONTACT], Absent)
    assert isinstance(remove_disordered(dict(found, **{Name.FINISH: 1.2}))[Name.FINISH], Absent)
    assert isinstance(remove_disordered(dict(found, **{Name.HANDS_APART: 1.25}))[Name.HANDS_APART], Absent)


def test_uncertainty_joins_draws_and_rule() -> None:
    curves = add_noise(make_curves(), 0.002, 200, np.random.default_rng(11))
    instants, times = find_instants(curves, 240.0)
    for name, drawn in times.items():
        obtained = instants.find(name)
        assert isinstance(obtained, Uncertain)
        assert [part.source for part in obtained.parts] == [Source.TIMING]
        expected = np.hypot(np.nanstd(drawn[1:], ddof=1), estimate_model_spread_s(name, 240.0))
        assert obtained.standard == pytest.approx(expected)
        assert drawn[0] == obtained.value
        assert obtained.standard > TIMING_MODEL[name].standard_s


def test_more_noise_makes_instants_less_sure() -> None:
    rng = np.random.default_rng(2)
    spreads = [
        find_instants(add_noise(make_curves(), noise_m, 100, rng), 240.0)[0].find(Name.LAYBACK).standard
        for noise_m in (0.0, 0.002, 0.006)
    ]
    assert spreads[0] < spreads[1] < spreads[2]


def test_drawn_times_have_the_rule_spread() -> None:
    _, times = find_instants(make_curves(), 240.0)
    count = 4000
    drawn = draw_times(times, np.random.default_rng(5), count, 240.0)
    for name, values in drawn.items():
        assert values[0] == times[name][0]
        # The standard deviation of n normal values is known to 1/sqrt(2 n); four of those.
        expected = estimate_model_spread_s(name, 240.0)
        assert np.std(values[1:]) == pytest.approx(expected, rel=4.0 / np.sqrt(2 * count))


@given(top=st.floats(0.2, 0.8), width=st.floats(0.05, 0.2))
def test_peak_of_a_parabola_is_exact(top: float, width: float) -> None:
    times = np.linspace(0.0, 1.0, 101)
    rows = -(((times - top) / width) ** 2)[None]
    assert find_peaks(times, rows, np.ones(101, dtype=bool)) == pytest.approx([top], abs=1e-9)


def test_peak_at_an_edge_or_beside_the_unknown_is_no_peak() -> None:
    times = np.linspace(0.0, 1.0, 11)
    rows = np.stack([times, -times, np.where(times > 0.55, np.nan, times)])
    assert np.isnan(find_peaks(times, rows, np.ones(11, dtype=bool))).all()


@given(level=st.floats(0.05, 0.95))
def test_crossing_of_a_line_is_exact(level: float) -> None:
    times = np.linspace(0.0, 1.0, 37)
    everywhere = np.ones(37, dtype=bool)
    assert find_last_crossings(times, times[None], np.array([level]), everywhere) == pytest.approx([level])
    assert np.isnan(find_last_crossings(times, -times[None], np.array([level]), everywhere)[0])


def test_hump_centre_of_two_equal_tops_is_between_them() -> None:
    times = np.linspace(0.0, 1.0, 1001)
    rows = (np.exp(-(((times - 0.48) / 0.03) ** 2)) + np.exp(-(((times - 0.56) / 0.03) ** 2)))[None]
    assert find_hump_centres(times, rows, 0.5, 0.1) == pytest.approx([0.52], abs=0.001)


def test_foot_contact_has_rules_that_agree_on_even_braking() -> None:
    grid = 0.002 * np.arange(300)
    left_s = np.maximum(0.4 - grid, 0.0)
    speed, distance = 12.0 * left_s[None], 6.0 * left_s[None] ** 2
    is_after = np.ones_like(speed, dtype=bool)
    assert find_speed_stop(grid, speed, is_after)[0] == pytest.approx(0.4, abs=1e-3)
    for levels_m in STOP_DISTANCES_M:
        assert find_distance_stop(grid, distance, is_after, levels_m)[0] == pytest.approx(0.4, abs=1e-3)
    assert find_middle_value(np.array([[0.4, np.nan], [0.9, np.nan], [0.41, 0.2]])).tolist() == [0.41, 0.2]
