"""Choosing the tolerance row and the published bands for a measure and an athlete."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import floor

from elbowroom.core.findings.types import PublishedBand, Tolerance
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.types import Absent


def choose_tolerance(
    rows: Sequence[Tolerance], measure: str, age_years: float, height_m: float, kind: ThrowKind
) -> Tolerance | Absent:
    """Return the row that holds for an athlete, or why there is none.

    Ages are completed years. Where the height lies in a gap between two rows of the same measure, age and kind, the
    limits are interpolated by height between the two rows' facing edges. A judged row goes before a reference row;
    among equals the first in the table is taken.
    """
    of_measure = [row for row in rows if row.measure == measure]
    if not of_measure:
        return Absent(reason="No limit with a source is in the tolerance table for this measure.")
    of_kind = [row for row in of_measure if kind in row.kinds]
    if not of_kind:
        return Absent(reason=f"The limits for this measure do not hold for a {kind}.")
    of_age = [row for row in of_kind if row.ages_years[0] <= floor(age_years) <= row.ages_years[1]]
    if not of_age:
        return Absent(reason=f"No limit for this measure holds at {floor(age_years)} years of age.")
    return _choose_by_height(sorted(of_age, key=lambda row: not row.judged), height_m)


def choose_bands(bands: Sequence[PublishedBand], measure: str, age_years: float) -> tuple[PublishedBand, ...]:
    """Return the published bands of a measure that are shown for an age, in the order of the table."""
    return tuple(
        band
        for band in bands
        if band.measure == measure and band.ages_years[0] <= floor(age_years) <= band.ages_years[1]
    )


def _choose_by_height(rows: Sequence[Tolerance], height_m: float) -> Tolerance | Absent:
    for row in rows:
        if row.heights_m[0] <= height_m <= row.heights_m[1]:
            return row
    smaller = [row for row in rows if row.heights_m[1] < height_m]
    taller = [row for row in rows if row.heights_m[0] > height_m]
    if not (smaller and taller):
        return Absent(reason=f"No limit for this measure holds at a height of {height_m:.2f} m.")
    below = max(smaller, key=lambda row: row.heights_m[1])
    above = min(taller, key=lambda row: row.heights_m[0])
    return interpolate_tolerance(below, above, height_m)


def interpolate_tolerance(below: Tolerance, above: Tolerance, height_m: float) -> Tolerance:
    """Return the row between two rows, linear in height from the lower row's top to the upper row's
    bottom."""
    low, high = below.heights_m[1], above.heights_m[0]
    share = (height_m - low) / (high - low)

    def mix(first: float, second: float) -> float:
        return first if first == second else (1 - share) * first + share * second

    has_aims = below.aim is not None and above.aim is not None
    return replace(
        below,
        lower=mix(below.lower, above.lower),
        upper=mix(below.upper, above.upper),
        aim=mix(below.aim or 0.0, above.aim or 0.0) if has_aims else None,
        heights_m=(low, high),
        judged=below.judged and above.judged,
        consequence=mix(below.consequence, above.consequence),
        note=f"Between the rows for {low:.2f} m and {high:.2f} m, by height. {below.note}".strip(),
    )
