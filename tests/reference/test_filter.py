"""The zero-lag filter against the published benchmark for smoothing and differentiation.

Sides: the closed form of the dual-pass correction (check-values D5: C = (2^(1/2) - 1)^(1/4) = 0.8022, second-hand
notebook, recomputed); the filter's gain measured on a sine; fixed figures of the data of Pezzack, Norman and Winter
1977, J Biomech 10:377-382 (second-hand copy after Vint and Hinrichs 1996, J Biomech 29:1637-1642): cut-off of the
residual analysis 5.6 Hz (published notebook, second-hand), errors of the acceleration recomputed in check-values D5.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from elbowroom.core.geometry.filters import DUAL_PASS_CORRECTION, choose_cutoff_hz, filter_low_pass

STEP_S = 0.0201
RATE_HZ = 1.0 / STEP_S


@pytest.fixture(name="table")
def read_benchmark(shared_dir: Path) -> np.ndarray:
    lines = (shared_dir / "data" / "pezzack" / "pezzack.txt").read_text(encoding="utf-8").splitlines()
    rows = [line.split() for line in lines]
    return np.array([[float(x) for x in row] for row in rows if len(row) == 4 and row[0][0].isdigit()])


def measure_acceleration_error(samples: np.ndarray, true: np.ndarray) -> float:
    second = np.diff(samples, n=2) / STEP_S**2
    return float(np.sqrt(np.mean((second - true[1:-1]) ** 2)))


def test_dual_pass_correction() -> None:
    assert pytest.approx(0.8022, abs=5e-5) == DUAL_PASS_CORRECTION
    assert pytest.approx(12.47, abs=0.005) == 10.0 / DUAL_PASS_CORRECTION


def test_gain_at_the_cutoff() -> None:
    times = np.arange(0.0, 20.0, 0.005)
    smooth = filter_low_pass(np.sin(2 * np.pi * 10.0 * times), 200.0, 10.0)
    middle = slice(1000, 3000)
    gain = np.std(smooth[middle]) / np.std(np.sin(2 * np.pi * 10.0 * times)[middle])
    # Close to the wanted -3 dB; the digital filter's warp of the frequency moves it by under a hundredth.
    assert gain == pytest.approx(0.7071, abs=0.01)


def test_filter_has_no_lag() -> None:
    times = np.arange(0.0, 4.0, 0.005)
    bump = np.exp(-(((times - 2.0) / 0.2) ** 2))
    assert times[np.argmax(filter_low_pass(bump, 200.0, 6.0))] == pytest.approx(2.0, abs=1e-9)


def test_too_low_a_rate_is_refused() -> None:
    with pytest.raises(ValueError, match="samples a second"):
        filter_low_pass(np.zeros(50), 20.0, 9.0)


@pytest.mark.parametrize(
    ("column", "cutoff_hz", "error"),
    [(1, 5.592, 4.22), (1, 6.5, 4.16), (2, 3.93, 5.00), (2, 5.0, 4.51)],
    ids=["raw, residual analysis", "raw, best", "noisy, residual analysis", "noisy, best"],
)
def test_acceleration_error(table: np.ndarray, column: int, cutoff_hz: float, error: float) -> None:
    smooth = filter_low_pass(table[:, column], RATE_HZ, cutoff_hz)
    assert measure_acceleration_error(smooth, table[:, 3]) == pytest.approx(error, abs=0.006)


def test_unfiltered_error(table: np.ndarray) -> None:
    assert len(table) == 142
    assert measure_acceleration_error(table[:, 1], table[:, 3]) == pytest.approx(10.92, abs=0.006)
    assert measure_acceleration_error(table[:, 2], table[:, 3]) == pytest.approx(36.7, abs=0.06)


def test_residual_analysis(table: np.ndarray) -> None:
    cutoff_hz, noise = choose_cutoff_hz(table[:, 1], RATE_HZ)
    # Which part of the residual counts as its straight tail is a choice; another fair choice moves 5.6 by 0.15 Hz.
    assert cutoff_hz == pytest.approx(5.6, abs=0.15)
    assert noise == pytest.approx(0.00183, abs=0.0001)
    assert choose_cutoff_hz(table[:, 2], RATE_HZ)[0] == pytest.approx(3.93, abs=0.15)
