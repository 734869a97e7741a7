"""The arm and the ball of one athlete from the tables, and how far the tables differ."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from elbowroom.core.loads.types import (
    ArmBody,
    ArmNumbers,
    Array,
    BallRow,
    HeldBall,
    LoadTables,
    Segment,
    SegmentBody,
    SegmentNumbers,
    SegmentRow,
    Sex,
    TableName,
    Thrower,
)
from elbowroom.core.quantities.types import Absent

CHILD_UNTIL_YEARS = 18.0
"""Up to this age the masses are those of children."""
ADULT_FROM_YEARS = 21.0
"""From this age they are those of adults; between the two they are mixed, so that no birthday makes a jump (chosen by
this project)."""
BALL_REACH_SHARE = 1.6
"""Distance of the ball's centre from the wrist over that of the knuckles, 14 cm in an adult (chosen by this
project)."""
BALL_REACH_SPREAD = 0.2
"""Spread of that share between grips and hands (chosen by this project)."""
ARM = (Segment.UPPER_ARM, Segment.FOREARM, Segment.HAND)
Numbers = dict[Segment, dict[str, float]]


def build_arm_numbers(thrower: Thrower, tables: LoadTables) -> ArmNumbers:
    """Return the best numbers: masses by age (Jensen below 18, de Leva above), all else by sex from de Leva."""
    return join_draws([find_best_numbers(thrower, tables)], thrower, build_ball(thrower, tables))


def draw_arm_numbers(thrower: Thrower, tables: LoadTables, count: int, generator: np.random.Generator) -> ArmNumbers:
    """Return the best numbers and `count` draws in which masses, centres and radii each come from a table by chance.

    Every table that holds for the athlete is as likely as any other; the spread between people of one table is in
    none of them, so it is not in the draws either.
    """
    best = find_best_numbers(thrower, tables)
    masses = [find_masses(thrower, tables), find_adult(thrower, tables, "mass_share", TableName.DE_LEVA)]
    masses.append(find_adult(thrower, tables, "mass_share", TableName.DEMPSTER))
    names = (TableName.DE_LEVA, TableName.DEMPSTER, TableName.CLAUSER)
    centres = [find_adult(thrower, tables, "centre_share", name) for name in names]
    picks = generator.integers(0, [len(masses), len(centres), 2], (count, 3))
    draws = [best]
    for mass, centre, radius in picks:
        name = names[int(radius)]
        radii = {word: find_adult(thrower, tables, word, name) for word in ("sagittal_share", "transverse_share")}
        draws.append(replace_numbers(best, {"mass_share": masses[mass], "centre_share": centres[centre], **radii}))
    return join_draws(draws, thrower, build_ball(thrower, tables))


def draw_balls(thrower: Thrower, tables: LoadTables, count: int, generator: np.random.Generator) -> ArmNumbers:
    """Return the best numbers and `count` draws of the ball's mass, evenly within the rules, and of its place."""
    row, best = get_ball(thrower, tables.balls), build_ball(thrower, tables)
    masses = np.concatenate([best.mass_kg, generator.uniform(*row.masses_kg, (count, 1))])
    reaches = BALL_REACH_SHARE + BALL_REACH_SPREAD * generator.standard_normal((count, 1))
    ball = HeldBall(mass_kg=masses, radius_m=best.radius_m, reach_share=np.concatenate([best.reach_share, reaches]))
    return join_draws([find_best_numbers(thrower, tables)], thrower, ball)


def find_best_numbers(thrower: Thrower, tables: LoadTables) -> Numbers:
    """Return the best share of every kind for every segment of the arm."""
    words = ("centre_share", "sagittal_share", "transverse_share", "long_share")
    adult = {word: find_adult(thrower, tables, word, TableName.DE_LEVA) for word in words}
    start: Numbers = {segment: {} for segment in ARM}
    return replace_numbers(start, {"mass_share": find_masses(thrower, tables), **adult})


def replace_numbers(numbers: Numbers, other: dict[str, dict[Segment, float]]) -> Numbers:
    """Return numbers with some kinds taken from elsewhere."""
    return {
        segment: {**numbers[segment], **{word: values[segment] for word, values in other.items()}} for segment in ARM
    }


def find_masses(thrower: Thrower, tables: LoadTables) -> dict[Segment, float]:
    """Return mass over body mass: by age for children, by sex for adults, mixed between 18 and 21 years."""
    adult = find_adult(thrower, tables, "mass_share", TableName.DE_LEVA)
    share = np.clip((thrower.age_years - CHILD_UNTIL_YEARS) / (ADULT_FROM_YEARS - CHILD_UNTIL_YEARS), 0.0, 1.0)
    return {
        segment: float((1.0 - share) * find_child_mass_share(tables.segments, segment, thrower.age_years))
        + float(share) * adult[segment]
        for segment in ARM
    }


