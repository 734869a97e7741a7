"""Figures from rows of errors: mean absolute error, bias, scatter over stated uncertainty, coverage with its range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

import numpy as np
from scipy.stats import beta

from benchmarks.errors import ErrorRow, VerdictRow, is_wrong
from elbowroom.core.measures.measure import measure_deviation


@dataclass(frozen=True, kw_only=True)
class ErrorFigures:
    """Figures of one measure over many throws."""

    key: str
    """Measure or instant."""
    unit: str
    """Its unit."""
    count: int
    """Number of values."""
    absent: int
    """Number of true values that the product did not give."""
    mean_absolute: float
    """Mean absolute error."""
    bias: float
    """Mean error."""
    held_absolute: float
    """Mean absolute error of the product's curves at the true instants."""
    standard: float
    """Median stated standard uncertainty."""
    z_rms: float
    """Root mean square of error over stated standard uncertainty."""
    covered: int
    """Number of 95 % intervals that hold the truth."""

    @property
    def coverage(self) -> float:
        """Share of 95 % intervals that hold the truth."""
        return self.covered / max(self.count, 1)

    @property
    def coverage_range(self) -> tuple[float, float]:
        """95 % range of that share (Clopper and Pearson), throws taken as independent."""
        return find_share_range(self.covered, self.count)


def find_share_range(hits: int, count: int) -> tuple[float, float]:
    """Find the 95 % range of a share, exact binomial (Clopper and Pearson 1934)."""
    low = float(beta.ppf(0.025, hits, count - hits + 1)) if hits else 0.0
    high = float(beta.ppf(0.975, hits + 1, count - hits)) if hits < count else 1.0
    return low, high


def summarise(key: str, rows: Sequence[ErrorRow], absent: int) -> ErrorFigures:
    """Summarise the rows of one measure."""
    errors = np.array([row.error for row in rows])
    standards = np.array([max(row.standard, 1e-12) for row in rows])
    held = [
        abs(float(measure_deviation(np.array(row.held), row.truth, row.unit))) for row in rows if isfinite(row.held)
    ]
    return ErrorFigures(
        key=key,
        unit=rows[0].unit,
        count=len(rows),
        absent=absent,
        mean_absolute=float(np.mean(np.abs(errors))),
        bias=float(np.mean(errors)),
        held_absolute=float(np.mean(held)) if held else float("nan"),
        standard=float(np.median(standards)),
        z_rms=float(np.sqrt(np.mean((errors / standards) ** 2))),
        covered=int(sum(abs(row.error) <= row.half_width for row in rows)),
    )


def summarise_all(rows: Sequence[ErrorRow], absent_keys: Sequence[str]) -> list[ErrorFigures]:
    """Summarise the rows of every measure, in the order in which they first come."""
    keys = list(dict.fromkeys(row.key for row in rows))
    return [summarise(key, [row for row in rows if row.key == key], absent_keys.count(key)) for key in keys]


@dataclass(frozen=True, kw_only=True)
class VerdictFigures:
    """Figures of the verdicts on one measure, or on all."""

    key: str
    """Measure, or `all`."""
    count: int
    """Number of athletes judged or not measured."""
    within: int
    """Verdicts `within`."""
    beyond: int
    """Verdicts `beyond`."""
    too_close: int
    """Verdicts `too close to call`."""
    absent: int
    """Verdicts `not measured`."""
    wrong: int
    """Confident verdicts that contradict the truth."""
    truly_beyond: int
    """Number of athletes whose truth is outside the limits."""

    @property
    def confident(self) -> int:
        """Number of confident verdicts."""
        return self.within + self.beyond


def count_verdicts(key: str, rows: Sequence[VerdictRow]) -> VerdictFigures:
    """Count the verdicts of some rows."""
    words = [row.verdict for row in rows]
    return VerdictFigures(
        key=key,
        count=len(rows),
        within=words.count("within"),
        beyond=words.count("beyond"),
        too_close=words.count("too close to call"),
        absent=words.count("not measured"),
        wrong=sum(is_wrong(row) for row in rows),
        truly_beyond=sum(row.is_beyond for row in rows),
    )
