"""Cameras from nothing but the thrower: from the landmarks of all throws to the set-up of the visit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from elbowroom.core.cameras.pose import shift_camera
from elbowroom.core.cameras.project import project_with_jacobian
from elbowroom.core.cameras.triangulate import triangulate_points
from elbowroom.core.cameras.types import Camera, FieldSetUp
from elbowroom.core.chain.adjusted import find_moved_throw, read_clocks
from elbowroom.core.chain.fielding import (
    Moments,
    Placing,
    build_shared,
    estimate_frame,
    place_camera,
)
from elbowroom.core.chain.matching import Pair, TiedPair, tie_pair
from elbowroom.core.chain.placing import ThrowerHints, place_set_up
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
from elbowroom.core.reconstruction.types import Array, ViewedThrow

READ_OUT_S = (0.003, 0.003)
"""Usual time to read all rows of a phone's picture, and its standard uncertainty, where it is not known: 0 to 10 ms."""
TO_LIFT_S = 0.3
"""A throw's window starts this long before the lift."""
LANDED_S = 0.06
"""The lead foot is flat this long after the guess of its contact."""
FEWEST_JOINTS = 10
"""Joints of the 19 that a picture has to show to count."""
LEAST_SHOWN = 0.5
"""Share of a throw's pictures that have to count for the throw to tell where the cameras stand."""
FEWEST_TO_TELL = 3
"""Throws from which the one is told in which a camera stood elsewhere."""
LOOSE = Absent(
    reason="The thrower's landmarks do not fix the cameras.",
    advice="Film the whole body from two places a quarter turn apart, or mark the plate or a tape cross.",
)
MOVED = Absent(
    reason="A phone stood elsewhere in one of the two throws.",
    advice="Screen each throw as a visit of its own, or film again without touching the tripods.",
)
Members = tuple[TrackedThrow, ...]


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
    whole = {
        place: members for place, members in enumerate(throws) if members[0].clip == 0 and len(members) == len(clips)
    }
    if not whole:
        return Absent(reason="No throw is shown by all clips.", advice="Let all phones run through all throws.")
    shown = {place: members for place, members in whole.items() if all(is_shown(member) for member in members)}
    if not shown:
        return describe_unseen(whole.values(), clips)
    return calibrate_throws(clips, shown, setting, hints, generator)


def is_shown(member: TrackedThrow) -> bool:
    """Whether a clip shows most of the body in most of the pictures of a throw that were looked at."""
    return float(np.mean(np.count_nonzero(member.track.seen, axis=1) >= FEWEST_JOINTS)) >= LEAST_SHOWN


def describe_unseen(throws: Iterable[Members], clips: Sequence[ClipThrows]) -> Absent:
    """Return which clips do not show the thrower."""
    lost = sorted({member.clip for members in throws for member in members if not is_shown(member)})
    names = " and ".join(clips[clip].camera.name for clip in lost)
    return Absent(
        reason=f"The thrower is out of the picture of {names} for half of every throw or more.",
        advice="Step back or aim anew until the whole throw, from the lift to the finish, stays in the picture.",
    )


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
    placed: Mapping[int, Members],
    setting: ChainSetting,
    hints: ThrowerHints,
    generator: np.random.Generator,
) -> FieldSetUp | Absent:
    """Return the set-up from throws that all clips show, by place in the visit: start, adjustment, field frame."""
    throws = list(placed.values())
    rough = [find_rough_s(throws, number) for number in range(len(clips))]
    bones = np.array([bone.length_m for bone in setting.priors.bones])
    cameras, offsets = [clips[0].camera], [0.0]
    for number in range(1, len(clips)):
        seen = [place_pair(members, clips, number, rough[number]) for members in throws]
        tied = tie_pair(seen, bones, generator)
        if isinstance(tied, Absent):
            return tied
        anchors = hints.anchors[0], hints.anchors[number]
        cameras[0], camera = open_cameras(cameras[0], clips[number].camera, tied, anchors, is_first=number == 1)
        cameras.append(camera)
        offsets.append(rough[number] + tied.shift_s)
    views = [view_members(members, cameras, offsets) for members in throws]
    frame = estimate_frame(locate_moments(views, throws, cameras), cameras, setting)
    cameras = [place_camera(camera, frame) for camera in cameras]
    views = [view_members(members, cameras, offsets) for members in throws]
    both = {place: (view, members) for view, (place, members) in zip(views, placed.items(), strict=True)}
    return solve_cameras(cameras, both, setting, hints)


