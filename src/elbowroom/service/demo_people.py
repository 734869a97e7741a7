"""The people of the demo club: all invented, drawn with a seed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.measures.types import ThrowKind

GIVEN = (
    *("Aveline", "Bexley", "Corvin", "Darrow", "Elowen", "Fennick", "Garnet", "Hollis", "Isolde", "Jorren"),
    *("Kestrel", "Linnea", "Marlow", "Nerys", "Orrin", "Perrin", "Quenby", "Rafferty", "Sorrel", "Tamsin"),
    *("Ulric", "Verity", "Wren", "Xanthe", "Yarrow", "Zephyr", "Ansel", "Briony", "Cassian", "Delphi"),
)
FAMILY = (
    *("Amberlow", "Brackenridge", "Copperfen", "Dunmarsh", "Eastwillow", "Fallowmere", "Greenhollow", "Harrowdale"),
    *("Inkwell", "Juniperson", "Kettlebrook", "Larkspur", "Mossgrave", "Nettleford", "Oakapple", "Pebblewick"),
    *("Quarrington", "Ravensedge", "Saltmeadow", "Thistledown", "Underbough", "Vinterhed", "Wintergreen", "Yewbank"),
    *("Zinnober", "Alderfoot", "Birchwater", "Cloverfield", "Dapplegrey", "Emberley"),
)
GUARDIANS = ("Robin", "Morgan", "Jules", "Sage", "Toni", "Kim")
RELATIONS = ("mother", "father", "guardian")
YOUNGEST_YEARS, OLDEST_YEARS, ADULT_YEARS = 9.0, 17.9, 24.0
SHARE_OF_ADULT = (
    *((8.0, 0.72), (9.0, 0.76), (10.0, 0.79), (11.0, 0.82), (12.0, 0.85), (13.0, 0.89), (14.0, 0.935)),
    *((15.0, 0.965), (16.0, 0.985), (17.0, 0.995), (18.0, 1.0)),
)
"""Share of the adult height by age: made up for the demo, roughly as children grow; not a growth chart."""
DAYS_A_YEAR = 365.25


@dataclass(frozen=True, kw_only=True)
class DemoAthlete:
    """An invented athlete."""

    name: str
    """Invented name."""
    born_on: date
    """Day of birth."""
    hand: ThrowingHand
    """The hand that throws."""
    kind: ThrowKind
    """Kind of throw that is filmed."""
    guardian: tuple[str, str]
    """Invented name of a guardian, and what the guardian is; empty texts for the adult."""
    adult_height_m: float
    """Height when grown, metres."""
    tempo_years: float
    """How much earlier than others the athlete grows, years."""
    visits: tuple[date, ...]
    """Days of the visits, oldest first."""

    def find_height_m(self, day: date) -> float:
        """Return the standing height on a day to the centimetre, metres."""
        age_years = (day - self.born_on).days / DAYS_A_YEAR + self.tempo_years
        ages, shares = zip(*SHARE_OF_ADULT, strict=True)
        return round(self.adult_height_m * float(np.interp(age_years, ages, shares)), 2)


def draw_people(count: int, today: date, rng: np.random.Generator) -> tuple[DemoAthlete, ...]:
    """Return that many invented athletes, at most one a name; the last is the only adult."""
    count = min(count, len(GIVEN))
    given, family = rng.permutation(len(GIVEN))[:count], rng.permutation(len(FAMILY))[:count]
    names = [f"{GIVEN[first]} {FAMILY[second]}" for first, second in zip(given, family, strict=True)]
    return tuple(_draw_athlete(name, index, count, today, rng) for index, name in enumerate(names))


def _draw_athlete(name: str, index: int, count: int, today: date, rng: np.random.Generator) -> DemoAthlete:
    is_adult = index == count - 1
    age_years = ADULT_YEARS if is_adult else float(rng.uniform(YOUNGEST_YEARS, OLDEST_YEARS))
    parent = f"{rng.choice(GUARDIANS)} {name.split()[1]}", str(rng.choice(RELATIONS))
    return DemoAthlete(
        name=name,
        born_on=today - timedelta(days=round(age_years * DAYS_A_YEAR)),
        hand=ThrowingHand.LEFT if index % 6 == 4 else ThrowingHand.RIGHT,
        kind=ThrowKind.MOUND_PITCH if index % 3 == 0 else ThrowKind.FLAT_PITCH,
        guardian=("", "") if is_adult else parent,
        adult_height_m=float(rng.uniform(1.62, 1.90)),
        tempo_years=float(rng.normal(0.0, 0.8)),
        visits=_draw_days(index, today, rng),
    )


def _draw_days(index: int, today: date, rng: np.random.Generator) -> tuple[date, ...]:
    """Return two to six days over about two years; the first three athletes come today as well."""
    last = today - timedelta(days=0 if index < 3 else int(rng.integers(1, 90)))
    gaps: Sequence[int] = rng.integers(70, 190, size=int(rng.integers(1, 6))).tolist()
    days = [last]
    for gap in gaps:
        days.append(days[-1] - timedelta(days=gap))
    return tuple(day for day in reversed(days) if (today - day).days <= 760)
