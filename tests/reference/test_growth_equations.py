"""Years from the fastest growth by Mirwald 2002 and Moore 2015, and height velocity.

Sides: the equations written out again by hand from their printed form (recomputed: no worked example of the authors
was found); seeded Monte Carlo for the error of tape and scales; the phase from the normal table; hand-worked
velocities.

Sources: coefficients of Mirwald et al. 2002 and of the equation by height of Moore et al. 2015 as printed in
J Sports Sci Med 21:640, table 2 (second-hand); errors of Moore et al. from the abstract (0.51 and 0.52 years in the
authors' children; 0.89, 0.85, 0.65 and 0.70 in others); ages of Mirwald et al. from the authors' own page.
"""

from __future__ import annotations

from datetime import date
from math import inf, sqrt

import numpy as np
import pytest

from elbowroom.core.loads.types import Sex
from elbowroom.core.plan.growth import (
    BodySize,
    GrowthPhase,
    HeightReading,
    choose_care,
    estimate_height_velocity,
    estimate_maturity,
    estimate_offset,
    estimate_phase,
)
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Source, Uncertain
from tests.makers.intakes import CARE, EQUATIONS

BOY = BodySize(sex=Sex.MALE, age_years=13.2, height_m=1.56, sitting_height_m=0.80, mass_kg=45.0)
GIRL = BodySize(sex=Sex.FEMALE, age_years=11.4, height_m=1.47, sitting_height_m=0.77, mass_kg=39.0)
MIRWALD_BOY = -9.236 + 0.0002708 * 76 * 80 - 0.001663 * 13.2 * 76 + 0.007216 * 13.2 * 80 + 0.02292 * 45 / 156 * 100
MIRWALD_GIRL = (
    -9.376
    + 0.0001882 * 70 * 77
    + 0.0022 * 11.4 * 70
    + 0.005841 * 11.4 * 77
    - 0.002658 * 11.4 * 39
    + 0.07693 * 39 / 147 * 100
)
EXPECTED = {
    (Sex.MALE, "Mirwald 2002"): MIRWALD_BOY,
    (Sex.MALE, "Moore 2015"): -8.128741 + 0.0070346 * 13.2 * 80,
    (Sex.MALE, "Moore 2015, by height"): -7.999994 + 0.0036124 * 13.2 * 156,
    (Sex.FEMALE, "Mirwald 2002"): MIRWALD_GIRL,
    (Sex.FEMALE, "Moore 2015"): -7.709133 + 0.0042232 * 11.4 * 147,
}
ERRORS = {Sex.MALE: 0.89, Sex.FEMALE: 0.70}


@pytest.mark.parametrize("body", [BOY, GIRL], ids=["boy", "girl"])
def test_equations_as_printed(body: BodySize) -> None:
    found = {item.equation.name: item for item in estimate_maturity(body, EQUATIONS)}
    assert set(found) == {name for sex, name in EXPECTED if sex is body.sex}
    for name, item in found.items():
        assert isinstance(item.offset, Uncertain)
        assert isinstance(item.spurt_age, Uncertain)
        assert item.offset.value == pytest.approx(EXPECTED[body.sex, name], abs=1e-9)  # type: ignore[index]
        assert item.spurt_age.value == pytest.approx(body.age_years - item.offset.value)
        parts = {part.source: part.standard for part in item.offset.parts}
        assert parts[Source.EQUATION] == ERRORS[body.sex]  # type: ignore[index]
        assert item.spurt_age.standard == item.offset.standard


def test_equations_agree_within_their_errors() -> None:
    values = [item.offset.value for item in estimate_maturity(BOY, EQUATIONS)]
    assert max(values) - min(values) < 2 * ERRORS[Sex.MALE]


def test_error_of_tape_and_scales_against_draws() -> None:
    equation = EQUATIONS[0]
    found = estimate_offset(equation, BOY)
    assert isinstance(found, Uncertain)
    generator = np.random.default_rng(3)
    count = 20_000
    height = 156 + 0.5 * generator.standard_normal(count)
    sitting = 80 + 0.7 * generator.standard_normal(count)
    mass = 45 + 0.5 * generator.standard_normal(count)
    leg = height - sitting
    drawn = 0.0002708 * leg * sitting - 0.001663 * 13.2 * leg + 0.007216 * 13.2 * sitting + 2.292 * mass / height
    rater = next(part.standard for part in found.parts if part.source is Source.RATER)
    # The SD of n draws has a relative standard error of 1 / sqrt(2 n); four of those.
    assert rater == pytest.approx(float(drawn.std()), rel=4 / sqrt(2 * count))


