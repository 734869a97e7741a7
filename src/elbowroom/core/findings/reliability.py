"""How far repeated measurements agree: intraclass correlation, standard error of measurement, smallest real
change."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.quantities.types import NORMAL_95

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Reliability:
    """Two-way analysis of n targets measured k times each, after Shrout and Fleiss 1979 and Weir 2005."""

    between_targets_squares: float
    """Mean square between targets (BMS)."""
    within_targets_squares: float
    """Mean square within targets (WMS)."""
    between_occasions_squares: float
    """Mean square between occasions or raters (JMS)."""
    residual: float
    """Residual mean square (EMS)."""
    single: tuple[float, float, float]
    """ICC(1,1), ICC(2,1), ICC(3,1): of one measurement."""
    averaged: tuple[float, float, float]
    """ICC(1,k), ICC(2,k), ICC(3,k): of the mean of k measurements."""
    error_consistency: float
    """Standard error of measurement without the standing differences between occasions."""
    error_agreement: float
    """Standard error of measurement with the standing differences between occasions."""

    @property
    def change_consistency(self) -> float:
        """Return the smallest change beyond noise at 95 %, 1.96 root 2 times the error, without standing
        differences."""
        return NORMAL_95 * sqrt(2) * self.error_consistency

    @property
    def change_agreement(self) -> float:
        """Return the smallest change beyond noise at 95 %, with the standing differences between
        occasions."""
        return NORMAL_95 * sqrt(2) * self.error_agreement


@dataclass(frozen=True, kw_only=True)
class Agreement:
    """Differences of two methods on the same targets, after Bland and Altman 1986."""

    mean: float
    """Mean difference, first minus second."""
    sd: float
    """Standard deviation of the differences."""
    limits: tuple[float, float]
    """Limits of agreement, mean minus and plus 1.96 SD."""
    mean_standard: float
    """Standard error of the mean difference."""


def estimate_reliability(readings: Array) -> Reliability:
    """Return the reliability of (n, k) readings, rows the targets and columns the occasions or raters.

    Shrout and Fleiss 1979, Psychol Bull 86:420-428. Standard errors of measurement: sqrt(EMS) for consistency,
    sqrt((JMS - EMS) / n + EMS) for agreement (Weir 2005, J Strength Cond Res 19:231-240), a negative occasion variance
    taken as none.
    """
    n, k = readings.shape
    grand = readings.mean()
    squares_targets = k * float(np.sum((readings.mean(axis=1) - grand) ** 2))
    squares_occasions = n * float(np.sum((readings.mean(axis=0) - grand) ** 2))
    squares_all = float(np.sum((readings - grand) ** 2))
    bms = squares_targets / (n - 1)
    jms = squares_occasions / (k - 1)
    ems = (squares_all - squares_targets - squares_occasions) / ((n - 1) * (k - 1))
    wms = (squares_all - squares_targets) / (n * (k - 1))
    return Reliability(
        between_targets_squares=bms,
        within_targets_squares=wms,
        between_occasions_squares=jms,
        residual=ems,
        single=(
            (bms - wms) / (bms + (k - 1) * wms),
            (bms - ems) / (bms + (k - 1) * ems + k * (jms - ems) / n),
            (bms - ems) / (bms + (k - 1) * ems),
        ),
        averaged=((bms - wms) / bms, (bms - ems) / (bms + (jms - ems) / n), (bms - ems) / bms),
        error_consistency=sqrt(ems),
        error_agreement=sqrt(max(jms - ems, 0.0) / n + ems),
    )


def estimate_agreement(first: Array, second: Array) -> Agreement:
    """Return the agreement of two methods' (n,) readings of the same targets (Bland and Altman 1986)."""
    differences = first - second
    mean, sd = float(differences.mean()), float(differences.std(ddof=1))
    return Agreement(
        mean=mean,
        sd=sd,
        limits=(mean - NORMAL_95 * sd, mean + NORMAL_95 * sd),
        mean_standard=sd / sqrt(differences.size),
    )


def estimate_repeatability(first: Array, second: Array) -> float:
    """Return the repeatability coefficient of a method read twice: 2 root of the mean squared difference
    (1986)."""
    return 2 * sqrt(float(np.mean((first - second) ** 2)))
