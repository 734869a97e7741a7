"""How a measure is laid down: its definition, what it needs, and the function that gives it for every draw."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.instants.types import InstantName
from elbowroom.core.measures.scene import Path, Scene
from elbowroom.core.measures.types import MeasureDefinition, ThrowKind
from elbowroom.core.quantities.types import Absent

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
PoseFunction = Callable[[Array], Array]

LIFT = InstantName.LIFT
APART = InstantName.HANDS_APART
FC = InstantName.FOOT_CONTACT
LB = InstantName.LAYBACK
BR = InstantName.RELEASE
FINISH = InstantName.FINISH

EVERY_KIND = tuple(ThrowKind)
PITCHES = (ThrowKind.MOUND_PITCH, ThrowKind.FLAT_PITCH)
"""Kinds in which the pivot foot stays where it stood at the lift; measures from that place hold for these only."""

CONVENTION = "Pitching-research convention (Dillman 1993, Fleisig 1995-1999), as noted in the check values from memory."
OWN = "Definition of this project."
A1 = "Defined as in Kageyama et al. 2015, J Sports Sci Med 14:246-255."


class Permit(Enum):
    """What the timing of the pictures has to carry for a measure."""

    POSITIONS = "positions"
    TIMES = "times"
    SLOW_RATES = "rates of pelvis and trunk"
    FAST_RATES = "rates of the arm"


@dataclass(frozen=True, kw_only=True)
class MeasureRule:
    """One measure: what it means, what it needs, how it is computed."""

    definition: MeasureDefinition
    """What the measure means."""
    needs: tuple[InstantName, ...]
    """Instants without which it cannot be measured."""
    compute: Callable[[Scene], Array | Absent]
    """Gives the value of each draw, (s,), in the unit of the definition; not-a-number where a draw has none."""
    permit: Permit = Permit.POSITIONS
    """What the timing has to carry."""
    kinds: tuple[ThrowKind, ...] = EVERY_KIND
    """Kinds of throw that it holds for."""
    needs_target: bool = False
    """Whether the direction to the target has to be known."""
    is_over_phase: bool = False
    """Whether it looks at the whole motion between its first and last instant, not at the instants alone."""


def build_key(stem: str, instant: InstantName) -> str:
    """Return the key of a measure at an instant."""
    return f"{stem}_at_{instant.value.replace(' ', '_')}"


def build_rules_at(
    base: MeasureDefinition,
    instants: tuple[InstantName, ...],
    measure_pose: PoseFunction,
    *,
    needs_target: bool = False,
    headline: tuple[InstantName, ...] = (),
) -> tuple[MeasureRule, ...]:
    """Return one rule per instant for a measure of the pose, (s, 19, 3) -> (s,); `base` holds the stems."""
    return tuple(
        MeasureRule(
            definition=replace(
                base,
                key=build_key(base.key, instant),
                words=f"{base.words} at {instant.value}",
                headline=instant in headline,
            ),
            needs=(instant,),
            compute=lambda scene, instant=instant: measure_pose(scene.find_pose(instant)),  # type: ignore[misc]
            needs_target=needs_target,
        )
        for instant in instants
    )


def build_extreme_rule(
    base: MeasureDefinition, word: str, phase: tuple[InstantName, InstantName], measure_pose: PoseFunction
) -> MeasureRule:
    """Return the rule of the `lowest` or `largest` value (`word`) of a measure of the pose over a phase, ends included.

    The path that is looked at runs from foot contact to release, so both are needed whatever the phase.
    """
    sign = -1.0 if word == "lowest" else 1.0
    span = f" The {word} value between {phase[0].value} and {phase[1].value}."

    def compute(scene: Scene) -> Array:
        start_s, end_s = (scene.times_s[name] for name in phase)
        inside = find_largest(sign * scene.find_series(measure_pose), scene.path.find_between(start_s, end_s))
        ends = [sign * measure_pose(scene.find_pose(name)) for name in phase]
        return np.asarray(sign * np.fmax(inside, np.fmax(*ends)))

    definition = replace(
        base, key=f"{word}_{base.key}", words=f"{word} {base.words}", definition=base.definition + span
    )
    needs = tuple(dict.fromkeys((*phase, BR)))
    return MeasureRule(definition=definition, needs=needs, compute=compute, is_over_phase=True)


def find_largest(rows: Array, is_looked_at: Mask) -> Array:
    """Return each row's largest known value where it is looked at, (s, n) -> (s,); not-a-number where there is none."""
    largest = np.where(is_looked_at & np.isfinite(rows), rows, -np.inf).max(axis=1)
    return np.where(np.isfinite(largest), largest, np.nan)


def find_largest_times(path: Path, rows: Array, is_looked_at: Mask) -> Array:
    """Return when each row is largest where it is looked at, (s,) s, between the samples by a parabola.

    Not-a-number where it is largest at the first or last time looked at: the peak then lies elsewhere.
    """
    masked = np.where(is_looked_at & np.isfinite(rows), rows, -np.inf)
    best = np.clip(masked.argmax(axis=1), 1, rows.shape[1] - 2)
    each = np.arange(len(rows))
    before, at, after = masked[each, best - 1], masked[each, best], masked[each, best + 1]
    is_peak = np.isfinite(before) & np.isfinite(after) & (at >= before) & (at >= after)
    with np.errstate(invalid="ignore", divide="ignore"):
        shift = 0.5 * (before - after) / (before - 2.0 * at + after)
    step_s = path.times_s[1] - path.times_s[0]
    return np.where(is_peak, path.times_s[best] + np.nan_to_num(shift) * step_s, np.nan)


def measure_rate(path: Path, angles_deg: Array) -> Array:
    """Return the rate of change of angles along the path, (s, n) deg -> deg/s, by central differences."""
    whole = np.unwrap(angles_deg, period=360.0, axis=1)
    return np.asarray(np.gradient(whole, path.times_s, axis=1))
