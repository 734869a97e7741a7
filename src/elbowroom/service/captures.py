"""Use case: motion that another laboratory recorded becomes a screening report by the same rules."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.chain.bearing import join_loads
from elbowroom.core.chain.captured import RecordedThrow, RecordingErrors, measure_recorded
from elbowroom.core.chain.judging import (
    JudgeTables,
    choose_shown_bands,
    draw_visit_curves,
    draw_visit_motions,
    judge_visit,
    list_missing,
    order_visit,
)
from elbowroom.core.chain.types import ChainSetting, MeasuredVisit
from elbowroom.core.findings.report import MadeWith, MethodPart, ScreeningReport, SetUpCard, ThrowCard
from elbowroom.core.instants.types import Instants
from elbowroom.core.landmarks.models import LandmarkTables
from elbowroom.core.landmarks.names import JOINTS, Joint
from elbowroom.core.loads.types import LoadTables
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Source
from elbowroom.core.reconstruction.types import BodyPriors
from elbowroom.errors import ScreeningError, VisitError
from elbowroom.service.capture_types import Axis, CapturePlan, RecordedPoints

SEED = 20
"""Seed of the draws: the same recordings give the same numbers."""
NO_CLOCK = Absent(reason="A recording has one clock.")
DIRECTIONS = {Axis.PLUS_X: (1, 0, 0), Axis.PLUS_Y: (0, 1, 0), Axis.PLUS_Z: (0, 0, 1)}
DIRECTIONS |= {
    opposite: (-x, -y, -z)
    for opposite, (x, y, z) in zip((Axis.MINUS_X, Axis.MINUS_Y, Axis.MINUS_Z), DIRECTIONS.values(), strict=True)
}
"""Unit vector of each axis in the frame of the file."""


@dataclass(frozen=True, kw_only=True)
class CaptureTools:
    """Everything from outside that judging a recording needs."""

    read_points: Callable[[Path], RecordedPoints]
    """Reads a recording; raises `VisitError`."""
    digest_file: Callable[[Path], str]
    """SHA-256 of a file, in hexadecimal."""
    landmark_tables: LandmarkTables
    """Not used by a recording, but part of what the chain is told."""
    judge_tables: JudgeTables
    """Tolerances, bands and decision rule."""
    load_tables: LoadTables
    """Body segments, balls and published loads."""
    method: tuple[MethodPart, ...]
    """The method in words, as for clips; parts that no recording has are left out."""
    made_with: tuple[MadeWith, ...]
    """Versions and digests of package and tables."""


def judge_capture(plan: CapturePlan, tools: CaptureTools) -> ScreeningReport:
    """Return the report of recorded throws; raises `VisitError` or `ScreeningError` with what to do."""
    throws = tuple(build_recorded_throw(plan, tools.read_points(path), path.name) for path in plan.files)
    setting = ChainSetting(
        athlete=plan.athlete,
        tables=tools.landmark_tables,
        priors=BodyPriors(bones=(), ground_height_m=0.0),
        target_m=(0.0, 0.0, 0.0),
        load_tables=tools.load_tables,
    )
    errors = RecordingErrors(
        marker_standard_m=plan.marker_standard_m,
        joint_standard_m=plan.joint_standard_m,
        target_standard_rad=float(np.radians(plan.target_standard_deg)),
    )
    visit = measure_recorded(throws, errors, setting, np.random.default_rng(SEED))
    if not visit.throws:
        reasons = " ".join(f"{failed.absent.reason} {failed.absent.advice}".strip() for failed in visit.failed)
        raise ScreeningError(f"No throw could be measured: {reasons}")
    check_target(visit)
    return build_capture_report(plan, visit, tools)


def check_target(visit: MeasuredVisit) -> None:
    """Raise `VisitError` where the athlete strides away from the target, which means that the direction is wrong."""
    strides = [throw.measures.values["stride_length"] for throw in visit.throws]
    if any(not isinstance(stride, Absent) and stride.interval[1] < 0.0 for stride in strides):
        raise VisitError(
            "The athlete strides away from the target: turn the direction of `target` in the capture file."
        )


def build_recorded_throw(plan: CapturePlan, points: RecordedPoints, name: str) -> RecordedThrow:
    """Return joint centres in a field frame; raises `VisitError`, naming the labels that a recording lacks."""
    missing = sorted({label for labels in plan.markers.values() for label in labels} - set(points.labels))
    if missing:
        known = ", ".join(points.labels[:30])
        raise VisitError(f"{name} has no point {', '.join(missing)}: it names {known}; correct [joints].")
    joints = np.full((len(points.times_s), JOINTS, 3), np.nan)
    turned = points.places_m @ find_turn(plan.target, plan.up).T
    for joint, labels in plan.markers.items():
        joints[:, joint] = turned[:, [points.labels.index(label) for label in labels]].mean(axis=1)
    for joint, stand_in in plan.stand_ins.items():
        joints[:, joint] = joints[:, stand_in.joint] - [0.0, 0.0, stand_in.down_m]
    return RecordedThrow(times_s=points.times_s, joints_m=joints)


def find_turn(target: Axis, up: Axis) -> NDArray[np.float64]:
    """Return the rotation (3, 3) from the frame of the file to the field frame: rows x to the target, y, z up."""
    x, z = (np.array(DIRECTIONS[axis], dtype=np.float64) for axis in (target, up))
    return np.stack([x, np.cross(z, x), z])


def build_capture_report(plan: CapturePlan, visit: MeasuredVisit, tools: CaptureTools) -> ScreeningReport:
    """Return the whole report of recorded throws; there are no clips and no pictures in it."""
    findings = judge_visit(visit, plan.athlete, tools.judge_tables)
    inputs = [
        MadeWith(name=f"recording {path.name}", version=f"sha256:{tools.digest_file(path)}") for path in plan.files
    ]
    return ScreeningReport(
        athlete=plan.athlete,
        made_on=plan.made_on,
        set_up=build_lab_card(plan),
        throws=tuple(build_lab_throw(throw.number, throw.instants, plan) for throw in visit.throws),
        findings=findings,
        priorities=order_visit(findings),
        curves=draw_visit_curves(visit),
        pictures=(),
        missing=list_missing(visit),
        bands=choose_shown_bands(tools.judge_tables.bands, plan.athlete.age_years),
        rule=tools.judge_tables.rule,
        method=list_lab_method(plan, tools.method),
        made_with=(*tools.made_with, *inputs),
        loads=join_loads(visit.throws, plan.athlete, tools.load_tables),
        motions=draw_visit_motions(visit, plan.athlete.hand),
        cautions=list_lab_cautions(plan),
    )


def build_lab_card(plan: CapturePlan) -> SetUpCard:
    """Return what is known of scale, direction and clock of a recording."""
    return SetUpCard(
        how="recorded by another laboratory, whose scale and vertical are taken as known",
        clips=(),
        scale_share=build_uncertain(0.0, "%", {Source.SCALE: 0.0}),
        target_error=build_uncertain(0.0, "deg", {Source.TARGET: plan.target_standard_deg}),
        clock_error=NO_CLOCK,
    )


def build_lab_throw(number: int, instants: Instants, plan: CapturePlan) -> ThrowCard:
    """Return the card of one recorded throw."""
    note = f"Recorded in {plan.files[number - 1].name}."
    return ThrowCard(number=number, clips=(), instants=Instants(times=dict(instants.times)), notes=(note,))


def list_lab_method(plan: CapturePlan, parts: tuple[MethodPart, ...]) -> tuple[MethodPart, ...]:
    """Return the method, with the recording in place of clips, landmarks, cameras and reconstruction."""
    kept = tuple(part for part in parts if part.title in ("Instants and measures", "Loads", "Findings"))
    text = (
        "Joint centres come from a laboratory's recording. Cubic curves with a knot every 12.5 ms are laid through "
        f"them. Stated by the laboratory: markers to {1000 * plan.marker_standard_m:g} mm from picture to picture, "
        f"joint centres to {1000 * plan.joint_standard_m:g} mm on each axis (one standard uncertainty each)."
    )
    return (MethodPart(title="Recording", text=text), *kept)


def list_lab_cautions(plan: CapturePlan) -> tuple[str, ...]:
    """Return what must be read with the numbers of a recording."""
    stood_in = ", ".join(joint.name.lower().replace("_", " ") for joint in Joint if joint in plan.stand_ins)
    said = (f"The recording lacks {stood_in}; places below other joints stand in for them.",) if stood_in else ()
    return ("The numbers rest on the laboratory's own markers and errors, which were not checked here.", *said)
