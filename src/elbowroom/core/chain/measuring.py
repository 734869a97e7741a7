"""From a motion to instants and measures with a budget: one set of draws a source of uncertainty."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import inf

import numpy as np

from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.core.chain.bearing import measure_throw_loads
from elbowroom.core.chain.types import ChainSetting
from elbowroom.core.clips.types import TimingVerdict
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.instants.find import NOTHING_HELD, Times, draw_times, find_instants
from elbowroom.core.instants.types import InstantName, Instants
from elbowroom.core.loads.types import ThrowLoads
from elbowroom.core.measures.measure import measure_throw
from elbowroom.core.measures.types import MeasureSetting, ThrowMeasures
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Source, Uncertain
from elbowroom.core.reconstruction.draws import draw_curves, mirror_curves, scale_curves, turn_curves
from elbowroom.core.reconstruction.types import Curves, Motion

DRAWN_SOURCES = (Source.LANDMARKS, Source.JOINT_OFFSET, Source.OUT_OF_PLANE, Source.CAMERAS, Source.CLOCKS)
"""Sources whose draws come from the motion's own covariance and modes."""


LARGEST_OUT_OF_PLANE = {"deg": 6.0, "m": 0.04, "1": 0.08, "%": 4.0, "deg/s": 120.0, "m/s": 1.0}
"""Largest standard uncertainty from unknown depth, by unit, that one view alone may give a measure with; chosen by this
project: larger ones come with flips of a limb, seen on the captured pitch and on rendered throws."""
ONE_VIEW = Absent(
    reason="One view alone does not show it: its unknown distance from the camera would decide the number.",
    advice="Put a second phone about a quarter turn away from the first.",
)


def draw_sources(
    motion: Motion, set_up: FieldSetUp, setting: ChainSetting, generator: np.random.Generator
) -> dict[Source, Curves]:
    """Return draws of the motion for each source of uncertainty, mirrored for a left-hander."""
    count = setting.draws
    drawn = {source: draw_curves(motion, source, count, generator) for source in DRAWN_SOURCES}
    tilt = set_up.upright_standard_rad
    drawn[Source.SCALE] = scale_curves(motion, set_up.scale_standard, count, generator)
    turns = {Source.TARGET: [0.0, 0.0, set_up.target_standard_rad], Source.UPRIGHT: [tilt, tilt, 0.0]}
    for source, angles in turns.items():
        drawn[source] = turn_curves(motion, np.array(angles), count, generator)
    if setting.athlete.hand is ThrowingHand.LEFT:
        return {source: mirror_curves(curves) for source, curves in drawn.items()}
    return drawn


def combine_draws(drawn: dict[Source, Curves]) -> Curves:
    """Return draws in which all sources vary at once: the best curves with every source's deviation added."""
    curves = list(drawn.values())
    best = curves[0].coefficients_m[:1]
    deviations = sum(item.coefficients_m - best for item in curves)
    return replace(curves[0], coefficients_m=best + deviations)


def measure_motion(
    drawn: dict[Source, Curves],
    set_up: FieldSetUp,
    setting: ChainSetting,
    pictures: tuple[TimingVerdict, float],
    generator: np.random.Generator,
    held: Mapping[InstantName, float] = NOTHING_HELD,
) -> tuple[Instants, Times, ThrowMeasures, ThrowLoads | Absent]:
    """Return the instants, their times in the draws of landmark noise, all measures of one throw, and its loads.

    `pictures` = what their timing can carry, and their rate in Hz; `held` = instants that a person placed, seconds.
    """
    timing, rate_hz = pictures
    noisy = drawn[Source.LANDMARKS]
    instants, times = find_instants(noisy, rate_hz, held)
    lost = {name: time for name, time in instants.times.items() if isinstance(time, Absent)}
    count = len(noisy.coefficients_m)
    still_times = {name: np.repeat(values[:1], count) for name, values in times.items()}
    draws = {source: (curves, lost | still_times) for source, curves in drawn.items()}
    draws[Source.LANDMARKS] = (noisy, lost | times)
    still = np.broadcast_to(noisy.coefficients_m[:1], noisy.coefficients_m.shape)
    drawn_times = draw_times(times, generator, count, rate_hz, held)
    draws[Source.TIMING] = (replace(noisy, coefficients_m=still), lost | drawn_times)
    measures = measure_throw(draws[Source.LANDMARKS], draws, build_setting(set_up, setting, timing))
    # A generator of their own, so that the measures stay the same with and without loads.
    loads = measure_throw_loads(draws, setting, timing, generator.spawn(1)[0])
    return instants, times, measures, loads


def refuse_out_of_plane(measures: ThrowMeasures) -> ThrowMeasures:
    """Return the measures of one view alone, those that its unknown depth reaches replaced by the reason.

    Depth guessed from one view may be wrong by a whole flip of a limb, which no interval about a best value covers.
    """
    return ThrowMeasures(
        values={
            key: ONE_VIEW if isinstance(value, Uncertain) and is_out_of_plane(value) else value
            for key, value in measures.values.items()
        }
    )


def is_out_of_plane(value: Uncertain) -> bool:
    """Whether the unknown depth makes more of a measure's uncertainty than may be shown."""
    limit = LARGEST_OUT_OF_PLANE.get(value.unit, inf)
    return any(part.source is Source.OUT_OF_PLANE and part.standard > limit for part in value.parts)


def build_setting(set_up: FieldSetUp, setting: ChainSetting, timing: TimingVerdict) -> MeasureSetting:
    """Return what the measures need besides the motion."""
    standard = float(np.degrees(set_up.target_standard_rad))
    return MeasureSetting(
        height_m=setting.athlete.height_m,
        kind=setting.athlete.kind,
        timing=timing,
        target=build_uncertain(0.0, "deg", {Source.TARGET: standard}),
    )
