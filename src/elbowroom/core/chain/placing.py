"""Direction, scale and vertical of cameras from the thrower: by stride, height and balance, or by whatever is known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import radians

from elbowroom.core.cameras.hints import Expected, Observed
from elbowroom.core.cameras.observing import combine_marks
from elbowroom.core.cameras.types import Camera, FieldSetUp, LensEstimate
from elbowroom.core.chain.anchoring import AGREEING_RATIO, place_anchored
from elbowroom.core.chain.fielding import Fielded
from elbowroom.core.chain.types import ChainSetting
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.field_frame import CHAIN_SPREAD, estimate_up_standard_deg

STRIDE_DEG = 4.5
"""Standard uncertainty of the direction to the target where only the stride tells it: throwers land several centimetres
across or open on a stride of 1.2 m (SD of the stride's direction on rendered throws 4 degrees)."""


@dataclass(frozen=True, kw_only=True)
class ThrowerHints:
    """What is known besides the thrower."""

    lenses: tuple[LensEstimate, ...]
    """What is known of each clip's lens."""
    marks: tuple[Mapping[str, tuple[float, float]], ...]
    """Target and tape as each clip shows them, pixel by name; empty where none."""
    anchors: tuple[Camera | Absent, ...]
    """Cameras in the field frame where board or marks tell them; the first clip's among them where any is known."""
    tape_m: float = 0.0
    """Length of the tape laid towards the target; 0 for none."""
    ground: FieldSetUp | Absent = field(default_factory=lambda: Absent(reason="No board and no marks."))
    """What board and marks say of direction and vertical, for the anchors."""


def place_set_up(fielded: Fielded, setting: ChainSetting, hints: ThrowerHints) -> FieldSetUp | Absent:
    """Return the set-up in the field frame: direction and scale by the marks where there are any.

    `Absent` where the tape and the athlete's height contradict one another.
    """
    if not isinstance(hints.ground, Absent):
        return place_anchored(fielded, hints.anchors, hints.ground)
    expected = Expected(
        distance_m=setting.target_m[0],
        tape_m=hints.tape_m,
        turn_standard_deg=STRIDE_DEG,
        scale_standard=CHAIN_SPREAD,
        upright_rad=radians(estimate_up_standard_deg(fielded.postures)),
    )
    found = combine_marks(fielded.cameras, hints.marks, expected)
    if abs(found.tape_misfit_ratio) > AGREEING_RATIO:
        return refuse_scale(found.tape_ratio, "the tape")
    return FieldSetUp(
        cameras=found.cameras,
        scale_standard=found.scale_standard,
        target_standard_rad=radians(found.turn_standard_deg),
        upright_standard_rad=found.upright_rad,
        how=describe_how(found),
    )


def refuse_scale(ratio: float, thing: str) -> Absent:
    """Return why the athlete's height and a thing cannot both be right by which all is `ratio` times as large."""
    apart = ratio - 1.0
    return Absent(
        reason=f"By {thing} everything is {100 * abs(apart):.0f} % {'larger' if apart > 0 else 'smaller'} than by the "
        "athlete's height, more than both can err.",
        advice=f"Measure the height again, and check {thing} and its marked points.",
    )


def describe_how(found: Observed) -> str:
    """Return in words what the cameras were found from."""
    scale = "a tape" if found.has_tape else "the athlete's height"
    target = "a mark" if found.has_direction else "the stride alone: mark the target to know it better"
    return (
        f"the thrower, seen by {len(found.cameras)} cameras; scale from {scale}, direction to the target from {target}"
    )
