"""How far an athlete's throws scatter."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

import numpy as np

from elbowroom.core.measures.measure import measure_deviation
from elbowroom.core.measures.types import ThrowMeasures
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Source, Uncertain

FEWEST_THROWS = 3
"""Fewest throws whose standard deviation is worth stating: with two it is known to a factor of thirty only."""


def measure_consistency(throws: Sequence[ThrowMeasures]) -> dict[str, Obtained]:
    """Return for each measure the standard deviation over throws, in its unit, or why there is none.

    Measurement noise that differs from throw to throw is in it. Its own standard uncertainty is that of a standard
    deviation of n values, s / sqrt(2 (n - 1)) (JCGM 100:2008, E.4.3).
    """
    keys = throws[0].values if throws else {}
    return {key: _measure_scatter([throw.values[key] for throw in throws]) for key in keys}


def _measure_scatter(results: Sequence[Obtained]) -> Obtained:
    known = [item for item in results if isinstance(item, Uncertain)]
    if len(known) < FEWEST_THROWS:
        return Absent(
            reason=f"{len(known)} of the throws gave it; consistency needs {FEWEST_THROWS}.",
            advice="Film five throws.",
        )
    values = np.array([item.value for item in known])
    deviation = measure_deviation(values, float(values[0]), known[0].unit)
    scatter = float(np.std(deviation, ddof=1))
    return build_uncertain(scatter, known[0].unit, {Source.THROW_TO_THROW: scatter / sqrt(2.0 * (len(known) - 1))})