def find_child_mass_share(rows: Sequence[SegmentRow], segment: Segment, age_years: float) -> float:
    """Return a segment's mass over body mass at an age, between the ages of Jensen's table; held beyond its ends."""
    found = sorted(
        (row.age_years, row.mass_share)
        for row in rows
        if row.table is TableName.JENSEN and row.segment == segment
        if not isinstance(row.age_years, Absent) and not isinstance(row.mass_share, Absent)
    )
    ages, shares = zip(*found, strict=True)
    return float(np.interp(age_years, ages, shares))


def find_adult(thrower: Thrower, tables: LoadTables, word: str, table: TableName) -> dict[Segment, float]:
    """Return one kind of number for every segment; where the table lacks it, de Leva's for the athlete's sex."""
    found = {}
    for segment in ARM:
        rows = [row for name in (table, TableName.DE_LEVA) for row in _list_rows(tables, name, segment, thrower.sex)]
        found[segment] = next(value for row in rows if not isinstance(value := _read(row, segment, word), Absent))
    return found


def _list_rows(tables: LoadTables, table: TableName, segment: Segment, sex: Sex) -> list[SegmentRow]:
    return [
        row
        for row in tables.segments
        if row.table is table and row.segment == segment and (isinstance(row.sex, Absent) or row.sex is sex)
    ]


def _read(row: SegmentRow, segment: Segment, word: str) -> float | Absent:
    """Return a number of a row; the hand's two radii across it are made one, since its turn is not seen."""
    radii = (row.sagittal_share, row.transverse_share)
    if segment is Segment.HAND and word in ("sagittal_share", "transverse_share"):
        known = [radius for radius in radii if not isinstance(radius, Absent)]
        return float(np.sqrt(np.mean(np.square(known)))) if known else radii[0]
    values: dict[str, Callable[[], float | Absent]] = {
        "mass_share": lambda: row.mass_share,
        "centre_share": lambda: row.centre_share,
        "sagittal_share": lambda: row.sagittal_share,
        "transverse_share": lambda: row.transverse_share,
        "long_share": lambda: row.long_share,
    }
    return values[word]()


def get_ball(thrower: Thrower, rows: Sequence[BallRow]) -> BallRow:
    """Return the row of the athlete's ball; raises `KeyError` where the table has none."""
    return {row.kind: row for row in rows}[thrower.ball]


def build_ball(thrower: Thrower, tables: LoadTables) -> HeldBall:
    """Return the middle ball of the rules where it is usually held; (1, 1) arrays."""
    row = get_ball(thrower, tables.balls)
    return HeldBall(
        mass_kg=np.full((1, 1), sum(row.masses_kg) / 2),
        radius_m=np.full((1, 1), sum(row.diameters_m) / 4),
        reach_share=np.full((1, 1), BALL_REACH_SHARE),
    )


def join_draws(draws: Sequence[Numbers], thrower: Thrower, ball: HeldBall) -> ArmNumbers:
    """Return the numbers of all draws as arrays (s, 1)."""

    def column(segment: Segment, word: str) -> Array:
        return np.array([[numbers[segment][word]] for numbers in draws])

    upper, fore, hand = (
        SegmentNumbers(
            mass_kg=thrower.mass_kg * column(segment, "mass_share"),
            centre_share=column(segment, "centre_share"),
            sagittal_share=column(segment, "sagittal_share"),
            transverse_share=column(segment, "transverse_share"),
            long_share=column(segment, "long_share"),
        )
        for segment in ARM
    )
    return ArmNumbers(upper_arm=upper, forearm=fore, hand=hand, ball=ball)


def build_arm_body(numbers: ArmNumbers, lengths_m: Array) -> ArmBody:
    """Return the arm with its lengths (3, s, 1): upper arm, forearm, wrist to knuckles."""
    segments = (numbers.upper_arm, numbers.forearm, numbers.hand)
    upper, fore, hand = (build_segment_body(item, length) for item, length in zip(segments, lengths_m, strict=True))
    return ArmBody(upper_arm=upper, forearm=fore, hand=hand, ball=numbers.ball)


def build_segment_body(numbers: SegmentNumbers, length_m: Array) -> SegmentBody:
    """Return one segment with its length (s, 1)."""
    return SegmentBody(
        mass_kg=numbers.mass_kg,
        centre_share=numbers.centre_share,
        sagittal_m=numbers.sagittal_share * length_m,
        transverse_m=numbers.transverse_share * length_m,
        long_m=numbers.long_share * length_m,
    )
