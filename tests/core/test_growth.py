"""Growth between visits.

Sides: a closed form by hand; seeded Monte Carlo of two noisy heights; the order of the input does not matter.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from elbowroom.core.findings.growth import HEIGHT_STANDARD_M, measure_growth
from elbowroom.core.quantities.types import Absent, Uncertain

FIRST, YEAR_LATER = date(2025, 3, 1), date(2026, 3, 1)


def test_rate_is_the_difference_over_the_time() -> None:
    steps = measure_growth([(YEAR_LATER, 1.56), (FIRST, 1.50)])
    assert [step.height_m for step in steps] == [1.50, 1.56]
    assert isinstance(steps[0].rate, Absent)
    rate = steps[1].rate
    assert isinstance(rate, Uncertain)
    assert rate.value == pytest.approx(0.06 / (365 / 365.25), rel=1e-12)
    assert rate.unit == "m/year"


def test_uncertainty_agrees_with_simulated_heights() -> None:
    rate = measure_growth([(FIRST, 1.50), (YEAR_LATER, 1.56)])[1].rate
    assert isinstance(rate, Uncertain)
    rng = np.random.default_rng(4)
    trials = 4000
    noise = rng.normal(0.0, HEIGHT_STANDARD_M, size=(trials, 2))
    rates = [
        step.rate.value
        for first, second in noise
        if isinstance((step := measure_growth([(FIRST, 1.5 + first), (YEAR_LATER, 1.56 + second)])[1]).rate, Uncertain)
    ]
    spread = 4 * rate.standard / np.sqrt(2 * trials)
    assert float(np.std(rates)) == pytest.approx(rate.standard, abs=spread)


def test_close_visits_give_no_rate_and_are_passed_over() -> None:
    steps = measure_growth([(FIRST, 1.50), (date(2025, 4, 1), 1.51), (YEAR_LATER, 1.56)])
    assert isinstance(steps[1].rate, Absent)
    assert isinstance(steps[2].rate, Uncertain)
    assert steps[2].rate.value == pytest.approx((1.56 - 1.51) / (334 / 365.25), rel=1e-12)
