"""The loads of a visit: each throw's from its draws, then the typical throw's beside published bands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import floor

import numpy as np

from elbowroom.core.chain.types import ChainSetting, ThrowNumbers
from elbowroom.core.clips.types import TimingVerdict
from elbowroom.core.findings.report import AthleteCard, Curve, CurveLine, LoadFinding, LoadsCard
from elbowroom.core.instants.types import InstantName
from elbowroom.core.loads.bodies import ADULT_FROM_YEARS, get_ball
from elbowroom.core.loads.definitions import LOAD_CURVES, LOADS, LoadCurve
from elbowroom.core.loads.dynamics import GRAVITY_M_S2
from elbowroom.core.loads.measure import measure_loads
from elbowroom.core.loads.types import (
    Array,
    Drawn,
    LoadBand,
    LoadChange,
    LoadDraws,
    LoadTables,
    Thrower,
    ThrowLoads,
)
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.budget import combine_throws
from elbowroom.core.quantities.types import Absent, BudgetPart, Obtained, Source, Uncertain
from elbowroom.core.reconstruction.types import Curves

Draws = Mapping[Source, tuple[Curves, Mapping[InstantName, Array | Absent]]]
SHARE_UNITS = {"N m": "% BW H", "N": "% BW"}
"""Unit of a load as a share of the athlete's size."""


def measure_throw_loads(
    draws: Draws, setting: ChainSetting, timing: TimingVerdict, generator: np.random.Generator
) -> ThrowLoads | Absent:
    """Return the loads of one throw, or why there are none: no tables, athlete not described, pictures too slow."""
    if isinstance(setting.load_tables, Absent):
        return setting.load_tables
    thrower = build_thrower(setting.athlete)
    if isinstance(thrower, Absent):
        return thrower
    if isinstance(timing.arm_rates, Absent):
        return explain_slow(timing.arm_rates)
    by_source: dict[Source, Drawn] = {
        source: (curves, {name: time for name, time in times.items() if not isinstance(time, Absent)})
        for source, (curves, times) in draws.items()
        if source is not Source.TARGET
    }
    return measure_loads(LoadDraws(by_source=by_source, thrower=thrower, tables=setting.load_tables), generator)


def build_thrower(athlete: AthleteCard) -> Thrower | Absent:
    """Return what the loads need to know of the athlete, or what the visit file leaves out."""
    needs = {"sex": athlete.sex, "mass_kg": athlete.mass_kg}
    missing = [name for name, value in needs.items() if isinstance(value, Absent)]
    if athlete.kind is ThrowKind.OTHER and isinstance(athlete.ball, Absent):
        missing.append("ball")
    if missing:
        return Absent(
            reason=f"The visit file does not say the athlete's {' or '.join(missing)}, and loads need it.",
            advice=f"Add {' and '.join(missing)} to [athlete] in the visit file and screen again.",
        )
    assert not isinstance(athlete.sex, Absent)
    assert not isinstance(athlete.mass_kg, Absent)
    return Thrower(
        age_years=athlete.age_years,
        height_m=athlete.height_m,
        mass_kg=athlete.mass_kg,
        sex=athlete.sex,
        ball=athlete.thrown,
    )


def explain_slow(slow: Absent) -> Absent:
    """Return why pictures that cannot carry the arm's rates cannot carry its loads."""
    return Absent(
        reason=f"Loads come from how fast the arm's rates change. {slow.reason}",
        advice=slow.advice or "Film at 240 pictures a second.",
    )