def find_rough_s(throws: Sequence[Members], number: int) -> float:
    """Return what to add to a clip's times, roughly, by its guesses of the releases."""
    gaps = [members[0].seen.window.release_guess_s - members[number].seen.window.release_guess_s for members in throws]
    return float(np.median(gaps))


def place_pair(members: Members, clips: Sequence[ClipThrows], number: int, rough_s: float) -> Pair:
    """Return one throw as the first clip and clip `number` saw it."""
    first = view_throw(clips[0].camera, members[0].track, 0.0, 0.0)
    return first, view_throw(clips[number].camera, members[number].track, rough_s, 0.0)


def open_cameras(
    first: Camera, second: Camera, tied: TiedPair, anchors: tuple[Camera | Absent, Camera | Absent], *, is_first: bool
) -> tuple[Camera, Camera]:
    """Return both cameras with what the pair says: focal lengths where no board or mark tells them, and the second in
    the first one's frame, metres."""
    ratios, fit = tied.fit.focal_ratios, tied.fit
    if is_first and not anchors[0]:
        first = replace(first, lens=replace(first.lens, focal_px=first.lens.focal_px * ratios[0]))
    if not anchors[1]:
        second = replace(second, lens=replace(second.lens, focal_px=second.lens.focal_px * ratios[1]))
    placed = replace(second, rotation=fit.pose.rotation, translation=fit.base_m * fit.pose.direction)
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
    seen: Mapping[int, tuple[list[ViewedThrow], Members]],
    setting: ChainSetting,
    hints: ThrowerHints,
) -> FieldSetUp | Absent:
    """Return the set-up after one adjustment of all throws, the field frame taken from it.

    A throw in which a camera stood elsewhere is set apart and the rest adjusted again.
    """
    kept = dict(seen)
    adjusting = build_adjusting(cameras, setting, hints)
    while True:
        throws = [
            AdjustThrow(views=tuple(enumerate(views)), window_s=find_window(list(zip(views, members, strict=True))))
            for views, members in kept.values()
        ]
        try:
            adjusted = solve_visit(throws, cameras, adjusting)
        except np.linalg.LinAlgError:
            return LOOSE
        moved = find_moved_throw(adjusted)
        if moved is None:
            break
        if len(kept) < FEWEST_TO_TELL:
            return MOVED
        del kept[list(kept)[moved]]
    moments = tuple(find_moments_s(members) for _, members in kept.values())
    placing = Placing(moments_s=moments, setting=setting, anchor=hints.anchors[0])
    set_up = place_set_up(build_shared(adjusted, adjusting, placing), setting, hints)
    if isinstance(set_up, Absent):
        return set_up
    apart = tuple(place for place in seen if place not in kept)
    return replace(set_up, clocks=read_clocks(adjusted, throws), apart=apart)


def build_adjusting(cameras: Sequence[Camera], setting: ChainSetting, hints: ThrowerHints) -> AdjustSetting:
    """Return what the adjustment needs besides what was seen."""
    rows = tuple(
        (camera.row_time_s, 1e-8) if camera.row_time_s else tuple(part / camera.lens.height_px for part in READ_OUT_S)
        for camera in cameras
    )
    return AdjustSetting(
        lenses=hints.lenses,
        row_priors_s=rows,  # type: ignore[arg-type]
        priors=setting.priors,
        project=project_with_jacobian,
        shift_camera=shift_camera,
        throwing_right=setting.athlete.hand is ThrowingHand.RIGHT,
    )
