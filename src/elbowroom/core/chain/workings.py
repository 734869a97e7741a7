"""What a screening leaves behind so that it can be corrected without the clips and without the landmark model."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.core.chain.judging import build_motion_track, draw_line, order_joints
from elbowroom.core.chain.types import (
    ChainSetting,
    ClipThrows,
    DrawSeed,
    FailedThrow,
    MeasuredThrow,
    MeasuredVisit,
    TrackedThrow,
)
from elbowroom.core.clocks.types import CheckedOffset
from elbowroom.core.findings.report import AthleteCard, CurveLine, MotionTrack, ScreeningReport, ThrowingHand
from elbowroom.core.instants.types import Instants
from elbowroom.core.landmarks.layout import select_pictures
from elbowroom.core.loads.types import ThrowLoads
from elbowroom.core.measures.series import SERIES
from elbowroom.core.measures.types import ThrowMeasures
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.types import Array, BodyPriors

NO_SOUND = Absent(reason="The workings keep no sound.")
"""Stands for the sound of clips, which nothing after the clocks needs."""


@dataclass(frozen=True, kw_only=True)
class KeptSolution:
    """Where the search of one throw ended."""

    base: Array
    """(k,) unknowns at which the last equations were set up."""
    unknowns: Array
    """(k,) unknowns at the optimum."""


@dataclass(frozen=True, kw_only=True)
class ThrowResult:
    """The numbers of one throw, without its draws."""

    number: int
    """Number of the throw in the visit, from 1."""
    instants: Instants
    """The instants."""
    measures: ThrowMeasures
    """All measures."""
    loads: ThrowLoads | Absent
    """What the arm bore, or why that is not known."""
    lines: tuple[tuple[CurveLine, ...], ...]
    """The throw's line in each curve over time, in the order of the curves; an inner tuple is empty where there is
    none."""
    motion: MotionTrack
    """Its joint centres over time."""
    residual_px: float
    """Robust root mean square residual of the landmarks, in pixels."""


@dataclass(frozen=True, kw_only=True)
class KeptThrow:
    """One throw with what is needed to measure it again."""

    number: int
    """Number of the throw in the visit, from 1."""
    members: tuple[TrackedThrow, ...]
    """Its joint tracks; the detector's landmarks are left out."""
    seed: DrawSeed
    """What its draws are made from."""
    solution: KeptSolution | Absent
    """Where its search ended, or why it was not measured."""
    result: ThrowResult | Absent
    """Its numbers, or why it has none."""


@dataclass(frozen=True, kw_only=True)
class Workings:
    """A screened visit with all that a correction needs."""

    clips: tuple[ClipThrows, ...]
    """The clips' cameras and picture times, without throws and sound."""
    set_up: FieldSetUp
    """The cameras of the visit."""
    athlete: AthleteCard
    """Who throws."""
    priors: BodyPriors
    """Usual bones for the athlete's height, and the ground."""
    target_m: tuple[float, float, float]
    """About where the ball arrives, in the field frame."""
    draws: int
    """Draws for each source of uncertainty."""
    clocks: tuple[CheckedOffset | Absent, ...]
    """(clips - 1) offset of every further clip against the first, or why it was not found."""
    throws: tuple[KeptThrow, ...]
    """All throws, also those that could not be measured, by number."""
    report: ScreeningReport
    """The report as the screening made it, before any correction."""


def build_workings(
    clips: Sequence[ClipThrows],
    set_up: FieldSetUp,
    setting: ChainSetting,
    visit: MeasuredVisit,
    report: ScreeningReport,
) -> Workings:
    """Return what is to be kept of a measured visit."""
    kept = [
        *(keep_measured(throw, setting.athlete.hand) for throw in visit.throws),
        *(keep_failed(throw) for throw in visit.failed),
    ]
    return Workings(
        clips=tuple(replace(clip, throws=(), sound=NO_SOUND) for clip in clips),
        set_up=set_up,
        athlete=setting.athlete,
        priors=setting.priors,
        target_m=setting.target_m,
        draws=setting.draws,
        clocks=visit.clocks,
        throws=tuple(sorted(kept, key=lambda throw: throw.number)),
        report=report,
    )


def keep_measured(throw: MeasuredThrow, hand: ThrowingHand) -> KeptThrow:
    """Return what is kept of a measured throw."""
    return KeptThrow(
        number=throw.number,
        members=tuple(remove_landmarks(member) for member in throw.tracked),
        seed=throw.seed,
        solution=KeptSolution(base=throw.motion.base, unknowns=throw.motion.unknowns),
        result=build_result(throw, hand),
    )


def keep_failed(throw: FailedThrow) -> KeptThrow:
    """Return what is kept of a throw that could not be measured."""
    members = tuple(remove_landmarks(member) for member in throw.tracked)
    return KeptThrow(number=throw.number, members=members, seed=throw.seed, solution=throw.absent, result=throw.absent)


def remove_landmarks(member: TrackedThrow) -> TrackedThrow:
    """Return a track without the landmarks that it was made from."""
    none = select_pictures(member.landmarks, np.zeros(0, dtype=np.int64))
    return replace(member, seen=replace(member.seen, landmarks=none), landmarks=none)


def build_result(throw: MeasuredThrow, hand: ThrowingHand) -> ThrowResult:
    """Return the numbers of a measured throw."""
    return ThrowResult(
        number=throw.number,
        instants=throw.instants,
        measures=throw.measures,
        loads=throw.loads,
        lines=tuple(draw_line(rule, throw) for rule in SERIES),
        motion=build_motion_track(throw, order_joints(hand)),
        residual_px=throw.motion.residual_px,
    )


def build_kept_setting(workings: Workings, setting: ChainSetting) -> ChainSetting:
    """Return the setting of the screening; tables are those of `setting`."""
    return replace(
        setting,
        athlete=workings.athlete,
        priors=workings.priors,
        target_m=workings.target_m,
        draws=workings.draws,
    )
