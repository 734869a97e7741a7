"""Holds clock offsets from several sources against each other and makes one of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from math import sqrt

import numpy as np

from elbowroom.core.clocks.types import CheckedOffset, ClockOffset, ClockSource, Drift
from elbowroom.core.quantities.types import Absent

AGREEING_RATIO = 3.0
"""Difference of two offsets, in its standard uncertainties, up to which they agree (project's choice)."""


def combine_offsets(offsets: Sequence[ClockOffset | Absent]) -> CheckedOffset | Absent:
    """Combine offsets of one pair of clips, weighted by their uncertainty, and say whether they agree.

    All are taken to the epoch of the surest one; a drift found by one serves all. Where they disagree the
    uncertainty is widened by the ratio of Birge (root of the mean squared normalised residual; from memory).
    """
    found = sorted(
        (offset for offset in offsets if isinstance(offset, ClockOffset)), key=lambda offset: offset.standard_s
    )
    if not found:
        reasons = " ".join(offset.reason for offset in offsets if isinstance(offset, Absent))
        return Absent(reason=reasons or "Nothing ties the clocks of the clips together.", advice=_ADVICE)
    if len(found) == 1:
        return CheckedOffset(offset=found[0], disagreement="")
    drift = next((offset.drift for offset in found if isinstance(offset.drift, Drift)), found[0].drift)
    moved = [_move(offset, found[0].epoch_s, drift) for offset in found]
    disagreement = _describe_disagreement(moved)
    weights = np.array([offset.standard_s**-2 for offset in moved])
    values = np.array([offset.offset_s for offset in moved])
    mean_s = float(weights @ values / weights.sum())
    chi2 = float(weights @ (values - mean_s) ** 2)
    birge = sqrt(max(1.0, chi2 / (len(moved) - 1))) if disagreement else 1.0
    combined = replace(
        moved[0],
        offset_s=mean_s,
        standard_s=birge / sqrt(float(weights.sum())),
        source=ClockSource.TOGETHER,
        drift=drift,
        event_count=len(moved),
    )
    return CheckedOffset(offset=combined, disagreement=disagreement)


_ADVICE = "Clap once, hard, in view of both phones before the first throw."


def _move(offset: ClockOffset, epoch_s: float, drift: Drift | Absent) -> ClockOffset:
    shared = replace(offset, drift=drift)
    ratio = drift.ratio if isinstance(drift, Drift) else 0.0
    return replace(
        shared,
        offset_s=offset.offset_s + ratio * (epoch_s - offset.epoch_s),
        standard_s=shared.find_standard_s(epoch_s),
        epoch_s=epoch_s,
    )


def _describe_disagreement(offsets: Sequence[ClockOffset]) -> str:
    for first, second in combinations(offsets, 2):
        apart_s = abs(first.offset_s - second.offset_s)
        if apart_s > AGREEING_RATIO * sqrt(first.standard_s**2 + second.standard_s**2):
            return (
                f"The clocks by {first.source} and by {second.source} differ by {1000 * apart_s:.1f} ms, more than"
                f" their uncertainty; check that the clips and the distances to the phones are the right ones."
            )
    return ""
