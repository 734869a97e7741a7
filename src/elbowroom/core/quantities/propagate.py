"""Carrying uncertainty through a function: first order with correlated inputs, by draws, and degrees of
freedom."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf, isinf

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Model = Callable[[Array], Array]
"""From (..., n) inputs to (..., m) outputs, along the last axis."""

STEP_SHARE = 1e-2
"""Step of the differences as a share of each input's standard uncertainty."""


@dataclass(frozen=True, kw_only=True)
class Propagated:
    """Outputs of a model with their covariance and the sensitivities that gave it."""

    values: Array
    """(m,) outputs at the best estimates."""
    covariance: Array
    """(m, m) covariance of the outputs."""
    sensitivities: Array
    """(m, n) change of each output with each input."""

    @property
    def standards(self) -> Array:
        """Return the (m,) standard uncertainties of the outputs."""
        standards: Array = np.sqrt(np.diag(self.covariance))
        return standards

    @property
    def correlations(self) -> Array:
        """Return the (m, m) correlation coefficients of the outputs."""
        correlations: Array = self.covariance / np.outer(self.standards, self.standards)
        return correlations


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """What many draws of a model's output say."""

    mean: Array
    """(m,) means of the draws."""
    standards: Array
    """(m,) standard deviations of the draws."""
    lower: Array
    """(m,) lower ends of the probabilistically symmetric interval."""
    upper: Array
    """(m,) upper ends of the probabilistically symmetric interval."""


def propagate(model: Model, values: Array, covariance: Array) -> Propagated:
    """Return the outputs and their covariance to first order (JCGM 100:2008, 5.2.2, eq. 13, in matrix form).

    `values` (n,), `covariance` (n, n); central differences, steps a hundredth of each standard uncertainty.
    """
    sensitivities = _differentiate(model, values, STEP_SHARE * np.sqrt(np.diag(covariance)))
    outputs: Array = np.atleast_1d(model(values))
    return Propagated(
        values=outputs,
        covariance=sensitivities @ covariance @ sensitivities.T,
        sensitivities=sensitivities,
    )


def propagate_draws(model: Model, inputs: Array, coverage_probability: float = 0.95) -> Drawn:
    """Return the output's mean, scatter and interval from (count, n) draws of the inputs (JCGM 101:2008, 7).

    Draw the inputs with a seeded generator outside; the interval is the probabilistically symmetric one (7.7.2).
    """
    outputs = model(inputs)
    tail = (1 - coverage_probability) / 2
    lower, upper = np.quantile(outputs, [tail, 1 - tail], axis=0)
    return Drawn(mean=outputs.mean(axis=0), standards=outputs.std(axis=0, ddof=1), lower=lower, upper=upper)


def estimate_degrees_of_freedom(parts: Sequence[tuple[float, float]]) -> float:
    """Return the effective degrees of freedom of a sum of (standard uncertainty, degrees) parts.

    Welch and Satterthwaite, JCGM 100:2008, G.4.1, eq. G.2b. Infinite where no finite part contributes.
    """
    weight = sum(standard**4 / degrees for standard, degrees in parts if not isinf(degrees) and standard > 0)
    variance = sum(standard**2 for standard, _ in parts)
    return inf if weight == 0 else variance**2 / weight


def _differentiate(model: Model, values: Array, steps: Array) -> Array:
    """Return the (m, n) central differences; an input without uncertainty contributes nothing and is not
    moved."""
    outputs = np.atleast_1d(model(values))
    sensitivities = np.zeros((outputs.size, values.size))
    for index in np.flatnonzero(steps):
        shift = np.zeros_like(values)
        shift[index] = steps[index]
        sensitivities[:, index] = (model(values + shift) - model(values - shift)) / (2 * steps[index])
    return sensitivities
