"""The athlete of a visit file."""

from __future__ import annotations

from datetime import date

from elbowroom.adapters.visit_files.lengths import find_length_m
from elbowroom.adapters.visit_files.sections import Section
from elbowroom.core.findings.report import NOT_STATED, AthleteCard, ThrowingHand
from elbowroom.core.loads.types import BallKind, Sex
from elbowroom.core.measures.types import ThrowKind

YOUNGEST_YEARS, OLDEST_YEARS = 4.0, 100.0
"""Ages that are believed."""
HEIGHTS_M = (0.9, 2.4)
"""Heights that are believed, metres."""
MASSES_KG = (12.0, 200.0)
"""Body masses that are believed, kilograms."""
KG_A_POUND = 0.45359237
DAYS_A_YEAR = 365.2425

HANDS = {
    "r": ThrowingHand.RIGHT,
    "l": ThrowingHand.LEFT,
    "right_handed": ThrowingHand.RIGHT,
    "left_handed": ThrowingHand.LEFT,
}
"""Other ways to write the hand."""
SEXES = {"f": Sex.FEMALE, "m": Sex.MALE, "girl": Sex.FEMALE, "boy": Sex.MALE}
"""Other ways to write the sex."""
BALLS = {"softball": BallKind.SOFTBALL_12, "softball_12": BallKind.SOFTBALL_12, "softball_11": BallKind.SOFTBALL_11}
"""Other ways to write the ball."""
KINDS = {
    "mound": ThrowKind.MOUND_PITCH,
    "mound_pitch": ThrowKind.MOUND_PITCH,
    "flat_ground": ThrowKind.FLAT_PITCH,
    "flat_pitch": ThrowKind.FLAT_PITCH,
    "other": ThrowKind.OTHER,
}
"""Other ways to write the kind of throw."""


def read_athlete(section: Section, made_on: date | None) -> AthleteCard | None:
    """Return the athlete, or None where something is missing or wrong, which is noted in the section."""
    name = section.find_text("name", '"player 12" (a code does as well)')
    age = _find_age(section, made_on)
    height = find_length_m(section, "height", HEIGHTS_M, 'height_cm = 162 (or height_ft_in = "5 ft 4 in")')
    hand = section.find_word("hand", ThrowingHand, HANDS, '"right" or "left", the hand that throws')
    kind = section.find_word("kind", ThrowKind, KINDS, '"pitch from a mound", or another kind of throw')
    sex = section.find_word("sex", Sex, SEXES)
    ball = section.find_word("ball", BallKind, BALLS)
    mass = _find_mass_kg(section)
    section.check_keys()
    if name is None or age is None or height is None or hand is None or kind is None:
        return None
    return AthleteCard(
        name=name,
        age_years=age,
        height_m=height,
        hand=hand,
        kind=kind,
        sex=NOT_STATED if sex is None else sex,
        mass_kg=NOT_STATED if mass is None else mass,
        ball=NOT_STATED if ball is None else ball,
    )


def _find_mass_kg(section: Section) -> float | None:
    """Return the body mass in kg, or None where it is not given or wrong; it may be left out."""
    given = section.list_given(("mass_kg", "mass_lb"))
    if len(given) > 1:
        section.add_problem("gives the body mass more than once (mass_kg, mass_lb): keep one")
        return None
    factor = KG_A_POUND if given == ["mass_lb"] else 1.0
    mass = section.find_number(given[0], MASSES_KG[0] / factor, MASSES_KG[1] / factor) if given else None
    return None if mass is None else factor * mass


def _find_age(section: Section, made_on: date | None) -> float | None:
    given = section.list_given(("age_years", "age", "born_on"))
    if len(given) > 1:
        section.add_problem(f"gives the age more than once ({', '.join(given)}): keep one")
        return None
    if not given:
        section.add_problem("has no age: add age_years = 12.5 (or born_on = 2013-11-20)")
        return None
    if given != ["born_on"]:
        return section.find_number(given[0], YOUNGEST_YEARS, OLDEST_YEARS)
    born_on = section.find_date("born_on")
    if born_on is None or made_on is None:
        return None
    age = (made_on - born_on).days / DAYS_A_YEAR
    if YOUNGEST_YEARS <= age <= OLDEST_YEARS:
        return age
    section.add_problem(f"has born_on = {born_on}, an age of {age:.1f} years on {made_on}: check both days")
    return None
