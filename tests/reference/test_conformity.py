"""The conformity probability and risks of JCGM 106.

Sides: fixed numbers of JCGM 106:2012 and of second-hand copies (each marked), Student's t table, closed form at
the middle of the limits, a second algorithm (seeded Monte Carlo) for the risks, the identity of normal and t at
many degrees of freedom.
"""

from __future__ import annotations

from math import exp, gamma, inf, pi, sqrt

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from elbowroom.core.quantities.conformity import (
    estimate_acceptance_limit,
    estimate_false_acceptance_probability,
    estimate_false_rejection_probability,
    estimate_probability_beyond,
    estimate_rejection_limit,
)


# JCGM 106:2012, 7.3, table 1; from memory (high), recomputed.
@pytest.mark.parametrize(
    ("conformity", "score"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
)
def test_one_sided_scores_of_table_1(conformity: float, score: float) -> None:
    exact = (10.0 - estimate_acceptance_limit(10.0, 1.0, conformity)) / 1.0
    assert exact == pytest.approx(score, abs=0.0055)
    beyond = estimate_probability_beyond(10.0 - exact, 1.0, -inf, 10.0)
    assert 1 - beyond == pytest.approx(conformity, abs=1e-12)


# JCGM 106:2012, clause 7 examples; from memory (high), recomputed.
@pytest.mark.parametrize(
    ("value", "standard", "lower", "upper", "conformity", "places"),
    [
        pytest.param(-5.47, 0.05, -inf, -5.40, 0.9192, 5e-5, id="diode, 7 one-sided upper"),
        pytest.param(509.7, 8.6, 490.0, inf, 0.9890, 5e-5, id="burst pressure, 7 one-sided lower"),
        pytest.param(13.6, 1.8, 12.5, 16.3, 0.66, 5e-3, id="viscosity, 7.4 two-sided, as printed"),
    ],
)
def test_examples_of_clause_7(
    value: float, standard: float, lower: float, upper: float, conformity: float, places: float
) -> None:
    beyond = estimate_probability_beyond(value, standard, lower, upper)
    assert 1 - beyond == pytest.approx(conformity, abs=places)


def test_viscosity_is_the_difference_of_two_normal_probabilities() -> None:
    # Phi(1.5) - Phi(-0.6), the arguments of the example rounded to two figures (13.6: 1.1 / 1.8 = 0.61).
    beyond = estimate_probability_beyond(13.6, 1.8, 12.5, 16.3)
    assert 1 - beyond == pytest.approx(ndtr(2.7 / 1.8) - ndtr(-1.1 / 1.8), abs=1e-12)


def test_guarded_rejection_of_8_3_3() -> None:
    # JCGM 106:2012, 8.3.3, from memory (medium): 100 km/h, 2 % of the reading, 99.9 % -> about 107 km/h.
    limit = estimate_rejection_limit(100.0, 0.02, 0.999)
    assert limit == pytest.approx(106.6, abs=0.05)
    assert 1 - estimate_probability_beyond(limit, 0.02 * limit, -inf, 100.0) == pytest.approx(0.001, rel=1e-9)


def _gamma_density(truth: float) -> float:
    """Gamma density of shape 4 and scale 1/4 micrometre: mean 1, standard deviation 0.5."""
    return truth**3 * exp(-4 * truth) * 4**4 / gamma(4) if truth > 0 else 0.0


# JCGM 106:2012, 9.5.4 ball bearings; second-hand copy (documentation of Suncal, "Risk - Ball Bearing"), recomputed.
def test_ball_bearings_of_9_5_4() -> None:
    support, limits = (0.0, 12.0), (-inf, 2.0)
    consumer = estimate_false_acceptance_probability(_gamma_density, support, limits, 0.25, (-inf, 2.0))
    nonconforming = estimate_false_acceptance_probability(_gamma_density, support, limits, 0.25, (-inf, inf))
    assert nonconforming == pytest.approx(0.042380, abs=5e-7)
    assert consumer == pytest.approx(0.0080191, abs=5e-8)
    guarded = estimate_false_acceptance_probability(_gamma_density, support, limits, 0.25, (-inf, 2.0 - 0.3282))
    assert guarded == pytest.approx(0.001, abs=2e-6)
    producer = [
        estimate_false_rejection_probability(_gamma_density, support, limits, 0.25, (-inf, limit))
        for limit in (2.0, 1.6718)
    ]
    assert producer == pytest.approx([0.0174, 0.0755], abs=5e-5)


def _normal_density(truth: float) -> float:
    return exp(-(truth**2) / 2) / sqrt(2 * pi)


def test_global_risks_of_a_normal_process() -> None:
    # Second-hand copy (test_risk.py of Suncal, after Deaver), recomputed: limits 2 sd, four to one.
    risks = [
        risk(_normal_density, (-9.0, 9.0), (-2.0, 2.0), 0.25, (-2.0, 2.0))
        for risk in (estimate_false_acceptance_probability, estimate_false_rejection_probability)
    ]
    assert risks == pytest.approx([0.008006, 0.014851], abs=5e-7)


def test_global_risks_agree_with_draws() -> None:
    generator = np.random.default_rng(106)
    count = 400_000
    truth = generator.normal(size=count)
    reading = truth + 0.25 * generator.normal(size=count)
    share = float(np.mean((abs(truth) > 2) & (abs(reading) <= 2)))
    consumer = estimate_false_acceptance_probability(_normal_density, (-9.0, 9.0), (-2.0, 2.0), 0.25, (-2.0, 2.0))
    assert share == pytest.approx(consumer, abs=4 * sqrt(consumer / count))


# Draft tables of a recommended practice, second-hand copy (test_risk.py of Suncal).
@pytest.mark.parametrize(
    ("in_tolerance", "false_acceptance", "conditional"),
    [
        (60, 4.8386, 8.2601),
        (70, 3.9223, 5.7232),
        (80, 2.8558, 3.6323),
        (90, 1.6000, 1.7988),
        (95, 0.8710, 0.9239),
        (99, 0.1999, 0.2024),
    ],
)
def test_false_acceptance_by_share_in_tolerance(
    in_tolerance: float, false_acceptance: float, conditional: float
) -> None:
    limit = float(ndtri((1 + in_tolerance / 100) / 2))
    limits = (-limit, limit)
    risk = estimate_false_acceptance_probability(_normal_density, (-9.0, 9.0), limits, 0.25, limits)
    accepted = 1 - estimate_probability_beyond(0.0, sqrt(1 + 0.25**2), *limits)
    assert 100 * risk == pytest.approx(false_acceptance, abs=5.1e-5)
    assert 100 * risk / accepted == pytest.approx(conditional, abs=5.1e-5)


def test_few_degrees_of_freedom_need_a_wider_guard() -> None:
    # Second-hand copy (a public Lean file), Student's table: 4 degrees, 1 % one-sided -> 3.75 u, normal 2.33 u.
    assert -estimate_acceptance_limit(0.0, 1.0, 0.99, degrees_of_freedom=4) == pytest.approx(3.75, abs=0.005)
    assert -estimate_acceptance_limit(0.0, 1.0, 0.99) == pytest.approx(2.33, abs=0.005)


def test_student_becomes_normal_with_many_degrees() -> None:
    few = estimate_probability_beyond(1.0, 0.5, 0.0, 2.0, degrees_of_freedom=4)
    many = estimate_probability_beyond(1.0, 0.5, 0.0, 2.0, degrees_of_freedom=1e7)
    normal = estimate_probability_beyond(1.0, 0.5, 0.0, 2.0)
    assert few > normal
    assert many == pytest.approx(normal, abs=1e-7)


def test_in_the_middle_both_sides_count_alike() -> None:
    assert estimate_probability_beyond(5.0, 1.0, 3.0, 7.0) == pytest.approx(2 * ndtr(-2.0), abs=1e-15)
