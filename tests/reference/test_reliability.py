"""Reliability and agreement against published data.

Sides: fixed numbers with source (Shrout and Fleiss 1979; Weir 2005; Bland and Altman 1986), identities between the
mean squares, invariance to a shift of all readings.
"""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from elbowroom.core.findings.reliability import (
    estimate_agreement,
    estimate_reliability,
    estimate_repeatability,
)
from elbowroom.core.plan.scatter import Scatter, VisitScatter, estimate_scatter, estimate_visit_scatter

# Shrout & Fleiss 1979, Psychol Bull 86:420-428, table 2; second-hand copy (R package psych, man/ICC.Rd).
SHROUT_FLEISS = np.array(
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], dtype=float
)


def test_shrout_and_fleiss_mean_squares_and_coefficients() -> None:
    result = estimate_reliability(SHROUT_FLEISS)
    squares = [
        result.between_targets_squares,
        result.within_targets_squares,
        result.between_occasions_squares,
        result.residual,
    ]
    assert squares == pytest.approx([11.2417, 6.2639, 32.4861, 1.0194], abs=5e-5)
    assert result.single == pytest.approx([0.1657, 0.2898, 0.7148], abs=5e-5)
    assert result.averaged == pytest.approx([0.4428, 0.6201, 0.9093], abs=5e-5)


def test_shrout_and_fleiss_errors_differ_by_the_choice_of_model() -> None:
    # Recomputed with numpy (check values D4), which multiplied errors rounded to 4 decimals: 2.7987 and 6.9373.
    result = estimate_reliability(SHROUT_FLEISS)
    rounding = 1.96 * sqrt(2) * 5e-5
    assert [result.error_consistency, result.error_agreement] == pytest.approx([1.0097, 2.5028], abs=5e-5)
    assert [result.change_consistency, result.change_agreement] == pytest.approx([2.7987, 6.9373], abs=rounding)


def test_mean_squares_add_up_and_ignore_a_shift() -> None:
    result, shifted = estimate_reliability(SHROUT_FLEISS), estimate_reliability(SHROUT_FLEISS + 100)
    within = 3 * 6 * result.within_targets_squares
    assert within == pytest.approx(3 * result.between_occasions_squares + 15 * result.residual)
    assert shifted.single == pytest.approx(result.single)


# Weir 2005, J Strength Cond Res 19:231-240; data from memory (high), the means of the occasions check.
WEIR_A = [(146, 140), (148, 152), (170, 152), (90, 99), (157, 145), (156, 153), (176, 167), (205, 218)]
WEIR_B = [(166, 160), (168, 172), (160, 142), (150, 159), (147, 135), (146, 143), (156, 147), (155, 168)]


@pytest.mark.parametrize(
    ("readings", "consistency", "agreement"),
    [pytest.param(WEIR_A, 0.947, 0.950, id="A"), pytest.param(WEIR_B, 0.538, 0.553, id="B")],
)
def test_weir_same_error_different_coefficient(
    readings: list[tuple[int, int]], consistency: float, agreement: float
) -> None:
    result = estimate_reliability(np.array(readings, dtype=float))
    assert np.mean(readings, axis=0) == pytest.approx([156, 153.25])
    assert [result.between_occasions_squares, result.residual] == pytest.approx([30.25, 57.107], abs=5e-4)
    assert [result.error_consistency, result.change_consistency] == pytest.approx([7.56, 20.9], abs=0.05)
    assert [result.single[2], result.single[1]] == pytest.approx([consistency, agreement], abs=5e-4)


# Bland & Altman 1986, Lancet i:307-310; second-hand copy (R package BlandAltmanLeh, R/PEFR.R).
WRIGHT_1 = "494 395 516 434 476 557 413 442 650 433 417 656 267 478 178 423 427"
WRIGHT_2 = "490 397 512 401 470 611 415 431 638 429 420 633 275 492 165 372 421"
MINI_1 = "512 430 520 428 500 600 364 380 658 445 432 626 260 477 259 350 451"
MINI_2 = "525 415 508 444 500 625 460 390 642 432 420 605 227 467 268 370 443"


def _read(text: str) -> np.ndarray:
    return np.array(text.split(), dtype=float)


def test_bland_and_altman_limits_of_agreement() -> None:
    result = estimate_agreement(_read(WRIGHT_1), _read(MINI_1))
    assert [result.mean, result.sd] == pytest.approx([-2.118, 38.765], abs=5e-4)
    assert result.limits == pytest.approx([-78.10, 73.86], abs=5e-3)
    # Published with 2 SD and rounded values: -79.7 and 75.5 (from memory, high).
    assert [result.mean - 2 * result.sd, result.mean + 2 * result.sd] == pytest.approx([-79.7, 75.5], abs=0.1)
    assert result.mean_standard == pytest.approx(9.402, abs=5e-4)


def test_bland_and_altman_repeatability() -> None:
    wright = estimate_repeatability(_read(WRIGHT_1), _read(WRIGHT_2))
    mini = estimate_repeatability(_read(MINI_1), _read(MINI_2))
    assert [wright, mini] == pytest.approx([43.3, 56.3], abs=0.05)
    assert [wright / sqrt(8), mini / sqrt(8)] == pytest.approx([15.31, 19.91], abs=5e-3)


def test_scatter_of_throws_and_visits_agree_with_the_published_tables() -> None:
    # The pooled within-athlete SD is the root of WMS (Shrout and Fleiss 1979); the error between two visits is the SEM
    # of Weir 2005 (7.56, MD 20.9); two readings of a meter a person give sw of Bland and Altman 1986.
    scatter = estimate_scatter(SHROUT_FLEISS.tolist(), "1")
    assert isinstance(scatter, Scatter)
    assert scatter.within_sd**2 == pytest.approx(6.2639, abs=5e-5)
    for pairs in (WEIR_A, WEIR_B):
        visits = estimate_visit_scatter([(float(a), float(b)) for a, b in pairs], "N m")
        assert isinstance(visits, VisitScatter)
        assert (visits.error_sd, visits.change_limit) == (pytest.approx(7.56, abs=5e-3), pytest.approx(20.9, abs=0.06))
    for first, second, within in ((WRIGHT_1, WRIGHT_2, 15.31), (MINI_1, MINI_2, 19.91)):
        meters = estimate_scatter(np.column_stack([_read(first), _read(second)]).tolist(), "L/min")
        assert isinstance(meters, Scatter)
        assert meters.within_sd == pytest.approx(within, abs=5e-3)
