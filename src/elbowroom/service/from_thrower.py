"""The cameras of a visit without board and marks: found after the landmarks, from the thrower."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from elbowroom.core.cameras.check import FlawKind, check_set_up
from elbowroom.core.cameras.hints import HINT_MARKS
from elbowroom.core.cameras.lens import assume_phone_lens
from elbowroom.core.cameras.pose import build_blank_camera
from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.core.chain.calibrating import ThrowerHints, calibrate_from_thrower
from elbowroom.core.chain.types import ChainSetting, ClipThrows
from elbowroom.core.clips.types import Clip
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import SetUpError
from elbowroom.service.visit_plan import VisitPlan

POSE_FLAWS = (FlawKind.THROWER_CUT_OFF, FlawKind.POSE_TOO_LOOSE)
"""Flaws that are not held against cameras known by the thrower: their looseness is in every interval."""


@dataclass(frozen=True, kw_only=True)
class ThrowerVisit:
    """What the cameras of a visit are found from."""

    plan: VisitPlan
    """The visit."""
    clips: tuple[ClipThrows, ...]
    """The clips with the throws, each with the blank camera of `assume_cameras`."""
    setting: ChainSetting
    """What the chain needs besides."""


def has_known_ground(plan: VisitPlan) -> bool:
    """Whether a board clip or a ground mark of known size ties any of the cameras to the field."""
    return any(
        clip.board_path is not None or any(mark.name not in HINT_MARKS for mark in clip.marks) for clip in plan.clips
    )


def assume_cameras(plan: VisitPlan, clips: Sequence[Clip]) -> FieldSetUp:
    """Return a set-up whose cameras have the usual phone's lens and stand nowhere yet."""
    cameras = tuple(
        build_blank_camera(item.path.stem, assume_phone_lens(clip.width_px, clip.height_px), item.row_time_s)
        for item, clip in zip(plan.clips, clips, strict=True)
    )
    return FieldSetUp(cameras=cameras, scale_standard=1.0, target_standard_rad=np.pi, upright_standard_rad=np.pi)


def find_from_thrower(visit: ThrowerVisit, generator: np.random.Generator) -> FieldSetUp:
    """Return the cameras found from the thrower, marks of target and tape used where there are any.

    Raises SetUpError with the reason and what to do where they cannot be found or cannot measure.
    """
    sizes = [(clip.camera.lens.width_px, clip.camera.lens.height_px) for clip in visit.clips]
    hints = ThrowerHints(
        lenses=tuple(assume_phone_lens(*size) for size in sizes),
        marks=tuple({mark.name: mark.pixel for mark in clip.marks} for clip in visit.plan.clips),
        tape_m=visit.plan.tape_m,
    )
    set_up = calibrate_from_thrower(visit.clips, visit.setting, hints, generator)
    if isinstance(set_up, Absent):
        raise SetUpError(f"{set_up.reason} {set_up.advice}".strip())
    flaws = check_set_up(set_up.cameras, np.zeros(3), visit.plan.athlete.height_m)
    fatal = [flaw for flaw in flaws if flaw.is_fatal and flaw.kind not in POSE_FLAWS]
    if fatal:
        raise SetUpError(" ".join(f"{flaw.reason} {flaw.advice}" for flaw in fatal))
    return set_up
