"""First-order and drawn propagation against the worked examples of JCGM 100 and 101.

Sides: published results (second-hand copy in the documentation of the GTC library, marked below), a second
algorithm (draws against first order, least squares by numpy), closed forms (sums of rectangular inputs).
"""

from __future__ import annotations

from math import inf, isinf, sqrt

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import stdtrit

from elbowroom.core.quantities.propagate import (
    estimate_degrees_of_freedom,
    propagate,
    propagate_draws,
)

Array = NDArray[np.float64]


def _end_gauge(inputs: Array) -> Array:
    """JCGM 100:2008, H.1: length of an end gauge, nm."""
    standard, repeat, random, systematic, alpha, d_alpha, d_theta, mean_theta, cyclic = np.moveaxis(inputs, -1, 0)
    difference = repeat + random + systematic
    return np.asarray([standard + difference - standard * (d_alpha * (mean_theta + cyclic) + alpha * d_theta)])


END_GAUGE_VALUES = np.array([50_000_623.0, 215, 0, 0, 11.5e-6, 0, 0, -0.1, 0])
END_GAUGE_STANDARDS = np.array([25, 5.8, 3.9, 6.7, 2e-6 / sqrt(3), 1e-6 / sqrt(3), 0.05 / sqrt(3), 0.2, 0.5 / sqrt(2)])
END_GAUGE_DEGREES = [18, 24, 5, 8, inf, 50, 2, inf, inf]


def test_end_gauge_of_h_1() -> None:
    # Second-hand copy (GTC documentation, GUM_H1); v_eff 16 and U99 = 93 nm from memory (high).
    result = propagate(_end_gauge, END_GAUGE_VALUES, np.diag(END_GAUGE_STANDARDS**2))
    parts = np.abs(result.sensitivities[0]) * END_GAUGE_STANDARDS
    assert result.values[0] == pytest.approx(50_000_838, abs=0.5)
    assert result.standards[0] == pytest.approx(32, abs=0.5)
    assert sorted(parts, reverse=True)[:6] == pytest.approx([25, 16.6, 6.7, 5.8, 3.9, 2.9], abs=0.05)
    degrees = estimate_degrees_of_freedom(list(zip(parts, END_GAUGE_DEGREES, strict=True)))
    assert int(degrees) == 16
    assert stdtrit(16, 0.995) * 32 == pytest.approx(93, abs=0.5)


def test_end_gauge_by_draws_shows_the_second_order() -> None:
    # Second-hand copy: 34 nm with the second-order terms. Uniform, arcsine and normal inputs as H.1 names them.
    generator = np.random.default_rng(1)
    count = 200_000
    draws = END_GAUGE_VALUES + END_GAUGE_STANDARDS * generator.normal(size=(count, 9))
    for column, half in ((4, 2e-6), (5, 1e-6), (6, 0.05)):
        draws[:, column] = END_GAUGE_VALUES[column] + generator.uniform(-half, half, size=count)
    draws[:, 8] = 0.5 * np.sin(generator.uniform(0, 2 * np.pi, size=count))
    drawn = propagate_draws(lambda inputs: _end_gauge(inputs)[0][:, None], draws)
    assert drawn.standards[0] == pytest.approx(34, abs=0.5 + 4 * 34 / sqrt(2 * count))


def _impedance(inputs: Array) -> Array:
    volts, amperes, phase = np.moveaxis(inputs, -1, 0)
    ratio = volts / amperes
    return np.stack([ratio * np.cos(phase), ratio * np.sin(phase), ratio], axis=-1)


def _find_impedance_covariance() -> Array:
    standards = np.array([3.2e-3, 9.5e-6, 7.5e-4])
    correlations = np.array([[1, -0.36, 0.86], [-0.36, 1, -0.65], [0.86, -0.65, 1]])
    return correlations * np.outer(standards, standards)


def test_correlated_impedance_of_h_2() -> None:
    # Second-hand copy (GTC documentation, GUM_H2).
    values = np.array([4.999, 19.661e-3, 1.04446])
    result = propagate(_impedance, values, _find_impedance_covariance())
    assert result.values == pytest.approx([127.732, 219.85, 254.26], abs=0.005)
    # H.2 computed its standard uncertainties from unrounded readings; from the rounded inputs 0.070, 0.295, 0.236.
    assert result.standards == pytest.approx([0.070, 0.30, 0.24], abs=0.0055)
    correlations = result.correlations
    found = [correlations[0, 1], correlations[0, 2], correlations[1, 2]]
    assert found == pytest.approx([-0.59, -0.49, 0.99], abs=0.01)


