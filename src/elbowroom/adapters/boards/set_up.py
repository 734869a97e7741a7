"""The cameras of a visit from its board clips and ground marks: the adapter behind the `CameraFinder`
Protocol."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import radians
from pathlib import Path

import numpy as np

from elbowroom.adapters.boards.board import LARGE, Board
from elbowroom.adapters.boards.calibrate import estimate_lens
from elbowroom.adapters.boards.detect import BoardSight, detect_sights
from elbowroom.adapters.boards.field_sizes import get_field_size
from elbowroom.adapters.boards.rest import find_resting
from elbowroom.core.cameras.check import FlawKind, SetUpFlaw, check_set_up
from elbowroom.core.cameras.field import GroundView, estimate_field_cameras
from elbowroom.core.cameras.hints import HINT_MARKS
from elbowroom.core.cameras.lens import assume_phone_lens
from elbowroom.core.cameras.marks import Marks, locate_cross_marks, locate_home_marks, locate_plate_marks
from elbowroom.core.cameras.set_up import build_set_up
from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.core.clips.types import Clip
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import SetUpError
from elbowroom.service.ports import OpenClip
from elbowroom.service.visit_plan import ClipPlan, MarkSizes, VisitPlan

ReadClip = Callable[[Path, float | None], OpenClip]
"""Opens a clip by its path and the capture rate that the user states."""

MOST_LOOKED_AT = 200
"""Most pictures of a board clip that are looked at, evenly spread."""


class BoardAndMarkFinder:
    """Finds the cameras of a visit from its boards and ground marks."""

    def __init__(self, open_clip: ReadClip, board: Board = LARGE) -> None:
        """`open_clip` opens the board clips; `board` is the one that was filmed."""
        self._open_clip = open_clip
        self._board = board

    def find_set_up(self, plan: VisitPlan, clips: Sequence[Clip]) -> FieldSetUp:
        """Return the cameras in the field frame, one a clip in the order of the plan.

        Raises SetUpError with the reason and what to do where a lens or a place cannot be found.
        """
        views = [self._view_ground(item, clip) for item, clip in zip(plan.clips, clips, strict=True)]
        fixed, cross = locate_marks(plan.sizes)
        found = estimate_field_cameras(views, fixed, cross)
        if isinstance(found, Absent):
            raise SetUpError(f"{found.reason} {found.advice}".strip())
        refuse_flaws(check_set_up(found.cameras, np.zeros(3), plan.athlete.height_m))
        set_up = build_set_up(found.cameras, found.ground)
        return replace(set_up, target_standard_rad=radians(plan.target_standard_deg))

    def _view_ground(self, item: ClipPlan, clip: Clip) -> GroundView:
        marks = {mark.name: mark.pixel for mark in item.marks if mark.name not in HINT_MARKS}
        lens, resting = assume_phone_lens(clip.width_px, clip.height_px), ()
        if item.board_path is None:
            return GroundView(name=item.path.stem, lens=lens, marks=marks, resting=resting, row_time_s=item.row_time_s)
        sights = self._look_at_board(item.board_path, clip)
        estimated = estimate_lens(sights, (clip.width_px, clip.height_px))
        if isinstance(estimated, Absent):
            raise SetUpError(f"Board clip {item.board_path.name}: {estimated.reason} {estimated.advice}")
        still = find_resting(sights, self._board)
        return GroundView(
            name=item.path.stem,
            lens=estimated,
            marks=marks,
            resting=() if isinstance(still, Absent) else (still,),
            row_time_s=item.row_time_s,
        )

    def _look_at_board(self, path: Path, clip: Clip) -> list[BoardSight]:
        source = self._open_clip(path, None)
        if (source.clip.width_px, source.clip.height_px) != (clip.width_px, clip.height_px):
            raise SetUpError(
                f"Board clip {path.name} is {source.clip.width_px} x {source.clip.height_px} and clip {clip.name} "
                f"{clip.width_px} x {clip.height_px}: film both with the same phone and the same setting."
            )
        step = max(1, -(-source.clip.picture_count // MOST_LOOKED_AT))
        numbers = range(0, source.clip.picture_count, step)
        return detect_sights(source.read_pictures(numbers), self._board)


def refuse_flaws(flaws: Sequence[SetUpFlaw]) -> None:
    """Raise SetUpError with every fatal flaw and its advice; where nobody threw yet, being cut off is not judged."""
    fatal = [flaw for flaw in flaws if flaw.is_fatal and flaw.kind is not FlawKind.THROWER_CUT_OFF]
    if fatal:
        raise SetUpError(" ".join(f"{flaw.reason} {flaw.advice}" for flaw in fatal))


def locate_marks(sizes: MarkSizes) -> tuple[Marks, Marks]:
    """Return the marks of both plates in the field frame, and those of a tape cross about its own middle."""
    home = [get_field_size("home plate", dimension).size_m for dimension in ("width", "side", "depth")]
    plates = {
        **locate_plate_marks(*sizes.plate_m),
        **locate_home_marks(sizes.target_distance_m, 0.0, *home),
    }
    return plates, locate_cross_marks(*sizes.cross_m)
