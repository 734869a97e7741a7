"""Measures of timing: phases, and the order and gaps of the peaks of turning."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.instants.types import InstantName
from elbowroom.core.measures.rates import find_elbow_peak, find_pelvis_peak, find_shoulder_peak, find_trunk_peak
from elbowroom.core.measures.rules import A1, BR, FC, LB, LIFT, OWN, MeasureRule, Permit
from elbowroom.core.measures.scene import Scene
from elbowroom.core.measures.types import MeasureDefinition

Array = NDArray[np.float64]
TimeFunction = Callable[[Scene], Array]


def measure_share(scene: Scene, times_s: Array) -> Array:
    """Return times (s,) as shares of the phase from foot contact (0 %) to release (100 %)."""
    contact, release = scene.times_s[FC], scene.times_s[BR]
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(100.0 * (times_s - contact) / (release - contact))


def _build_phase_rule(start: InstantName, end: InstantName, source: str) -> MeasureRule:
    key = f"time_from_{start.value}_to_{end.value}".replace(" ", "_")
    definition = MeasureDefinition(
        key=key,
        words=f"time from {start.value} to {end.value}",
        unit="s",
        definition=f"Time from {start.value} to {end.value}.",
        sign="Positive where they come in the usual order.",
        source=source,
    )
    return MeasureRule(
        definition=definition,
        needs=(start, end),
        compute=lambda scene: scene.times_s[end] - scene.times_s[start],
        permit=Permit.TIMES,
    )


def _build_peak_rule(part: str, find_peak: TimeFunction, permit: Permit) -> MeasureRule:
    definition = MeasureDefinition(
        key=f"{part.replace(' ', '_')}_peak_share",
        words=f"peak of {part} in the phase",
        unit="%",
        definition=f"When {part} is fastest, as a share of the time from foot contact (0) to release (100).",
        sign="0 at foot contact, 100 at release, - before contact.",
        source=OWN,
    )
    return MeasureRule(
        definition=definition,
        needs=(FC, BR),
        compute=lambda scene: measure_share(scene, find_peak(scene)),
        permit=permit,
        is_over_phase=True,
    )


def _build_gap_rule(parts: tuple[str, str], find: tuple[TimeFunction, TimeFunction], permit: Permit) -> MeasureRule:
    first, second = parts
    definition = MeasureDefinition(
        key=f"gap_from_{first}_to_{second}".replace(" ", "_"),
        words=f"gap from the peak of {first} to that of {second}",
        unit="s",
        definition=f"Time from the fastest {first} to the fastest {second}.",
        sign=f"+ {first} first, which is the usual order.",
        source=OWN,
    )
    return MeasureRule(
        definition=definition,
        needs=(FC, BR),
        compute=lambda scene: find[1](scene) - find[0](scene),
        permit=permit,
        is_over_phase=True,
    )


LAYBACK_SHARE = MeasureDefinition(
    key="layback_share",
    words="layback in the phase",
    unit="%",
    definition="When layback comes, as a share of the time from foot contact (0) to release (100).",
    sign="0 at foot contact, 100 at release.",
    source=OWN,
)

PELVIS, TRUNK, ELBOW, SHOULDER = "pelvis turning", "trunk turning", "elbow extension", "internal rotation"
SLOW, FAST = Permit.SLOW_RATES, Permit.FAST_RATES

TIMING_MEASURES: tuple[MeasureRule, ...] = (
    _build_phase_rule(LIFT, FC, A1),
    _build_phase_rule(FC, BR, A1),
    _build_phase_rule(FC, LB, OWN),
    _build_phase_rule(LB, BR, OWN),
    MeasureRule(
        definition=LAYBACK_SHARE,
        needs=(FC, LB, BR),
        compute=lambda scene: measure_share(scene, scene.times_s[LB]),
        permit=Permit.TIMES,
    ),
    _build_peak_rule(PELVIS, find_pelvis_peak, SLOW),
    _build_peak_rule(TRUNK, find_trunk_peak, SLOW),
    _build_peak_rule(ELBOW, find_elbow_peak, FAST),
    _build_peak_rule(SHOULDER, find_shoulder_peak, FAST),
    _build_gap_rule((PELVIS, TRUNK), (find_pelvis_peak, find_trunk_peak), SLOW),
    _build_gap_rule((TRUNK, ELBOW), (find_trunk_peak, find_elbow_peak), FAST),
    _build_gap_rule((ELBOW, SHOULDER), (find_elbow_peak, find_shoulder_peak), FAST),
)
"""Rules of timing."""
