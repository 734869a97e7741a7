"""A team at one look: spread of each measure and who comes first.

Sides: numpy's quantiles and standard deviation; hand-ordered teams; the order does not depend on the order of input.
"""

from __future__ import annotations

from datetime import date
from itertools import permutations

import numpy as np
import pytest

from elbowroom.core.plan.cohort import Concern, Member, Spread, build_cohort, measure_spread, order_members
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Source

NEVER = Absent(reason="No screening.")
VALUES = [12.0, 3.0, 8.0, 30.0, 7.0, 9.5]


def make_member(name: str, weight: float = 0.0, value: float | None = None, **changes: object) -> Member:
    concerns = (Concern(measure="m", weight=weight, reason=f"{name} is far out."),) if weight else ()
    values = {} if value is None else {"m": build_uncertain(value, "deg", {Source.LANDMARKS: 1.0})}
    base = {"screened_on": date(2026, 5, 4), "values": values, "concerns": concerns, **changes}
    return Member(athlete_id=name.lower(), name=name, **base)  # type: ignore[arg-type]


def test_spread_is_that_of_numpy() -> None:
    spread = measure_spread([make_member(str(n), value=value) for n, value in enumerate(VALUES)], "m")
    assert isinstance(spread, Spread)
    assert spread.quartiles == pytest.approx(tuple(np.quantile(VALUES, [0.25, 0.75])))
    assert (spread.middle_value, spread.scatter_sd) == (np.median(VALUES), pytest.approx(np.std(VALUES, ddof=1)))
    assert [value.value for _, value in spread.values] == sorted(VALUES)
    assert spread.sentence.startswith("6 athletes: middle 8.8°, half of them from ")


def test_few_athletes_are_said_to_be_few() -> None:
    few = measure_spread([make_member(str(n), value=value) for n, value in enumerate(VALUES[:4])], "m")
    assert isinstance(few, Spread)
    assert not few.quartiles
    assert not few.scatter_sd
    assert few.sentence == "4 athletes, from 3° to 30°; too few to say how a team spreads."
    one = measure_spread([make_member("A", value=3.0)], "m")
    assert isinstance(one, Spread)
    assert one.sentence == "1 athlete: 3°."
    assert not measure_spread([make_member("A")], "m")


TEAM = [
    make_member("Held", hold="numbness at intake"),
    make_member("Grave", 0.9),
    make_member("Mild", 0.2),
    make_member("Counts", remarks=("Monday 4 May: 90 pitches, the limit is 85 a day.",)),
    make_member("Unseen", screened_on=NEVER),
    make_member("Fine"),
]


def test_order_is_held_then_weight_then_counts_then_unseen() -> None:
    turns = order_members(TEAM)
    assert [turn.member.name for turn in turns] == [member.name for member in TEAM]
    assert [turn.reason for turn in turns] == [
        "Held: numbness at intake.",
        "Grave is far out.",
        "Mild is far out.",
        "Nothing that was measured asks for work. Counts: Monday 4 May: 90 pitches, the limit is 85 a day.",
        "Not screened yet.",
        "Nothing that was measured asks for work.",
    ]


def test_order_does_not_depend_on_the_input() -> None:
    wanted = order_members(TEAM[:4])
    assert all(order_members(mixed) == wanted for mixed in permutations(TEAM[:4]))


def test_cohort_leaves_out_what_nobody_has() -> None:
    cohort = build_cohort([make_member("A", value=1.0)], ["other", "m"])
    assert [spread.measure for spread in cohort.spreads] == ["m"]
