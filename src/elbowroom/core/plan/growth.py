"""Growth: years from the fastest growth by published equations, height velocity from visits, and the care they ask."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.loads.types import Sex
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.conformity import estimate_probability_beyond
from elbowroom.core.quantities.propagate import propagate
from elbowroom.core.quantities.types import Absent, Obtained, Source, Uncertain

AROUND_YEARS = 1.0
"""The growth spurt is taken as one year before to one year after the fastest growth (common practice, no source)."""
HEIGHT_STANDARD_M = 0.005
"""Standard uncertainty of a height by wall and headboard (chosen by this project)."""
SITTING_STANDARD_M = 0.007
"""Standard uncertainty of a sitting height (chosen by this project)."""
MASS_STANDARD_KG = 0.5
"""Standard uncertainty of a body mass in clothes (chosen by this project)."""
DAYS_A_YEAR = 365.2425
VELOCITY_SPAN_YEARS = (0.25, 1.5)
"""Two heights nearer than this say nothing, and farther apart than this say it too late (chosen by this project)."""


class GrowthTerm(StrEnum):
    """Terms of the equations; lengths in cm, mass in kg, age in years, leg length = standing less sitting height."""

    ONE = "1"
    LEG_SITTING = "leg * sitting"
    AGE_LEG = "age * leg"
    AGE_SITTING = "age * sitting"
    AGE_HEIGHT = "age * height"
    AGE_MASS = "age * mass"
    MASS_HEIGHT = "100 * mass / height"


SITTING_TERMS = (GrowthTerm.LEG_SITTING, GrowthTerm.AGE_LEG, GrowthTerm.AGE_SITTING)
MASS_TERMS = (GrowthTerm.AGE_MASS, GrowthTerm.MASS_HEIGHT)


@dataclass(frozen=True, kw_only=True)
class GrowthEquation:
    """A published equation for the years from the fastest growth in height."""

    name: str
    """Name by authors and year."""
    sex: Sex
    """For whom it holds."""
    coefficients: tuple[tuple[GrowthTerm, float], ...]
    """Its terms with their coefficients."""
    standard_years: float
    """Standard error of one prediction, years."""
    ages_years: tuple[float, float]
    """Ages that it was made for."""
    source: str
    """Where coefficients and error come from."""
    note: str
    """What to know of its error."""


@dataclass(frozen=True, kw_only=True)
class BodySize:
    """What the equations take in."""

    sex: Sex | Absent
    """Sex, or absent where it was not stated."""
    age_years: float
    """Age, years."""
    height_m: float
    """Standing height, metres."""
    sitting_height_m: float | Absent
    """Sitting height, metres."""
    mass_kg: float | Absent
    """Body mass, kilograms."""


@dataclass(frozen=True, kw_only=True)
class HeightReading:
    """A height on a day."""

    day: date
    """The day."""
    height_m: float
    """Standing height, metres."""


@dataclass(frozen=True, kw_only=True)
class MaturityOffset:
    """What one equation says of an athlete."""

    equation: GrowthEquation
    """The equation."""
    offset: Obtained
    """Years since the fastest growth, negative before it, or why there is none."""
    spurt_age: Obtained
    """Age at the fastest growth, years."""


@dataclass(frozen=True, kw_only=True)
class GrowthPhase:
    """How likely an athlete is before, in or after the growth spurt, by one equation."""

    before_probability: float
    """More than a year before the fastest growth."""
    around_probability: float
    """Within a year of it."""
    after_probability: float
    """More than a year after it."""

    @property
    def words(self) -> str:
        """The phase in words; `too close to call` where none has a probability of 0.9."""
        named = {
            "before the growth spurt": self.before_probability,
            "around the growth spurt": self.around_probability,
            "after the growth spurt": self.after_probability,
        }
        likely = max(named, key=lambda name: named[name])
        return likely if named[likely] >= 0.9 else f"too close to call, most likely {likely}"


@dataclass(frozen=True, kw_only=True)
class GrowthCare:
    """A row of what growth changes."""

    key: str
    """Key of the row."""
    least_around_probability: float
    """From this probability of being around the growth spurt it is shown; above 1 never for that reason."""
    velocity_limit: float
    """Height velocity in cm/year from which it is shown; infinite never for that reason."""
    words: str
    """What it changes."""
    reasoning: str
    """Why it changes that."""
    source: str
    """Where it comes from, or that there is none."""


@dataclass(frozen=True, kw_only=True)
class ChosenCare:
    """A row that applies, with the reason."""

    care: GrowthCare
    """The row."""
    because: str
    """Why it is shown, a sentence."""


def estimate_maturity(body: BodySize, equations: Sequence[GrowthEquation]) -> tuple[MaturityOffset, ...]:
    """Return what every equation for the athlete's sex says, in the table's order; none where no sex is stated."""
    return tuple(_apply_equation(item, body) for item in equations if item.sex is body.sex)


def estimate_offset(equation: GrowthEquation, body: BodySize) -> Obtained:
    """Return years since the fastest growth, negative before it, with the equation's error and that of tape and scales.

    Absent outside of the ages of the equation, or where a size that it needs was not measured.
    """
    hindrance = _find_hindrance(equation, body)
    if hindrance is not None:
        return hindrance
    sitting = 0.0 if isinstance(body.sitting_height_m, Absent) else body.sitting_height_m
    mass = 0.0 if isinstance(body.mass_kg, Absent) else body.mass_kg
    values = np.array([body.height_m, sitting, mass])
    covariance = np.diag(np.square([HEIGHT_STANDARD_M, SITTING_STANDARD_M, MASS_STANDARD_KG]))
    result = propagate(lambda sizes: _evaluate(equation, body.age_years, sizes), values, covariance)
    return build_uncertain(
        float(result.values[0]),
        "years",
        {Source.EQUATION: equation.standard_years, Source.RATER: float(result.standards[0])},
    )


def estimate_phase(offset: Uncertain) -> GrowthPhase:
    """Return how likely each phase is, for a normal state of knowledge."""
    before = estimate_probability_beyond(offset.value, offset.standard, -AROUND_YEARS, np.inf)
    after = estimate_probability_beyond(offset.value, offset.standard, -np.inf, AROUND_YEARS)
    return GrowthPhase(
        before_probability=before, around_probability=max(0.0, 1 - before - after), after_probability=after
    )


def estimate_height_velocity(heights: Sequence[HeightReading]) -> Obtained:
    """Return growth in cm/year from the newest height and the one nearest to a year before it.

    Both heights err independently; `VELOCITY_SPAN_YEARS` says which pairs are used.
    """
    if not heights:
        return Absent(reason="No height is known.", advice="Measure the height at every visit.")
    newest = max(heights, key=lambda item: item.day)
    spans = [(_find_span_years(item, newest), item) for item in heights]
    usable = [(span, item) for span, item in spans if VELOCITY_SPAN_YEARS[0] <= span <= VELOCITY_SPAN_YEARS[1]]
    if not usable:
        return Absent(
            reason="No earlier height lies three to eighteen months back.",
            advice="Measure the height again in three months or more.",
        )
    span, earlier = min(usable, key=lambda pair: (abs(pair[0] - 1), pair[1].day))
    grown_cm = 100 * (newest.height_m - earlier.height_m)
    return build_uncertain(grown_cm / span, "cm/year", {Source.RATER: 100 * sqrt(2) * HEIGHT_STANDARD_M / span})


def choose_care(phase: GrowthPhase | Absent, velocity: Obtained, rows: Sequence[GrowthCare]) -> tuple[ChosenCare, ...]:
    """Return what growth changes for this athlete, in the order of the table, each with its reason."""
    chosen = []
    for row in rows:
        reasons = [*_find_phase_reason(phase, row), *_find_velocity_reason(velocity, row)]
        if reasons:
            chosen.append(ChosenCare(care=row, because=" ".join(reasons)))
    return tuple(chosen)


def _apply_equation(equation: GrowthEquation, body: BodySize) -> MaturityOffset:
    offset = estimate_offset(equation, body)
    age = offset
    if isinstance(offset, Uncertain):
        age = Uncertain(value=body.age_years - offset.value, unit="years", parts=offset.parts)
    return MaturityOffset(equation=equation, offset=offset, spurt_age=age)


def _find_hindrance(equation: GrowthEquation, body: BodySize) -> Absent | None:
    low, high = equation.ages_years
    if not low <= body.age_years <= high:
        return Absent(reason=f"{equation.name} holds from {low:g} to {high:g} years.")
    terms = {term for term, _ in equation.coefficients}
    if isinstance(body.sitting_height_m, Absent) and terms & set(SITTING_TERMS):
        return Absent(reason="The sitting height was not measured.", advice="Measure it, from the seat to the crown.")
    if isinstance(body.mass_kg, Absent) and terms & set(MASS_TERMS):
        return Absent(reason="The body mass was not measured.", advice="Weigh the athlete.")
    return None


def _evaluate(equation: GrowthEquation, age_years: float, sizes: NDArray[np.float64]) -> NDArray[np.float64]:
    height, sitting, mass = 100 * sizes[0], 100 * sizes[1], sizes[2]
    leg = height - sitting
    terms = {
        GrowthTerm.ONE: 1.0,
        GrowthTerm.LEG_SITTING: leg * sitting,
        GrowthTerm.AGE_LEG: age_years * leg,
        GrowthTerm.AGE_SITTING: age_years * sitting,
        GrowthTerm.AGE_HEIGHT: age_years * height,
        GrowthTerm.AGE_MASS: age_years * mass,
        GrowthTerm.MASS_HEIGHT: 100 * mass / height,
    }
    return np.array([sum(factor * terms[term] for term, factor in equation.coefficients)])


def _find_span_years(earlier: HeightReading, newest: HeightReading) -> float:
    return (newest.day - earlier.day).days / DAYS_A_YEAR


def _find_phase_reason(phase: GrowthPhase | Absent, row: GrowthCare) -> list[str]:
    if isinstance(phase, Absent) or phase.around_probability < row.least_around_probability:
        return []
    return [f"The chance of being within a year of the fastest growth is {100 * phase.around_probability:.0f} %."]


def _find_velocity_reason(velocity: Obtained, row: GrowthCare) -> list[str]:
    if isinstance(velocity, Absent) or np.isinf(row.velocity_limit):
        return []
    faster = estimate_probability_beyond(velocity.value, velocity.standard, -np.inf, row.velocity_limit)
    if faster < 0.5:
        return []
    return [f"The chance that the height grows faster than {row.velocity_limit:g} cm a year is {100 * faster:.0f} %."]
