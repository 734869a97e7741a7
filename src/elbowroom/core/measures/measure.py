"""Measuring one throw: every draw at once, and the budget of its uncertainty by source."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.clips.types import Verdict
from elbowroom.core.geometry.angles import wrap_deg
from elbowroom.core.geometry.vectors import turn_about_vertical
from elbowroom.core.instants.types import InstantName
from elbowroom.core.measures.registry import RULES, get_rule
from elbowroom.core.measures.rules import MeasureRule, Permit
from elbowroom.core.measures.scene import Scene
from elbowroom.core.measures.types import MeasureSetting, ThrowMeasures
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Source
from elbowroom.core.reconstruction.types import Curves

Array = NDArray[np.float64]
Times = Mapping[InstantName, Array | Absent]
Draws = tuple[Curves, Times]

MOST_LOST_SHARE = 0.2
"""Share of a source's draws that may lack a measure before it counts as not measured."""
PITCH_ONLY = Absent(
    reason="It starts from the place of the pivot foot at lift, which holds for pitches only.",
    advice="Film a pitch to measure it.",
)


def measure_curves(
    curves: Curves, times: Times, setting: MeasureSetting, rules: Sequence[MeasureRule] = RULES
) -> dict[str, Array | Absent]:
    """Measure every draw of one throw.

    Args:
        curves: field frame, RIGHT the throwing side, s draws.
        times: (s,) seconds of each instant, not-a-number where a draw lost it, or why it was not found.
        setting: what is known beside the motion.
        rules: the measures wanted.

    Returns by key the values (s,) in the measure's unit, not-a-number where a draw has none, or why there are none.
    """
    found = {name: value for name, value in times.items() if not isinstance(value, Absent)}
    scene = Scene(curves=curves, times_s=found, setting=setting)
    return {rule.definition.key: _measure_one(rule, scene, times) for rule in rules}


def measure_throw(best: Draws, draws: Mapping[Source, Draws], setting: MeasureSetting) -> ThrowMeasures:
    """Measure one throw with the budget of every measure.

    Args:
        best: curves whose draw 0 is the best estimate, and its instants.
        draws: for each source of uncertainty, curves perturbed by that source alone with the instants of each draw
            (draw 0 the best estimate again); about 200 draws give a standard uncertainty to 5 %.
        setting: what is known beside the motion.

    A part of the budget is the root mean square distance of a source's draws from the best estimate, so that a
    shift (a largest value grows with noise) counts too. Angles are told apart around the circle.
    """
    first = select_first(best)
    values = measure_curves(*first, setting)
    perturbed = {source: measure_curves(*drawn, setting) for source, drawn in draws.items()}
    return ThrowMeasures(
        values={
            rule.definition.key: _combine(
                rule, values[rule.definition.key], {s: drawn[rule.definition.key] for s, drawn in perturbed.items()}
            )
            for rule in RULES
        }
    )


def select_first(drawn: Draws) -> Draws:
    """Return the best estimate alone: draw 0 of the curves and of every instant."""
    curves, times = drawn
    first = Curves(knots_s=curves.knots_s, coefficients_m=curves.coefficients_m[:1])
    return first, {name: value if isinstance(value, Absent) else value[:1] for name, value in times.items()}


def make_repeats(drawn: Draws, count: int) -> Draws:
    """Return `count` equal draws of the best estimate, to be perturbed by one source (the curves are not copied)."""
    first, times = select_first(drawn)
    shape = (count, *first.coefficients_m.shape[1:])
    curves = Curves(knots_s=first.knots_s, coefficients_m=np.broadcast_to(first.coefficients_m, shape))
    return curves, {
        name: value if isinstance(value, Absent) else np.repeat(value, count) for name, value in times.items()
    }


def draw_target(best: Draws, standard_deg: float, rng: np.random.Generator, count: int) -> Draws:
    """Return draws of the best estimate in field frames turned about z by the uncertainty of the target's direction."""
    curves, times = make_repeats(best, count)
    angles = rng.normal(0.0, standard_deg, count)
    angles[0] = 0.0
    turned = turn_about_vertical(curves.coefficients_m, angles[:, None, None])
    return Curves(knots_s=curves.knots_s, coefficients_m=turned), times


def measure_deviation(values: Array, best: float | Array, unit: str) -> Array:
    """Return how far values are from the best estimate; angles in deg by the shorter way around the circle."""
    return wrap_deg(values - best) if unit == "deg" else np.asarray(values - best)


def _measure_one(rule: MeasureRule, scene: Scene, times: Times) -> Array | Absent:
    refusals = _list_refusals(rule, scene.setting, times)
    return refusals[0] if refusals else rule.compute(scene)


def _list_refusals(rule: MeasureRule, setting: MeasureSetting, times: Times) -> list[Absent]:
    refusals = [] if setting.kind in rule.kinds else [PITCH_ONLY]
    if rule.needs_target and isinstance(setting.target, Absent):
        refusals.append(setting.target)
    refusals += [missing for name in rule.needs for missing in _list_missing(name, times)]
    timing = setting.timing
    permits: dict[Permit, Verdict] = {
        Permit.TIMES: timing.instants,
        Permit.SLOW_RATES: timing.trunk_rates,
        Permit.FAST_RATES: timing.arm_rates,
    }
    if rule.permit in permits:
        verdict = permits[rule.permit]
        refusals += [verdict] if isinstance(verdict, Absent) else []
    return refusals


def _list_missing(name: InstantName, times: Times) -> list[Absent]:
    missing = times.get(name, Absent(reason="It was not looked for."))
    if not isinstance(missing, Absent):
        return []
    return [Absent(reason=f"The {name} was not found. {missing.reason}", advice=missing.advice)]


def _combine(rule: MeasureRule, values: Array | Absent, draws: Mapping[Source, Array | Absent]) -> Obtained:
    if isinstance(values, Absent):
        return values
    best, unit = float(values[0]), rule.definition.unit
    if not np.isfinite(best):
        return _describe_undefined(rule)
    standards: dict[Source, float] = {}
    for source, drawn in draws.items():
        if isinstance(drawn, Absent):
            return drawn
        known = drawn[1:][np.isfinite(drawn[1:])]
        if len(known) < (1.0 - MOST_LOST_SHARE) * (len(drawn) - 1):
            return Absent(
                reason=f"The {rule.definition.words} is lost in too many of the motions that fit the pictures as well.",
                advice="Film closer, brighter and with a second phone.",
            )
        deviation = measure_deviation(known, best, unit)
        standards[source] = float(np.sqrt(np.mean(deviation**2))) if len(known) else 0.0
    return build_uncertain(best, unit, standards)


def _describe_undefined(rule: MeasureRule) -> Absent:
    key = rule.definition.key
    if "rotation" in key:
        return Absent(reason="The elbow is too straight, or the arm too close along the trunk, to define the rotation.")
    return Absent(reason=f"This throw shows no {rule.definition.words} between its instants.")


def measure_best(best: Draws, setting: MeasureSetting, key: str) -> Array | Absent:
    """Return one measure (s,) of every draw; raises `KeyError` where there is no such measure."""
    return measure_curves(*best, setting, (get_rule(key),))[key]
