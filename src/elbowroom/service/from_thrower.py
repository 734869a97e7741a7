"""The cameras of a visit without board and marks: found after the landmarks, from the thrower."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from elbowroom.core.cameras.check import FlawKind, check_set_up
from elbowroom.core.cameras.hints import HINT_MARKS
from elbowroom.core.cameras.lens import assume_phone_lens
from elbowroom.core.cameras.pose import build_blank_camera
from elbowroom.core.cameras.types import LENS_PARAMETERS, Camera, ClipClock, FieldSetUp, Lens, LensEstimate
from elbowroom.core.chain.calibrating import calibrate_from_thrower
from elbowroom.core.chain.placing import ThrowerHints
from elbowroom.core.chain.types import ChainSetting, ClipThrows
from elbowroom.core.clips.types import Clip
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import SetUpError
from elbowroom.service.visit_plan import ClipPlan, VisitPlan

POSE_FLAWS = (FlawKind.THROWER_CUT_OFF, FlawKind.POSE_TOO_LOOSE)
"""Flaws that are not held against cameras known by the thrower: their looseness is in every interval."""


NO_GROUND = Absent(reason="No board and no marks.")
"""Where board and marks tell nothing of a camera."""


@dataclass(frozen=True, kw_only=True)
class ThrowerVisit:
    """What the cameras of a visit are found from."""

    plan: VisitPlan
    """The visit."""
    clips: tuple[ClipThrows, ...]
    """The clips with the throws, each with the blank camera of `assume_cameras`."""
    setting: ChainSetting
    """What the chain needs besides."""
    ground: FieldSetUp | Absent = NO_GROUND
    """The cameras of those clips that have a board or marks, in the order of the clips."""


def has_ground(clip: ClipPlan) -> bool:
    """Whether a board clip or a ground mark of known size ties a camera to the field."""
    return clip.board_path is not None or any(mark.name not in HINT_MARKS for mark in clip.marks)


def select_known(plan: VisitPlan) -> VisitPlan:
    """Return the visit with only those clips whose cameras board or marks tell."""
    return replace(plan, clips=tuple(clip for clip in plan.clips if has_ground(clip)))


def is_all_known(plan: VisitPlan) -> bool:
    """Whether board or marks tell all cameras."""
    return all(has_ground(clip) for clip in plan.clips)


def assume_cameras(plan: VisitPlan, clips: Sequence[Clip]) -> FieldSetUp:
    """Return a set-up whose cameras have the usual phone's lens and stand nowhere yet."""
    cameras = tuple(
        build_blank_camera(item.path.stem, assume_phone_lens(clip.width_px, clip.height_px), item.row_time_s)
        for item, clip in zip(plan.clips, clips, strict=True)
    )
    return FieldSetUp(cameras=cameras, scale_standard=1.0, target_standard_rad=np.pi, upright_standard_rad=np.pi)


def find_from_thrower(visit: ThrowerVisit, generator: np.random.Generator) -> FieldSetUp:
    """Return the cameras found from the thrower, with all that board, marks, target and tape tell of some of them.

    Raises SetUpError with the reason and what to do where they cannot be found or cannot measure.
    """
    order = order_clips(visit)
    hints, anchors = build_hints(visit, order), list_anchors(visit)
    clips = [replace_lens(visit.clips[number], anchors[number]) for number in order]
    found = calibrate_from_thrower(clips, visit.setting, hints, generator)
    if isinstance(found, Absent):
        raise SetUpError(f"{found.reason} {found.advice}".strip())
    set_up = reorder_clips(found, order)
    flaws = check_set_up(set_up.cameras, np.zeros(3), visit.plan.athlete.height_m)
    fatal = [flaw for flaw in flaws if flaw.is_fatal and flaw.kind not in POSE_FLAWS]
    if fatal:
        raise SetUpError(" ".join(f"{flaw.reason} {flaw.advice}" for flaw in fatal))
    return set_up


def list_anchors(visit: ThrowerVisit) -> list[Camera | Absent]:
    """Return the camera of every clip that board or marks tell."""
    if isinstance(visit.ground, Absent):
        return [visit.ground] * len(visit.clips)
    known = iter(visit.ground.cameras)
    return [next(known) if has_ground(clip) else NO_GROUND for clip in visit.plan.clips]


def order_clips(visit: ThrowerVisit) -> list[int]:
    """Return the numbers of the clips, those with a known camera first."""
    return sorted(range(len(visit.clips)), key=lambda number: not list_anchors(visit)[number])


def replace_lens(clip: ClipThrows, anchor: Camera | Absent) -> ClipThrows:
    """Return the clip with the lens of its known camera, if it has one."""
    return replace(clip, camera=replace(clip.camera, lens=anchor.lens)) if isinstance(anchor, Camera) else clip


def build_hints(visit: ThrowerVisit, order: Sequence[int]) -> ThrowerHints:
    """Return what is known besides the thrower, clips in that order."""
    anchors = list_anchors(visit)
    return ThrowerHints(
        lenses=tuple(estimate_lens(visit.clips[number].camera.lens, anchors[number]) for number in order),
        marks=tuple({mark.name: mark.pixel for mark in visit.plan.clips[number].marks} for number in order),
        anchors=tuple(anchors[number] for number in order),
        tape_m=visit.plan.tape_m,
        ground=visit.ground,
    )


def estimate_lens(lens: Lens, anchor: Camera | Absent) -> LensEstimate:
    """Return what is known of a lens: by board or marks, else that of a usual phone."""
    if isinstance(anchor, Absent):
        return assume_phone_lens(lens.width_px, lens.height_px)
    own = anchor.covariance[:LENS_PARAMETERS, :LENS_PARAMETERS]
    return LensEstimate(lens=anchor.lens, covariance=own, residual_px=anchor.residual_px, pictures=1)


def reorder_clips(found: FieldSetUp, order: Sequence[int]) -> FieldSetUp:
    """Return the set-up with cameras and clocks in the order of the visit, clocks against its first clip."""
    places = [list(order).index(number) for number in range(len(order))]
    still = ClipClock(offset_s=0.0, standard_s=0.0, epoch_s=0.0, drift_ratio=0.0, drift_standard_ratio=0.0)
    clocks = [(still, *found.clocks)[place] for place in places]
    return replace(
        found,
        cameras=tuple(found.cameras[place] for place in places),
        clocks=tuple(compare_clocks(clocks[0], clock) for clock in clocks[1:]),
    )


def compare_clocks(first: ClipClock, other: ClipClock) -> ClipClock:
    """Return a clip's clock against the clip with the clock `first`, both given against a third."""
    if first.standard_s == 0.0:
        return other
    epoch = other.epoch_s if other.standard_s else first.epoch_s + first.offset_s
    return ClipClock(
        offset_s=other.offset_s - first.offset_s,
        standard_s=float(np.hypot(other.standard_s, first.standard_s)),
        epoch_s=epoch,
        drift_ratio=other.drift_ratio - first.drift_ratio,
        drift_standard_ratio=float(np.hypot(other.drift_standard_ratio, first.drift_standard_ratio)),
    )
