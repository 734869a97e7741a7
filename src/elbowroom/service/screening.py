"""The main use case: clips of a few throws become a screening report."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.core.chain.bearing import join_loads
from elbowroom.core.chain.judging import (
    JudgeTables,
    choose_shown_bands,
    draw_visit_curves,
    draw_visit_motions,
    judge_visit,
    list_missing,
    order_visit,
)
from elbowroom.core.chain.sharing import WatchedClip, share_throws
from elbowroom.core.chain.types import ChainSetting, ClipThrows, MeasuredVisit
from elbowroom.core.chain.visit import measure_visit
from elbowroom.core.chain.workings import Workings, build_workings
from elbowroom.core.clips.timing import judge_timing
from elbowroom.core.clips.types import Clip, ClipTimes, Sound
from elbowroom.core.findings.report import MadeWith, MethodPart, ScreeningReport, ThrowingHand
from elbowroom.core.landmarks.models import LandmarkTables
from elbowroom.core.landmarks.names import Side
from elbowroom.core.loads.types import LoadTables
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.priors import build_priors
from elbowroom.core.reconstruction.types import BoneShare
from elbowroom.core.throws.types import SeenThrow
from elbowroom.errors import ScreeningError
from elbowroom.service.cards import build_set_up_card, build_throw_cards
from elbowroom.service.from_thrower import (
    NO_GROUND,
    ThrowerVisit,
    assume_cameras,
    find_from_thrower,
    is_all_known,
    select_known,
)
from elbowroom.service.landmarking import Progress, look_closely, pick_watched, watch_clip
from elbowroom.service.pictures import take_key_pictures
from elbowroom.service.ports import CameraFinder, LandmarkDetector, OpenClip, PictureDrawer
from elbowroom.service.visit_plan import ClipPlan, VisitPlan

CATCH_HEIGHT_M = 0.7
"""Usual height at which the ball is caught; the sound of the glove comes from there (common practice, no source)."""
SEED = 20
"""Seed of the draws: the same clips give the same numbers."""
SOUND_MARGIN_S = 4.0
"""Sound is read this long before and after the throws."""


@dataclass(frozen=True, kw_only=True)
class ScreeningTools:
    """Everything from outside that a screening needs."""

    open_clip: Callable[[Path, float | None], OpenClip]
    """Opens a clip, given the capture rate that the user states or nothing; raises `ClipError`."""
    digest_file: Callable[[Path], str]
    """SHA-256 of a file, in hexadecimal."""
    detector: LandmarkDetector
    """Finds people and landmarks."""
    find_cameras: CameraFinder
    """Finds the cameras of the visit."""
    drawer: PictureDrawer
    """Draws the skeleton on key pictures and encodes them."""
    landmark_tables: LandmarkTables
    """Errors of the landmark model."""
    bone_shares: tuple[BoneShare, ...]
    """Usual bone lengths."""
    judge_tables: JudgeTables
    """Tolerances, bands and decision rule."""
    load_tables: LoadTables
    """Body segments, balls and published loads."""
    method: tuple[MethodPart, ...]
    """The method in words."""
    made_with: tuple[MadeWith, ...]
    """Versions and digests of package, tables and weights."""


@dataclass(frozen=True, kw_only=True)
class OpenedClip:
    """One clip of the visit with its throws."""

    plan: ClipPlan
    """What the visit file says of it."""
    source: OpenClip
    """The opened clip, repeats marked within the throws."""
    throws: tuple[SeenThrow, ...]
    """Its throws with landmarks."""


@dataclass(frozen=True, kw_only=True)
class Screened:
    """What a screening gives."""

    report: ScreeningReport
    """The report."""
    workings: Workings
    """What a correction needs, without the clips and the landmark model."""


def screen_visit(plan: VisitPlan, tools: ScreeningTools, report: Progress) -> ScreeningReport:
    """Return the report of a visit; raises a subclass of `ElbowroomError` with one sentence where it cannot be made."""
    return screen_with_workings(plan, tools, report).report


def screen_with_workings(plan: VisitPlan, tools: ScreeningTools, report: Progress) -> Screened:
    """Return the report of a visit and its workings.

    Raises a subclass of `ElbowroomError` with one sentence where they cannot be made.
    """
    sources = [tools.open_clip(clip.path, clip.stated_rate_hz) for clip in plan.clips]
    bare = [source.clip for source in sources]
    ground = find_ground(plan, bare, tools)
    set_up = ground if isinstance(ground, FieldSetUp) and is_all_known(plan) else assume_cameras(plan, bare)
    opened = open_throws(plan, [(source, tools.detector) for source in sources], report)
    clips = [gather_clip(clip, set_up, number) for number, clip in enumerate(opened)]
    setting, generator = build_setting(plan, set_up, tools), np.random.default_rng(SEED)
    if not is_all_known(plan):
        visit_seen = ThrowerVisit(plan=plan, clips=tuple(clips), setting=setting, ground=ground)
        set_up = find_from_thrower(visit_seen, generator)
        clips = [replace(clip, camera=camera) for clip, camera in zip(clips, set_up.cameras, strict=True)]
    visit = measure_visit(
        clips, set_up, setting, generator, lambda done, total: report("measuring throws", done, total)
    )
    if not visit.throws:
        reasons = " ".join(f"{failed.absent.reason} {failed.absent.advice}".strip() for failed in visit.failed)
        raise ScreeningError(f"No throw could be measured: {reasons}")
    made = build_report(plan, set_up, opened, visit, tools)
    return Screened(report=made, workings=build_workings(clips, set_up, setting, visit, made))


def find_ground(plan: VisitPlan, clips: Sequence[Clip], tools: ScreeningTools) -> FieldSetUp | Absent:
    """Return the cameras of the clips that have a board or marks; `Absent` where none has."""
    known = select_known(plan)
    if not known.clips:
        return NO_GROUND
    return tools.find_cameras.find_set_up(
        known, [clip for item, clip in zip(plan.clips, clips, strict=True) if item in known.clips]
    )


def open_throws(
    plan: VisitPlan, files: Sequence[tuple[OpenClip, LandmarkDetector]], report: Progress
) -> list[OpenedClip]:
    """Return the clips of the plan with their throws and landmarks; `files` = each opened clip with its detector.

    Raises `ScreeningError` where the clips show no throw of the athlete.
    """
    hand = Side.RIGHT if plan.athlete.hand is ThrowingHand.RIGHT else Side.LEFT
    throwers = [
        pick_watched(source, watch_clip(source, detector, report), clip.thrower)
        for clip, (source, detector) in zip(plan.clips, files, strict=True)
    ]
    watched = [
        WatchedClip(
            view=clip.view, times_s=source.times.times_s, candidate=thrower.candidate, sound=source.read_sound()
        )
        for clip, (source, _), thrower in zip(plan.clips, files, throwers, strict=True)
    ]
    shared = share_throws(watched, hand)
    if isinstance(shared, Absent):
        raise ScreeningError(f"{shared.reason} {shared.advice}".strip())
    return [
        OpenedClip(plan=clip, source=source, throws=look_closely(source, thrower, windows, detector, report))
        for clip, (source, detector), thrower, windows in zip(plan.clips, files, throwers, shared, strict=True)
    ]


def find_sound(clip: OpenedClip) -> Sound | Absent:
    """Return the sound about the throws of a clip, or why there is none."""
    if not clip.throws:
        return Absent(reason="The clip shows no throw.")
    first = min(seen.window.start_s for seen in clip.throws)
    last = max(seen.window.end_s for seen in clip.throws)
    return clip.source.read_sound(first - SOUND_MARGIN_S, last + SOUND_MARGIN_S)


def gather_clip(clip: OpenedClip, set_up: FieldSetUp, number: int) -> ClipThrows:
    """Return what the chain takes in for one clip."""
    source = clip.source
    return ClipThrows(
        camera=replace(set_up.cameras[number], row_time_s=clip.plan.row_time_s or set_up.cameras[number].row_time_s),
        view=clip.plan.view,
        times=check_repeats(source, clip.throws),
        throws=clip.throws,
        sound=find_sound(clip),
    )


def check_repeats(source: OpenClip, throws: Sequence[SeenThrow]) -> ClipTimes:
    """Return the clip's times with repeats marked within the throws, and the timing judged by these pictures alone."""
    times = source.times
    repeated, inside = times.repeated.copy(), np.zeros(len(times.times_s), dtype=bool)
    for seen in throws:
        span = np.flatnonzero((times.times_s >= seen.window.start_s) & (times.times_s <= seen.window.end_s))
        repeated |= source.find_repeats(int(span[0]), int(span[-1])).repeated
        inside[span] = True
    timing = judge_timing(times.times_s[inside], repeated[inside], is_checked=True)
    return replace(times, repeated=repeated, is_checked=True, timing=timing)


