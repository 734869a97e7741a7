"""The set-up of a visit: its cameras, and what is known of scale, vertical and direction to the target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import radians

from elbowroom.core.cameras.types import Camera, FieldSetUp


class Ground(StrEnum):
    """What the field frame was taken from."""

    BOARD = "board"
    PLATE = "pitcher's plate"
    BOTH_PLATES = "pitcher's plate and home plate"
    CROSS = "tape cross"


@dataclass(frozen=True, kw_only=True)
class GroundKnowledge:
    """How well a thing on the ground gives scale, direction to the target and vertical; the visit may state
    better."""

    scale_ratio: float
    """Relative standard uncertainty of its size."""
    target_deg: float
    """Standard uncertainty of the direction to the target that it gives, degrees."""
    upright_deg: float
    """Standard uncertainty of the vertical: slope of the ground, degrees."""


GROUND_KNOWLEDGE = {
    Ground.BOARD: GroundKnowledge(scale_ratio=0.002, target_deg=1.0, upright_deg=0.5),
    Ground.PLATE: GroundKnowledge(scale_ratio=0.005, target_deg=1.0, upright_deg=0.5),
    Ground.BOTH_PLATES: GroundKnowledge(scale_ratio=0.005, target_deg=0.2, upright_deg=0.5),
    Ground.CROSS: GroundKnowledge(scale_ratio=0.005, target_deg=1.0, upright_deg=0.5),
}
"""Defaults, all chosen by this project: print tolerance 0.2 %, plates and tape 0.5 %, a board or plate laid
along the line by eye to 1 degree, the line between two plates to 0.2 degree, ground level to 0.5 degree."""


def build_set_up(cameras: Sequence[Camera], ground: Ground, stated: GroundKnowledge | None = None) -> FieldSetUp:
    """Return the set-up of cameras that share one field frame, its ground at height zero.

    `stated` replaces the defaults for the kind of ground where the visit file says better.
    """
    known = stated or GROUND_KNOWLEDGE[ground]
    return FieldSetUp(
        cameras=tuple(cameras),
        scale_standard=known.scale_ratio,
        target_standard_rad=radians(known.target_deg),
        upright_standard_rad=radians(known.upright_deg),
        how=f"{ground.value}, seen by {len(cameras)} camera{'s' if len(cameras) != 1 else ''}",
    )
