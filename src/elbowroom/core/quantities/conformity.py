"""Conformity probability of JCGM 106:2012, decision limits, and the risks of a decision rule."""

from __future__ import annotations

from collections.abc import Callable
from math import inf, isinf

from scipy.integrate import quad
from scipy.special import ndtr, ndtri, stdtr, stdtrit

Density = Callable[[float], float]


def estimate_probability_beyond(
    value: float, standard: float, lower: float, upper: float, degrees_of_freedom: float = inf
) -> float:
    """Return the probability that the true value is outside [lower, upper].

    One minus the conformity probability of JCGM 106:2012, 7.2 to 7.4, for a normal state of knowledge; scaled
    Student's t where the degrees of freedom are finite (JCGM 101:2008, 6.4.9). An open side is infinite. `standard`
    must be positive.
    """
    below = _accumulate((lower - value) / standard, degrees_of_freedom)
    above = _accumulate((value - upper) / standard, degrees_of_freedom)
    return below + above


def estimate_acceptance_limit(
    limit: float, standard: float, probability: float, degrees_of_freedom: float = inf
) -> float:
    """Return the largest reading for which the true value keeps an upper limit with `probability`.

    Guarded acceptance, JCGM 106:2012, 8.3.2: limit minus guard band.
    """
    factor = ndtri(probability) if isinf(degrees_of_freedom) else stdtrit(degrees_of_freedom, probability)
    return float(limit - factor * standard)


def estimate_rejection_limit(limit: float, relative_standard: float, probability: float) -> float:
    """Return the smallest reading that shows with `probability` that an upper limit is passed.

    Guarded rejection, JCGM 106:2012, 8.3.3, with a standard uncertainty that is a share of the reading.
    """
    return float(limit / (1 - ndtri(probability) * relative_standard))


def estimate_false_acceptance_probability(
    prior: Density,
    support: tuple[float, float],
    limits: tuple[float, float],
    standard: float,
    accepted: tuple[float, float],
) -> float:
    """Return the global consumer's risk: truth outside `limits` while the reading is in `accepted`
    (9.5.2)."""

    def integrand(truth: float) -> float:
        return prior(truth) * _find_reading_share(truth, standard, accepted)

    low, high = support
    parts = [(low, min(limits[0], high)), (max(limits[1], low), high)]
    return sum(quad(integrand, *part, limit=200)[0] for part in parts if part[0] < part[1])


def estimate_false_rejection_probability(
    prior: Density,
    support: tuple[float, float],
    limits: tuple[float, float],
    standard: float,
    accepted: tuple[float, float],
) -> float:
    """Return the global producer's risk: truth inside `limits` while the reading is outside `accepted`
    (9.5.3)."""

    def integrand(truth: float) -> float:
        return prior(truth) * (1 - _find_reading_share(truth, standard, accepted))

    return float(quad(integrand, max(limits[0], support[0]), min(limits[1], support[1]), limit=200)[0])


def _find_reading_share(truth: float, standard: float, accepted: tuple[float, float]) -> float:
    """Return the probability that a reading of this truth falls in the accepted interval."""
    return float(ndtr((accepted[1] - truth) / standard) - ndtr((accepted[0] - truth) / standard))


def _accumulate(score: float, degrees_of_freedom: float) -> float:
    return float(ndtr(score) if isinf(degrees_of_freedom) else stdtr(degrees_of_freedom, score))
