"""Cameras from nothing but the thrower: from the landmarks of all throws to the set-up of the visit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import radians

import numpy as np

from elbowroom.core.cameras.hints import Hints, read_hints
from elbowroom.core.cameras.pose import shift_camera
from elbowroom.core.cameras.project import project_with_jacobian
from elbowroom.core.cameras.triangulate import triangulate_points
from elbowroom.core.cameras.types import Camera, FieldSetUp, LensEstimate
from elbowroom.core.chain.adjusted import read_clocks
from elbowroom.core.chain.fielding import (
    Fielded,
    Moments,
    build_shared,
    estimate_frame,
    place_camera,
    turn_camera,
)
from elbowroom.core.chain.matching import Pair, TiedPair, tie_pair
from elbowroom.core.chain.sharing import ROUGH_DISTANCE_M
from elbowroom.core.chain.tracking import flatten_track, track_clip, view_throw
from elbowroom.core.chain.types import ChainSetting, ClipThrows, TrackedThrow
from elbowroom.core.chain.visit import find_window, pair_clips
from elbowroom.core.clocks.sound import estimate_sound_offset
from elbowroom.core.clocks.types import ClockOffset, SoundPaths
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.landmarks.names import JOINTS
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.adjust import AdjustSetting, AdjustThrow, solve_visit
from elbowroom.core.reconstruction.field_frame import CHAIN_SPREAD, Postures, estimate_up_standard_deg
from elbowroom.core.reconstruction.types import Array, ViewedThrow

STRIDE_DEG = 4.5
"""Standard uncertainty of the direction to the target where only the stride tells it: throwers land several centimetres
across or open on a stride of 1.2 m (SD of the stride's direction on rendered throws 4 degrees)."""
READ_OUT_S = (0.003, 0.003)
"""Usual time to read all rows of a phone's picture, and its standard uncertainty, where it is not known: 0 to 10 ms."""
TO_LIFT_S = 0.3
"""A throw's window starts this long before the lift."""
LANDED_S = 0.06
"""The lead foot is flat this long after the guess of its contact."""
AGREEING_RATIO = 3.0
"""Standard uncertainties up to which two scales agree (project's choice)."""
Members = tuple[TrackedThrow, ...]


@dataclass(frozen=True, kw_only=True)
class ThrowerHints:
    """What is known besides the thrower."""

    lenses: tuple[LensEstimate, ...]
    """What is known of each clip's lens."""
    marks: tuple[Mapping[str, tuple[float, float]], ...]
    """Target and tape as each clip shows them, pixel by name; empty where none."""
    tape_m: float = 0.0
    """Length of the tape laid towards the target; 0 for none."""


def calibrate_from_thrower(
    clips: Sequence[ClipThrows], setting: ChainSetting, hints: ThrowerHints, generator: np.random.Generator
) -> FieldSetUp | Absent:
    """Return the set-up of a visit whose cameras are known by the thrower alone, or why it cannot be found.

    The clips' cameras hold a first guess of the lens and the row time (0 where unknown); their poses are not used.
    """
    if len(clips) < 2:
        return Absent(
            reason="One clip alone shows no depth without a board or marks.",
            advice="Film with a second phone a quarter turn round the thrower, or mark the plate or a tape cross.",
        )
    pairs = pair_clips(clips, [compare_sound(clips[0], clip) for clip in clips[1:]])
    if isinstance(pairs, Absent):
        return pairs
    tracked = [track_clip(clip, number, setting) for number, clip in enumerate(clips)]
    throws = [tuple(tracked[clip][place] for clip, place in pair.members) for pair in pairs]
    throws = [members for members in throws if members[0].clip == 0 and len(members) == len(clips)]
    if not throws:
        return Absent(reason="No throw is shown by all clips.", advice="Let all phones run through all throws.")
    return calibrate_throws(clips, throws, setting, hints, generator)


def compare_sound(first: ClipThrows, second: ClipThrows) -> ClockOffset | Absent:
    """Return the rough offset of a clip by the sound, the ways of the sound unknown."""
    if isinstance(first.sound, Absent):
        return first.sound
    if isinstance(second.sound, Absent):
        return second.sound
    paths = SoundPaths(reference_m=0.0, other_m=0.0, standard_m=ROUGH_DISTANCE_M)
    return estimate_sound_offset(first.sound, second.sound, paths)


def calibrate_throws(
    clips: Sequence[ClipThrows],
    throws: Sequence[Members],
    setting: ChainSetting,
    hints: ThrowerHints,
    generator: np.random.Generator,
) -> FieldSetUp | Absent:
    """Return the set-up from throws that all clips show: start, adjustment, field frame."""
    rough = [find_rough_s(throws, number) for number in range(len(clips))]
    bones = np.array([bone.length_m for bone in setting.priors.bones])
    cameras, offsets = [clips[0].camera], [0.0]
    for number in range(1, len(clips)):
        seen = [place_pair(members, clips, number, rough[number]) for members in throws]
        tied = tie_pair(seen, bones, generator)
        if isinstance(tied, Absent):
            return tied
        cameras[0], camera = open_cameras(cameras[0], clips[number].camera, tied, is_first=number == 1)
        cameras.append(camera)
        offsets.append(rough[number] + tied.shift_s)
    views = [view_members(members, cameras, offsets) for members in throws]
    frame = estimate_frame(locate_moments(views, throws, cameras), cameras, setting)
    cameras = [place_camera(camera, frame) for camera in cameras]
    views = [view_members(members, cameras, offsets) for members in throws]
    return solve_cameras(cameras, list(zip(views, throws, strict=True)), setting, hints)


def find_rough_s(throws: Sequence[Members], number: int) -> float:
    """Return what to add to a clip's times, roughly, by its guesses of the releases."""
    gaps = [members[0].seen.window.release_guess_s - members[number].seen.window.release_guess_s for members in throws]
    return float(np.median(gaps))


def place_pair(members: Members, clips: Sequence[ClipThrows], number: int, rough_s: float) -> Pair:
    """Return one throw as the first clip and clip `number` saw it."""
    first = view_throw(clips[0].camera, members[0].track, 0.0, 0.0)
    return first, view_throw(clips[number].camera, members[number].track, rough_s, 0.0)


def open_cameras(first: Camera, second: Camera, tied: TiedPair, *, is_first: bool) -> tuple[Camera, Camera]:
    """Return both cameras with what the pair says: focal lengths, and the second in the first one's frame, metres."""
    ratios, fit = tied.fit.focal_ratios, tied.fit
    if is_first:
        first = replace(first, lens=replace(first.lens, focal_px=first.lens.focal_px * ratios[0]))
    lens = replace(second.lens, focal_px=second.lens.focal_px * ratios[1])
    placed = replace(second, lens=lens, rotation=fit.pose.rotation, translation=fit.base_m * fit.pose.direction)
    return first, placed


def view_members(members: Members, cameras: Sequence[Camera], offsets: Sequence[float]) -> list[ViewedThrow]:
    """Return one throw as all cameras saw it, on the visit clock."""
    return [
        replace(view_throw(camera, member.track, offset, 0.0), flat=flatten_track(camera, member.track))
        for camera, offset, member in zip(cameras, offsets, members, strict=True)
    ]


def locate_moments(
    views: Sequence[Sequence[ViewedThrow]], throws: Sequence[Members], cameras: Sequence[Camera]
) -> Moments:
    """Return the joints at the lift and after foot contact of every throw, from lines of sight at that moment."""
    lift: list[Array] = []
    contact: list[Array] = []
    for seen, members in zip(views, throws, strict=True):
        for at, found in zip(find_moments_s(members), (lift, contact), strict=True):
            pixels = np.stack([interpolate_view(view, at) for view in seen])
            found.append(triangulate_points(cameras, pixels, np.ones(pixels.shape[:2])))
    return Moments(lift=np.array(lift), contact=np.array(contact))


def find_moments_s(members: Members) -> tuple[float, float]:
    """Return lift and planted foot of a throw on the visit clock."""
    window = members[0].seen.window
    return window.start_s + TO_LIFT_S, window.contact_guess_s + LANDED_S


def interpolate_view(view: ViewedThrow, at_s: float) -> Array:
    """Return where a view shows the joints (19, 2) at a time on the visit clock."""
    times, pixels = view.track.times_s + view.offset_s, view.track.pixels
    return np.array([[np.interp(at_s, times, pixels[:, joint, axis]) for axis in (0, 1)] for joint in range(JOINTS)])


def solve_cameras(
    cameras: Sequence[Camera],
    seen: Sequence[tuple[list[ViewedThrow], Members]],
    setting: ChainSetting,
    hints: ThrowerHints,
) -> FieldSetUp | Absent:
    """Return the set-up after one adjustment of all throws, the field frame taken from it."""
    throws = [
        AdjustThrow(views=tuple(enumerate(views)), window_s=find_window(list(zip(views, members, strict=True))))
        for views, members in seen
    ]
    rows = tuple(
        (camera.row_time_s, 1e-8) if camera.row_time_s else tuple(part / camera.lens.height_px for part in READ_OUT_S)
        for camera in cameras
    )
    adjusting = AdjustSetting(
        lenses=hints.lenses,
        row_priors_s=rows,  # type: ignore[arg-type]
        priors=setting.priors,
        project=project_with_jacobian,
        shift_camera=shift_camera,
        throwing_right=setting.athlete.hand is ThrowingHand.RIGHT,
    )
    try:
        adjusted = solve_visit(throws, cameras, adjusting)
    except np.linalg.LinAlgError:
        return Absent(
            reason="The thrower's landmarks do not fix the cameras.",
            advice="Film the whole body from two places a quarter turn apart, or mark the plate or a tape cross.",
        )
    moments = tuple(find_moments_s(members) for _, members in seen)
    set_up = place_set_up(build_shared(adjusted, adjusting, moments, setting), setting, hints)
    return replace(set_up, clocks=read_clocks(adjusted, throws)) if isinstance(set_up, FieldSetUp) else set_up


def place_set_up(fielded: Fielded, setting: ChainSetting, hints: ThrowerHints) -> FieldSetUp | Absent:
    """Return the set-up in the field frame: direction and scale by the marks where there are any.

    `Absent` where the tape and the athlete's height contradict one another.
    """
    upright = radians(estimate_up_standard_deg(fielded.postures))
    found = read_hints(fielded.cameras, hints.marks, setting.target_m[0], hints.tape_m, upright)
    known = np.array([CHAIN_SPREAD, found.scale_standard])
    refusal = refuse_scale(found)
    if isinstance(refusal, Absent):
        return refusal
    weights = known**-2 / np.sum(known**-2)
    scale = float(weights @ np.array([1.0, found.scale_factor]))
    directions = np.array([STRIDE_DEG, found.turn_standard_deg]) ** -2.0
    turn = float(found.turn_deg * directions[1] / directions.sum())
    cameras = [turn_camera(camera, turn, scale) for camera in fielded.cameras]
    return FieldSetUp(
        cameras=tuple(cameras),
        scale_standard=float(np.sum(known**-2) ** -0.5),
        target_standard_rad=radians(float(directions.sum() ** -0.5)),
        upright_standard_rad=upright,
        how=describe_how(found, len(cameras)),
    )


def refuse_scale(found: Hints) -> Absent | None:
    """Return why height and tape cannot both be right, None where they can or where no tape was laid."""
    apart = found.scale_factor - 1.0
    if not np.isfinite(found.scale_standard) or abs(apart) < AGREEING_RATIO * np.hypot(
        CHAIN_SPREAD, found.scale_standard
    ):
        return None
    return Absent(
        reason=f"By the tape everything is {100 * abs(apart):.0f} % {'larger' if apart > 0 else 'smaller'} than by the "
        "athlete's height, more than both can err.",
        advice="Measure height and tape again, and check the marked ends of the tape.",
    )


def describe_how(found: Hints, count: int) -> str:
    """Return in words what the cameras were found from."""
    scale = "a tape" if np.isfinite(found.scale_standard) else "the athlete's height"
    target = "a mark" if np.isfinite(found.turn_standard_deg) else "the stride alone: mark the target to know it better"
    return f"the thrower, seen by {count} cameras; scale from {scale}, direction to the target from {target}"


__all__ = ["Postures", "ThrowerHints", "calibrate_from_thrower"]
