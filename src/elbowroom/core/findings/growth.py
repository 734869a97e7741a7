"""How fast an athlete grew between visits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Source

HEIGHT_STANDARD_M = 0.005
"""Standard uncertainty of a standing height taken on another day; chosen by this project, no source."""
DAYS_A_YEAR = 365.25
SHORTEST_SPAN_DAYS = 60
"""Between closer visits the error of two heights is larger than any growth; chosen by this project."""


@dataclass(frozen=True, kw_only=True)
class GrowthStep:
    """A height, and how fast the athlete came to it."""

    made_on: date
    """Day of the visit."""
    height_m: float
    """Standing height, metres."""
    rate: Obtained
    """Metres a year since the last visit that was long enough ago, unit m/year, or why there is none."""


def measure_growth(heights: Sequence[tuple[date, float]]) -> tuple[GrowthStep, ...]:
    """Return each height (day, metres) in the order of time with its rate of growth."""
    ordered = sorted(heights)
    return tuple(
        GrowthStep(made_on=day, height_m=height_m, rate=_measure_rate(ordered[:index], day, height_m))
        for index, (day, height_m) in enumerate(ordered)
    )


def _measure_rate(earlier: Sequence[tuple[date, float]], day: date, height_m: float) -> Obtained:
    apart = [item for item in earlier if (day - item[0]).days >= SHORTEST_SPAN_DAYS]
    if not apart:
        return Absent(reason=f"No earlier height lies {SHORTEST_SPAN_DAYS} days or more back.")
    before, before_m = apart[-1]
    span_years = (day - before).days / DAYS_A_YEAR
    standard = 2**0.5 * HEIGHT_STANDARD_M / span_years
    return build_uncertain((height_m - before_m) / span_years, "m/year", {Source.BODY: standard})
