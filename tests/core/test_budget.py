"""The typical throw from several throws.

Sides: closed forms (identical throws, shared parts only, scatter only), sum-of-squares identity, a seeded Monte
Carlo of the coverage of the 95 % interval, order of the throws (property).
"""

from __future__ import annotations

from math import inf, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from elbowroom.core.quantities.budget import build_uncertain, combine_throws
from elbowroom.core.quantities.types import NORMAL_95, Absent, Source, Uncertain


def _combine(values: list[Uncertain]) -> Uncertain:
    typical = combine_throws(values)
    assert isinstance(typical, Uncertain)
    return typical


def _find(typical: Uncertain, source: Source) -> float:
    return next((part.standard for part in typical.parts if part.source is source), 0.0)


def test_no_throw_is_absent_with_advice() -> None:
    typical = combine_throws([])
    assert isinstance(typical, Absent)
    assert typical.advice


def test_one_throw_is_itself() -> None:
    only = build_uncertain(3.0, "deg", {Source.LANDMARKS: 2.0})
    assert combine_throws([only]) is only


def test_equal_throws_average_their_own_parts_and_keep_shared_ones() -> None:
    item = build_uncertain(3.0, "deg", {Source.LANDMARKS: 2.0, Source.CAMERAS: 1.5})
    typical = _combine([item] * 4)
    assert _find(typical, Source.LANDMARKS) == pytest.approx(1.0)
    assert _find(typical, Source.CAMERAS) == pytest.approx(1.5)
    assert typical.degrees_of_freedom == inf
    assert typical.half_width == pytest.approx(NORMAL_95 * sqrt(1.0 + 1.5**2))


def test_scatter_alone_has_the_degrees_of_its_throws() -> None:
    typical = _combine([build_uncertain(value, "deg", {}) for value in (1.0, 2.0, 3.0)])
    assert _find(typical, Source.THROW_TO_THROW) == pytest.approx(1.0 / sqrt(3))
    assert typical.degrees_of_freedom == pytest.approx(2.0)
    # Student's t, 2 degrees of freedom, 95 %: 4.30 (JCGM 100:2008, table G.2).
    assert typical.half_width / typical.standard == pytest.approx(4.30, abs=0.005)


def test_scatter_takes_the_place_of_own_parts_that_it_holds() -> None:
    values = [build_uncertain(value, "deg", {Source.LANDMARKS: 1.0}) for value in (0.0, 4.0, 8.0)]
    typical = _combine(values)
    assert typical.standard == pytest.approx(4.0 / sqrt(3))
    assert _find(typical, Source.THROW_TO_THROW) == pytest.approx(sqrt((16 - 1) / 3))


@given(st.lists(st.floats(-50, 50), min_size=2, max_size=8), st.floats(0.1, 10), st.floats(0, 10), st.randoms())
def test_total_is_never_below_scatter_nor_below_own_parts(
    readings: list[float], own: float, shared: float, random: object
) -> None:
    values = [build_uncertain(reading, "deg", {Source.LANDMARKS: own, Source.CAMERAS: shared}) for reading in readings]
    typical = _combine(values)
    average = max(float(np.var(readings, ddof=1)), own**2) / len(readings)
    assert typical.standard == pytest.approx(sqrt(average + shared**2), rel=1e-9)
    assert _combine(values[::-1]).standard == pytest.approx(typical.standard)


@pytest.mark.parametrize("count", [3, 5, 8])
@pytest.mark.parametrize("between", [0.0, 1.0, 2.0, 4.0, 10.0])
def test_interval_covers_the_typical_throw(count: int, between: float) -> None:
    """Own noise 1, shared error 0.5, scatter between throws 0 to 10: the interval must hold 90 to 99 %."""
    generator = np.random.default_rng(int(100 * between) + count)
    trials = 2500
    shared = 0.5 * generator.normal(size=(trials, 1))
    readings = shared + np.hypot(1.0, between) * generator.normal(size=(trials, count))
    hits = 0
    for row in readings:
        typical = _combine([build_uncertain(x, "deg", {Source.LANDMARKS: 1.0, Source.CAMERAS: 0.5}) for x in row])
        hits += abs(typical.value) <= typical.half_width
    spread = 2 * sqrt(0.95 * 0.05 / trials)
    assert 0.90 - spread <= hits / trials <= 0.99 + spread
