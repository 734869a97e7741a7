"""The choice of a tolerance row.

Sides: edges by hand, interpolation against numpy.interp, monotonicity between the edges.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from elbowroom.core.findings.choose import choose_tolerance
from elbowroom.core.findings.types import Tolerance
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.types import Absent
from tests.makers.findings import make_tolerance

PITCH, TOSS = ThrowKind.MOUND_PITCH, ThrowKind.LONG_TOSS
OFFSET = "stride_offset"


def _row(half: float, ages: tuple[float, float], heights: tuple[float, float]) -> Tolerance:
    return make_tolerance(
        -half, half, measure=OFFSET, unit="m", aim=0.0, ages_years=ages, heights_m=heights, kinds=(PITCH,)
    )


ROWS = (
    _row(0.051, (0, 14), (0.0, 3.0)),
    _row(0.051, (15, 99), (0.0, 1.60)),
    _row(0.076, (15, 99), (1.85, 3.0)),
)


def _choose(age: float, height: float, kind: ThrowKind = PITCH) -> Tolerance:
    row = choose_tolerance(ROWS, OFFSET, age, height, kind)
    assert isinstance(row, Tolerance)
    return row


@pytest.mark.parametrize(
    ("age", "height", "upper"),
    [(8, 1.3, 0.051), (14.99, 1.95, 0.051), (15, 1.5, 0.051), (15, 1.60, 0.051), (30, 1.85, 0.076), (30, 2.1, 0.076)],
)
def test_rows_by_completed_years_and_height(age: float, height: float, upper: float) -> None:
    row = _choose(age, height)
    assert (row.lower, row.upper) == (-upper, upper)


@given(st.floats(1.6, 1.85))
def test_between_rows_limits_are_linear_in_height(height: float) -> None:
    row = _choose(17, height)
    expected = float(np.interp(height, [1.6, 1.85], [0.051, 0.076]))
    assert row.upper == pytest.approx(expected, abs=1e-12)
    assert row.lower == pytest.approx(-expected, abs=1e-12)
    assert row.aim == 0.0


@pytest.mark.parametrize(
    ("measure", "age", "height", "kind", "said"),
    [
        pytest.param("arm_slot", 12, 1.5, PITCH, "No limit with a source", id="measure without a row"),
        pytest.param(OFFSET, 12, 1.5, TOSS, "do not hold for a long toss", id="kind of throw"),
        pytest.param(OFFSET, 110, 1.5, PITCH, "110 years", id="age"),
        pytest.param(OFFSET, 12, 3.5, PITCH, "3.50 m", id="height"),
    ],
)
def test_no_row_says_why(measure: str, age: float, height: float, kind: ThrowKind, said: str) -> None:
    row = choose_tolerance(ROWS, measure, age, height, kind)
    assert isinstance(row, Absent)
    assert said in row.reason


def test_a_judged_row_goes_before_a_reference_row() -> None:
    rows = (make_tolerance(judged=False), make_tolerance(judged=True))
    row = choose_tolerance(rows, "trunk_opening_at_foot_contact", 12, 1.5, PITCH)
    assert row is rows[1]
