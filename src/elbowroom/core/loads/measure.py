"""The loads of one throw with their budget, and what would change them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from math import isfinite

import numpy as np

from elbowroom.core.instants.types import InstantName
from elbowroom.core.loads.bodies import build_arm_numbers, draw_arm_numbers, draw_balls
from elbowroom.core.loads.definitions import AT_LAYBACK, LARGEST, LOAD_CURVES
from elbowroom.core.loads.moves import MOVES, MoveRule, apply_move
from elbowroom.core.loads.series import LoadSeries, Move, solve_loads
from elbowroom.core.loads.smoothing import smooth_curves
from elbowroom.core.loads.types import (
    ArmNumbers,
    Array,
    Drawn,
    LoadChange,
    LoadDraws,
    LoadLine,
    ThrowLoads,
    Times,
)
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import NORMAL_95, Absent, Obtained, Source
from elbowroom.core.reconstruction.types import Curves

STEP_S = 0.002
"""Step of the times at which loads are worked out."""
BEFORE_CONTACT_S = 0.05
"""Loads are worked out from this long before foot contact."""
AFTER_RELEASE_S = 0.06
"""They are worked out until this long after release."""
LATE_S = 0.03
"""Forces along the arm may be largest until this long after release."""
CUTS_HZ = (13.0, 40.0)
"""Range of cut-off frequencies that laboratories use (common practice, no source)."""
SMOOTHINGS = 24
"""Draws of the cut-off."""
BODIES = 90
"""Draws of the body tables."""
CHANGE_DRAWS = 40
"""Draws of each source that a change is worked out from."""
NEEDED = (InstantName.FOOT_CONTACT, InstantName.LAYBACK, InstantName.RELEASE)
STRAIGHT = Absent(reason="The elbow is too straight there to say which way is varus.")


@dataclass(frozen=True, kw_only=True)
class _Case:
    """Draws of curves, instants and arms that vary by one source."""

    curves: Curves
    """Curves of s draws, the best estimate first."""
    times: Times
    """Instants of each draw."""
    numbers: ArmNumbers
    """Arm and ball of each draw, or of one that stands for all."""


def measure_loads(draws: LoadDraws, generator: np.random.Generator) -> ThrowLoads | Absent:
    """Return the loads of one throw with the budget of each, or why there are none.

    A part of a budget is the root mean square distance of a source's draws from the best estimate, as for measures.
    """
    missing = _list_missing(draws)
    if missing:
        return missing[0]
    cases = list_cases(draws, generator)
    grid = _build_grid(cases[Source.LANDMARKS])
    solved = {source: _solve(case, grid) for source, case in cases.items()}
    found = {source: read_loads(solved[source], cases[source].times) for source in cases}
    return ThrowLoads(
        values={key: _combine(key, {source: values[key] for source, values in found.items()}) for key in LOAD_UNITS},
        lines={curve.key: _build_line(curve.key, solved) for curve in LOAD_CURVES},
        changes=tuple(measure_change(rule, cases, grid) for rule in MOVES),
    )


def list_cases(draws: LoadDraws, generator: np.random.Generator) -> dict[Source, _Case]:
    """Return the draws of every source: those of the motion, and arms, balls and smoothings of its best estimate."""
    best = build_arm_numbers(draws.thrower, draws.tables)
    cases = {
        source: _Case(curves=curves, times=times, numbers=best) for source, (curves, times) in draws.by_source.items()
    }
    first = draws.by_source[Source.LANDMARKS]
    bodies = draw_arm_numbers(draws.thrower, draws.tables, BODIES, generator)
    balls = draw_balls(draws.thrower, draws.tables, BODIES, generator)
    cuts = np.exp(generator.uniform(np.log(CUTS_HZ[0]), np.log(CUTS_HZ[1]), SMOOTHINGS))
    still, times = _repeat(first, BODIES + 1)
    cases[Source.BODY] = _Case(curves=still, times=times, numbers=bodies)
    cases[Source.BALL] = _Case(curves=still, times=times, numbers=balls)
    held = {name: times[name][: SMOOTHINGS + 1] for name in NEEDED}
    cases[Source.SMOOTHING] = _Case(curves=smooth_curves(first[0], cuts), times=held, numbers=best)
    return cases


def read_loads(series: LoadSeries, times: Times, late_s: float = LATE_S) -> dict[str, Array]:
    """Return every load of every draw, (s,) each, from the loads at all times and each draw's own instants.

    Forces may be largest until `late_s` after release.
    """
    values: dict[str, Array] = {}
    start_s, end_s = times[InstantName.FOOT_CONTACT], times[InstantName.RELEASE]
    for curve in LOAD_CURVES:
        rows = series.values[curve.key]
        last_s = end_s + late_s if curve.is_after_release else end_s
        inside = (series.times_s >= start_s[:, None]) & (series.times_s <= last_s[:, None])
        largest = np.where(inside & np.isfinite(rows), rows, -np.inf).max(axis=1)
        values[LARGEST[curve.key].key] = np.where(np.isfinite(largest), largest, np.nan)
        values[AT_LAYBACK[curve.key].key] = _read_at(series, rows, times[InstantName.LAYBACK])
    return values


def measure_change(rule: MoveRule, cases: Mapping[Source, _Case], grid: Array) -> LoadChange:
    """Return how the loads change when the motion is moved along one measure, each draw against itself.

    Only until release: after it the elbow may be straight, where bending it more has no direction.
    """
    first = cases[Source.LANDMARKS].times
    contact_s, release_s = (float(first[name][0]) for name in (NEEDED[0], NEEDED[2]))
    move = partial(_move, rule, contact_s, release_s)
    apart: dict[Source, dict[str, Array]] = {}
    for source, case in cases.items():
        few = _take(case, CHANGE_DRAWS + 1)
        before = read_loads(_solve(few, grid), few.times, 0.0)
        after = read_loads(_solve(few, grid, move), few.times, 0.0)
        apart[source] = {key: after[key] - before[key] for key in before}
    keys = [LARGEST[curve.key].key for curve in LOAD_CURVES]
    return LoadChange(
        move=rule.definition,
        changes={key: _combine(key, {source: values[key] for source, values in apart.items()}) for key in keys},
    )


def _move(rule: MoveRule, contact_s: float, release_s: float, joints: Array, times_s: Array) -> Array:
    return apply_move(rule, joints, times_s, contact_s, release_s)


def _list_missing(draws: LoadDraws) -> list[Absent]:
    """Return what keeps the loads from being worked out."""
    _, times = draws.by_source[Source.LANDMARKS]
    return [
        Absent(
            reason=f"The {name} was not found, and loads need it.",
            advice="Film the whole throw with the throwing arm in view.",
        )
        for name in NEEDED
        if name not in times or not isfinite(float(times[name][0]))
    ]


def _repeat(drawn: Drawn, count: int) -> Drawn:
    """Return equal draws of the best estimate; the curves are not copied."""
    curves, times = drawn
    shape = (count, *curves.coefficients_m.shape[1:])
    still = Curves(knots_s=curves.knots_s, coefficients_m=np.broadcast_to(curves.coefficients_m[:1], shape))
    return still, {name: np.repeat(times[name][:1], count) for name in NEEDED}


def _take(case: _Case, count: int) -> _Case:
    curves = Curves(knots_s=case.curves.knots_s, coefficients_m=case.curves.coefficients_m[:count])
    return _Case(curves=curves, times={name: case.times[name][:count] for name in NEEDED}, numbers=case.numbers)


def _build_grid(case: _Case) -> Array:
    knots, times = case.curves.knots_s, case.times
    start_s = max(float(times[InstantName.FOOT_CONTACT][0]) - BEFORE_CONTACT_S, knots[0])
    end_s = min(float(times[InstantName.RELEASE][0]) + AFTER_RELEASE_S, knots[-1])
    return np.arange(start_s, end_s, STEP_S)


def _solve(case: _Case, grid: Array, move: Move | None = None) -> LoadSeries:
    release = case.times[InstantName.RELEASE]
    return solve_loads(case.curves, grid, case.numbers, np.where(np.isfinite(release), release, release[0]), move)


def _read_at(series: LoadSeries, rows: Array, at_s: Array) -> Array:
    """Return each row at its own time (s,), on the line between the two nearest times."""
    step_s = series.times_s[1] - series.times_s[0]
    place = (at_s - series.times_s[0]) / step_s
    low = np.clip(np.nan_to_num(place).astype(int), 0, len(series.times_s) - 2)
    each = np.arange(len(rows))
    share = place - low
    return np.asarray((1.0 - share) * rows[each, low] + share * rows[each, low + 1])


def _combine(key: str, draws: Mapping[Source, Array]) -> Obtained:
    """Return a load with a budget part for every source; draw 0 of each is the best estimate."""
    best = float(draws[Source.LANDMARKS][0])
    if not isfinite(best):
        return STRAIGHT
    standards = {}
    for source, values in draws.items():
        apart = values[1:][np.isfinite(values[1:])] - best
        standards[source] = float(np.sqrt(np.mean(apart**2))) if len(apart) else 0.0
    return build_uncertain(best, LOAD_UNITS[key], standards)


def _build_line(key: str, solved: Mapping[Source, LoadSeries]) -> LoadLine:
    first = solved[Source.LANDMARKS]
    best = first.values[key][0]
    square = np.zeros_like(best)
    for series in solved.values():
        apart = series.values[key][1:] - best
        count = np.maximum(np.isfinite(apart).sum(axis=0), 1)
        square += np.nansum(apart**2, axis=0) / count
    widths = np.where(np.isfinite(best), NORMAL_95 * np.sqrt(square), np.nan)
    return LoadLine(times_s=first.times_s, values=best, half_widths=widths)


LOAD_UNITS: dict[str, str] = {
    definition.key: definition.unit for table in (LARGEST, AT_LAYBACK) for definition in table.values()
}
"""Unit of every load by its key."""