def test_correlated_impedance_agrees_with_draws() -> None:
    values = np.array([4.999, 19.661e-3, 1.04446])
    covariance = _find_impedance_covariance()
    count = 100_000
    draws = np.random.default_rng(2).multivariate_normal(values, covariance, size=count)
    drawn = propagate_draws(_impedance, draws)
    first_order = propagate(_impedance, values, covariance)
    assert drawn.standards == pytest.approx(first_order.standards, rel=4 / sqrt(2 * count))


TEMPERATURES = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511])
CORRECTIONS = -np.array([171, 169, 166, 159, 164, 165, 156, 157, 159, 161, 160]) / 1000


def _fit_line(corrections: Array) -> Array:
    shifted = TEMPERATURES - 20
    slope = np.sum((shifted - shifted.mean()) * corrections) / np.sum((shifted - shifted.mean()) ** 2)
    intercept = corrections.mean() - slope * shifted.mean()
    return np.array([intercept, slope, intercept + 10 * slope])


def test_thermometer_line_of_h_3() -> None:
    # Second-hand copy (GTC documentation, GUM_H3).
    fitted = _fit_line(CORRECTIONS)
    residuals = CORRECTIONS - fitted[0] - fitted[1] * (TEMPERATURES - 20)
    squares = float(residuals @ residuals)
    assert squares == pytest.approx(1.10096583e-4, rel=1e-8)
    result = propagate(_fit_line, CORRECTIONS, np.eye(11) * squares / 9)
    assert result.values == pytest.approx([-0.1712, 0.00218, -0.1494], abs=5e-5)
    assert result.standards[:2] == pytest.approx([0.0029, 0.00067], abs=5e-5)
    assert result.standards[2] == pytest.approx(0.0041, abs=5e-5)
    assert result.correlations[0, 1] == pytest.approx(-0.93, abs=0.005)
    assert np.polyfit(TEMPERATURES - 20, CORRECTIONS, 1)[::-1] == pytest.approx(fitted[:2], abs=1e-12)


def _add(inputs: Array) -> Array:
    return inputs.sum(axis=-1, keepdims=True)


# JCGM 101:2008, 9.2, from memory (high), confirmed by convolution of uniform densities.
@pytest.mark.parametrize(
    ("scales", "is_normal", "standard", "first_order", "drawn"),
    [
        pytest.param([1, 1, 1, 1], True, 2.00, 3.92, 3.92, id="9.2.2 four normal inputs"),
        pytest.param([1, 1, 1, 1], False, 2.00, 3.92, 3.8794, id="9.2.3 four rectangular inputs"),
        pytest.param([1, 1, 1, 10], False, 10.1, 19.9, 17.016, id="9.2.4 one rectangular input dominates"),
    ],
)
def test_additive_model_of_9_2(
    scales: list[float], is_normal: bool, standard: float, first_order: float, drawn: float
) -> None:
    generator = np.random.default_rng(92)
    count = 400_000
    shape = (count, 4)
    units = generator.normal(size=shape) if is_normal else generator.uniform(-sqrt(3), sqrt(3), size=shape)
    result = propagate(_add, np.zeros(4), np.diag(np.square(scales)).astype(float))
    draws = propagate_draws(_add, units * np.array(scales))
    assert result.standards[0] == pytest.approx(standard, abs=0.05)
    assert 1.959964 * result.standards[0] == pytest.approx(first_order, abs=0.05)
    # Standard error of a quantile: sqrt(p (1 - p) / count) over the density, at most 0.06 / scale here.
    tolerance = 4 * sqrt(0.025 * 0.975 / count) / 0.0135 * (result.standards[0] / 2.0)
    assert [-draws.lower[0], draws.upper[0]] == pytest.approx([drawn, drawn], abs=tolerance)


def test_degrees_of_equal_parts_add() -> None:
    # Identity of Welch and Satterthwaite: k equal parts of v degrees have k v effective degrees.
    assert estimate_degrees_of_freedom([(2.0, 5.0)] * 3) == pytest.approx(15.0)
    assert isinf(estimate_degrees_of_freedom([(2.0, inf)]))