def build_setting(plan: VisitPlan, set_up: FieldSetUp, tools: ScreeningTools) -> ChainSetting:
    """Return what the chain needs besides clips and cameras."""
    return ChainSetting(
        athlete=plan.athlete,
        tables=tools.landmark_tables,
        priors=build_priors(tools.bone_shares, plan.athlete.height_m, set_up.ground_height_m),
        target_m=(plan.sizes.target_distance_m, 0.0, CATCH_HEIGHT_M),
        load_tables=tools.load_tables,
    )


def build_report(
    plan: VisitPlan, set_up: FieldSetUp, opened: Sequence[OpenedClip], visit: MeasuredVisit, tools: ScreeningTools
) -> ScreeningReport:
    """Return the whole report of a measured visit."""
    findings = judge_visit(visit, plan.athlete, tools.judge_tables)
    files = [(clip.plan, clip.source, tools.digest_file(clip.plan.path)) for clip in opened]
    views = [(clip.plan.view, clip.source) for clip in opened]
    return ScreeningReport(
        athlete=plan.athlete,
        made_on=plan.made_on,
        set_up=build_set_up_card(set_up, files, visit),
        throws=build_throw_cards(visit, [clip.source.clip.name for clip in opened]),
        findings=findings,
        priorities=order_visit(findings),
        curves=draw_visit_curves(visit),
        pictures=take_key_pictures(visit, set_up, views, plan.athlete.hand, tools.drawer),
        missing=list_missing(visit),
        bands=choose_shown_bands(tools.judge_tables.bands, plan.athlete.age_years),
        rule=tools.judge_tables.rule,
        method=tools.method,
        made_with=tools.made_with,
        loads=join_loads(visit.throws, plan.athlete, tools.load_tables),
        motions=draw_visit_motions(visit, plan.athlete.hand),
    )