def join_loads(throws: Sequence[ThrowNumbers], athlete: AthleteCard, tables: LoadTables | Absent) -> LoadsCard | Absent:
    """Return the loads over all throws that have them, or why no throw has."""
    found = [(throw.number, throw.loads) for throw in throws if not isinstance(throw.loads, Absent)]
    thrower = build_thrower(athlete)
    if isinstance(tables, Absent):
        return tables
    if isinstance(thrower, Absent):
        return thrower
    if not found:
        reasons = [throw.loads for throw in throws if isinstance(throw.loads, Absent)]
        return reasons[0] if reasons else Absent(reason="No throw was measured.")
    return LoadsCard(
        findings=tuple(
            build_load_finding(key, [loads for _, loads in found], thrower, tables) for key in range(len(LOADS))
        ),
        curves=tuple(build_load_curve(curve, found) for curve in LOAD_CURVES),
        changes=average_changes([loads for _, loads in found]),
        body=describe_body(thrower, tables),
    )


def build_load_finding(place: int, throws: Sequence[ThrowLoads], thrower: Thrower, tables: LoadTables) -> LoadFinding:
    """Return one load over the throws; `place` is its number in the registry."""
    definition = LOADS[place]
    values = tuple(loads.values[definition.key] for loads in throws)
    typical = combine_obtained(values)
    return LoadFinding(
        definition=definition,
        typical=typical,
        typical_share=scale_load(typical, thrower),
        throws=values,
        bands=choose_load_bands(tables.bands, definition.key, thrower.age_years),
    )


def combine_obtained(values: Sequence[Obtained]) -> Obtained:
    """Return the typical throw of those that have a value, or why none has."""
    known = [value for value in values if isinstance(value, Uncertain)]
    return combine_throws(known) if known else values[0]


def scale_load(load: Obtained, thrower: Thrower) -> Obtained:
    """Return a moment in % of body weight times height, or a force in % of body weight."""
    if isinstance(load, Absent):
        return load
    weight_n = thrower.mass_kg * GRAVITY_M_S2
    factor = 100.0 / (weight_n * thrower.height_m if load.unit == "N m" else weight_n)
    parts = tuple(BudgetPart(source=part.source, standard=factor * part.standard) for part in load.parts)
    return replace(load, value=factor * load.value, unit=SHARE_UNITS[load.unit], parts=parts)


def choose_load_bands(bands: Sequence[LoadBand], key: str, age_years: float) -> tuple[LoadBand, ...]:
    """Return the published bands of a load that are shown for an age."""
    age = floor(age_years)
    return tuple(band for band in bands if band.load == key and band.ages_years[0] <= age <= band.ages_years[1])


def build_load_curve(curve: LoadCurve, throws: Sequence[tuple[int, ThrowLoads]]) -> Curve:
    """Return one load over time, a line a throw."""
    lines = tuple(
        CurveLine(
            throw=number,
            times_s=loads.lines[curve.key].times_s,
            values=loads.lines[curve.key].values,
            half_widths=loads.lines[curve.key].half_widths,
        )
        for number, loads in throws
    )
    return Curve(key=curve.key, words=curve.words, unit=curve.unit, sign=curve.sign, lines=lines)


def average_changes(throws: Sequence[ThrowLoads]) -> tuple[LoadChange, ...]:
    """Return each move's changes over the throws, as for a typical throw."""
    return tuple(
        LoadChange(
            move=change.move,
            changes={
                key: combine_obtained([loads.changes[place].changes[key] for loads in throws]) for key in change.changes
            },
        )
        for place, change in enumerate(throws[0].changes)
    )


def describe_body(thrower: Thrower, tables: LoadTables) -> str:
    """Return a sentence on the body and the ball that were taken."""
    ball = get_ball(thrower, tables.balls)
    masses = f"{1000 * ball.masses_kg[0]:.0f} to {1000 * ball.masses_kg[1]:.0f} g"
    child = " and Jensen (masses of children)" if thrower.age_years < ADULT_FROM_YEARS else ""
    return (
        f"Body mass {thrower.mass_kg:.4g} kg, {thrower.sex} tables: de Leva 1996{child}; the spread to Dempster's and "
        "Clauser's tables is in the interval. Segment lengths as reconstructed. "
        f"Ball: {thrower.ball}, {masses}, in the hand until release."
    )
