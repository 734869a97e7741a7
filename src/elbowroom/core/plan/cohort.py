"""A team at one look: how each measure spreads over its athletes, and who needs the clinician first and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median, quantiles, stdev

from elbowroom.core.quantities.phrases import LengthUnit, phrase_number
from elbowroom.core.quantities.types import Absent, Uncertain

FEWEST_FOR_SPREAD = 5
"""Fewest athletes whose quartiles and standard deviation are stated (chosen by this project)."""


@dataclass(frozen=True, kw_only=True)
class Concern:
    """A finding that asks for work, as the athlete's newest report ordered it."""

    measure: str
    """Key of the measure."""
    weight: float
    """Severity times certainty times consequence, 0 or more."""
    reason: str
    """One sentence that says why."""


@dataclass(frozen=True, kw_only=True)
class Member:
    """An athlete of a team, with the newest screening."""

    athlete_id: str
    """Id of the athlete."""
    name: str
    """Name or code."""
    screened_on: date | Absent
    """Day of the newest screening, or absent where there is none."""
    values: Mapping[str, Uncertain]
    """Typical throw of every measure that was measured, by key."""
    concerns: tuple[Concern, ...]
    """What the report put first, most important first."""
    hold: str = ""
    """Why throwing is held, such as a warning sign; empty where it is not."""
    remarks: tuple[str, ...] = ()
    """Rules that the counts of the last days break."""


@dataclass(frozen=True, kw_only=True)
class Spread:
    """How a measure spreads over a team."""

    measure: str
    """Key of the measure."""
    unit: str
    """Unit of all numbers."""
    values: tuple[tuple[str, Uncertain], ...]
    """Name and value of each athlete, from the lowest up."""
    middle_value: float
    """The median, in `unit`."""
    quartiles: tuple[float, float] | Absent
    """First and third quartile, or why they are not stated."""
    scatter_sd: float | Absent
    """Standard deviation between athletes, noise of the measurement included, or absent."""
    sentence: str
    """The spread in a sentence; it says where the athletes are few."""


@dataclass(frozen=True, kw_only=True)
class Turn:
    """An athlete's place in the order of a team."""

    member: Member
    """The athlete."""
    weight: float
    """Weight of the first concern; 0 for none."""
    reason: str
    """Why the athlete stands here, in a sentence."""


@dataclass(frozen=True, kw_only=True)
class Cohort:
    """A team at one look."""

    spreads: tuple[Spread, ...]
    """Each measure that somebody has, in the order asked for."""
    turns: tuple[Turn, ...]
    """Who needs the clinician first."""


def build_cohort(
    members: Sequence[Member], measures: Sequence[str], lengths: LengthUnit = LengthUnit.CENTIMETRES
) -> Cohort:
    """Return a team at one look; measures that nobody has are left out."""
    spreads = [measure_spread(members, measure, lengths) for measure in measures]
    return Cohort(spreads=tuple(item for item in spreads if isinstance(item, Spread)), turns=order_members(members))


def order_members(members: Sequence[Member]) -> tuple[Turn, ...]:
    """Return who needs the clinician first: held athletes, then by the weight of the first concern, then by name.

    Severity, certainty and consequence are those of the report's order, so an athlete stands high by one grave and sure
    finding, not by many small ones. Athletes without a screening come before those without a concern.
    """
    turns = [_build_turn(member) for member in members]
    return tuple(sorted(turns, key=lambda turn: (*_rank(turn), turn.member.name.casefold(), turn.member.athlete_id)))


def measure_spread(
    members: Sequence[Member], measure: str, lengths: LengthUnit = LengthUnit.CENTIMETRES
) -> Spread | Absent:
    """Return how one measure spreads over the athletes who have it, or that nobody has."""
    held = sorted(
        ((member.name, member.values[measure]) for member in members if measure in member.values),
        key=lambda pair: (pair[1].value, pair[0]),
    )
    if not held:
        return Absent(reason="Nobody of the team has this measure.", advice="Screen the team.")
    numbers, unit = [value.value for _, value in held], held[0][1].unit
    few = Absent(reason=f"{len(held)} of {FEWEST_FOR_SPREAD} athletes are too few for it.", advice="Screen more.")
    is_enough = len(held) >= FEWEST_FOR_SPREAD

    def phrase(shown: Sequence[float]) -> list[str]:
        return [phrase_number(number, unit, lengths) for number in shown]

    quarters = quantiles(numbers, n=4, method="inclusive") if is_enough else []
    quartiles = (quarters[0], quarters[2]) if is_enough else few
    return Spread(
        measure=measure,
        unit=unit,
        values=tuple(held),
        middle_value=median(numbers),
        quartiles=quartiles,
        scatter_sd=stdev(numbers) if is_enough else few,
        sentence=_phrase_spread(phrase(numbers), phrase(quarters)),
    )


def _build_turn(member: Member) -> Turn:
    first = member.concerns[0] if member.concerns else None
    if member.hold:
        reason = f"Held: {member.hold}."
    elif first is not None and not isinstance(member.screened_on, Absent):
        reason = first.reason
    elif isinstance(member.screened_on, Absent):
        reason = "Not screened yet."
    else:
        reason = "Nothing that was measured asks for work."
    if member.remarks:
        reason += f" Counts: {member.remarks[-1]}"
    return Turn(member=member, weight=first.weight if first else 0.0, reason=reason)


def _rank(turn: Turn) -> tuple[int, float]:
    if turn.member.hold:
        return 0, -turn.weight
    if turn.weight > 0:
        return 1, -turn.weight
    return (2 if turn.member.remarks else 3 if isinstance(turn.member.screened_on, Absent) else 4), 0.0


def _phrase_spread(values: Sequence[str], quarters: Sequence[str]) -> str:
    """Return a spread in a sentence from its values and its quarters in words, both from the lowest up."""
    if len(values) == 1:
        return f"1 athlete: {values[0]}."
    if not quarters:
        return f"{len(values)} athletes, from {values[0]} to {values[-1]}; too few to say how a team spreads."
    first, middle, third = quarters
    return (
        f"{len(values)} athletes: middle {middle}, half of them from {first} to {third}, all from {values[0]} to "
        f"{values[-1]}."
    )