def test_outside_of_the_ages_there_is_no_number() -> None:
    old = BodySize(sex=Sex.MALE, age_years=19.0, height_m=1.8, sitting_height_m=0.93, mass_kg=80.0)
    assert all(isinstance(item.offset, Absent) for item in estimate_maturity(old, EQUATIONS))


def test_without_sitting_height_the_equation_by_height_remains() -> None:
    body = BodySize(
        sex=Sex.MALE, age_years=13.2, height_m=1.56, sitting_height_m=Absent(reason="-"), mass_kg=Absent(reason="-")
    )
    found = {item.equation.name: item.offset for item in estimate_maturity(body, EQUATIONS)}
    assert [name for name, offset in found.items() if isinstance(offset, Uncertain)] == ["Moore 2015, by height"]
    assert "sitting height" in found["Mirwald 2002"].reason  # type: ignore[union-attr]


def test_without_sex_there_is_no_equation() -> None:
    body = BodySize(
        sex=Absent(reason="-"), age_years=13.2, height_m=1.56, sitting_height_m=0.8, mass_kg=Absent(reason="-")
    )
    assert estimate_maturity(body, EQUATIONS) == ()


def test_phase_from_the_normal_table() -> None:
    # Standard normal table: Phi(0.5) = 0.6915, Phi(1.5) = 0.9332, Phi(2) = 0.9772.
    phase = estimate_phase(build_uncertain(0.5, "years", {Source.EQUATION: 1.0}))
    assert phase.after_probability == pytest.approx(1 - 0.6915, abs=1e-4)
    assert phase.before_probability == pytest.approx(1 - 0.9332, abs=1e-4)
    assert phase.around_probability == pytest.approx(0.6915 + 0.9332 - 1, abs=1e-4)
    assert phase.words == "too close to call, most likely around the growth spurt"
    sure = estimate_phase(build_uncertain(-3.0, "years", {Source.EQUATION: 1.0}))
    assert sure.words == "before the growth spurt"
    assert sure.before_probability == pytest.approx(0.9772, abs=1e-4)


@pytest.mark.parametrize("value", np.linspace(-4, 4, 17))
def test_phases_are_all_there_is_and_mirror_each_other(value: float) -> None:
    phase = estimate_phase(build_uncertain(value, "years", {Source.EQUATION: 0.9}))
    other = estimate_phase(build_uncertain(-value, "years", {Source.EQUATION: 0.9}))
    assert phase.before_probability + phase.around_probability + phase.after_probability == pytest.approx(1.0)
    assert phase.before_probability == pytest.approx(other.after_probability)
    assert phase.around_probability == pytest.approx(other.around_probability)


def test_velocity_by_hand() -> None:
    heights = [
        HeightReading(day=date(2025, 3, 1), height_m=1.500),
        HeightReading(day=date(2026, 1, 10), height_m=1.570),
        HeightReading(day=date(2026, 3, 1), height_m=1.580),
    ]
    found = estimate_height_velocity(heights)
    assert isinstance(found, Uncertain)
    years = 365 / 365.2425
    assert found.value == pytest.approx(8.0 / years)
    assert found.standard == pytest.approx(sqrt(2) * 0.5 / years)
    assert found.unit == "cm/year"


@pytest.mark.parametrize(
    "days", [[date(2026, 3, 1)], [date(2026, 1, 1), date(2026, 3, 1)], [date(2020, 1, 1), date(2026, 3, 1)], []]
)
def test_velocity_needs_two_heights_three_to_eighteen_months_apart(days: list[date]) -> None:
    found = estimate_height_velocity([HeightReading(day=day, height_m=1.5) for day in days])
    assert isinstance(found, Absent)
    assert found.advice


def test_care_follows_phase_or_velocity_and_says_why() -> None:
    nothing = Absent(reason="-")
    around = GrowthPhase(before_probability=0.2, around_probability=0.7, after_probability=0.1)
    before = GrowthPhase(before_probability=0.95, around_probability=0.05, after_probability=0.0)
    fast = build_uncertain(10.0, "cm/year", {Source.RATER: 0.7})
    assert len(choose_care(around, nothing, CARE)) == len(CARE)
    assert choose_care(before, nothing, CARE) == ()
    assert choose_care(nothing, nothing, CARE) == ()
    by_speed = choose_care(before, fast, CARE)
    assert {item.care.key for item in by_speed} == {row.key for row in CARE if row.velocity_limit < inf}
    assert "faster than 7 cm a year" in by_speed[0].because
    assert "70 %" in choose_care(around, nothing, CARE)[0].because
