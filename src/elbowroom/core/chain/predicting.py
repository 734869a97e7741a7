"""What phones at planned places will be able to measure: a typical throw sent through the same chain, without pictures.

Nothing is simplified: the throw is projected into the planned cameras, the landmarks get the usual covariance of the
error tables, cameras and clocks come out of the same adjustment, and the measures' budgets out of the same draws. Only
the landmarks' places are free of noise, so that what comes out is the uncertainty and not one sample of the error.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from elbowroom.core.cameras.check import check_set_up
from elbowroom.core.cameras.hints import TAPE_END, TAPE_START
from elbowroom.core.cameras.lens import assume_phone_lens
from elbowroom.core.cameras.pose import build_blank_camera, shift_camera
from elbowroom.core.cameras.project import project_points, project_with_jacobian
from elbowroom.core.cameras.set_up import Ground, build_set_up
from elbowroom.core.cameras.types import Camera, FieldSetUp
from elbowroom.core.chain.adjusted import read_clocks
from elbowroom.core.chain.fielding import Placing, build_shared
from elbowroom.core.chain.measuring import draw_sources, measure_motion, refuse_out_of_plane
from elbowroom.core.chain.placing import ThrowerHints, place_set_up
from elbowroom.core.chain.tracking import view_throw
from elbowroom.core.chain.types import ChainSetting
from elbowroom.core.clips.types import Sufficient, TimingVerdict
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.models import KINDS, find_kind
from elbowroom.core.landmarks.names import JOINTS, Joint
from elbowroom.core.landmarks.types import JointTrack
from elbowroom.core.quantities.types import Absent, Obtained
from elbowroom.core.reconstruction.adjust import AdjustSetting, AdjustThrow, solve_visit
from elbowroom.core.reconstruction.solve import reconstruct_throw
from elbowroom.core.reconstruction.types import Array, ViewedThrow

SPREADS_M = dict(
    zip(KINDS, (0.0079, 0.0133, 0.0238, 0.0200, 0.0214, 0.0164, 0.0160, 0.0108, 0.0137, 0.0157), strict=True)
)
"""Standard uncertainty of each kind of joint across the line of sight at the thrower, metres: the median of what the
error tables gave on two rendered visits (sample and demo), of athletes 1.6 m tall; scaled with the height."""
SPREAD_HEIGHT_M = 1.6
"""Height of those athletes."""
SPARSE_HZ = 34.0
"""Pictures a second looked at outside the fast part."""
BEFORE_CONTACT_S, AFTER_RELEASE_S = 0.06, 0.10
"""The fast part begins and ends this long before and after."""
TO_LIFT_S, LANDED_S = 0.32, 0.06
"""Place of the lift in the typical throw, and how long after contact the foot is flat."""
READ_OUT_S = 0.004
"""Time in which the planned phone reads all rows."""
THROWS = 2
"""Throws that the planned visit's cameras are found from: more help little, since landmarks err alike in all."""
KNOWN_STANDARDS = (3.0, 2.0, 2.0, 0.01, 0.02, 5e-4, 5e-4, *[0.004] * 3, *[0.012] * 3)
"""Standard uncertainties of a camera found from a board and marks: px, 1, rad, m; usual values on rendered visits."""
PICTURE = (1920, 1080)
"""Pixels of the planned clips, lying."""


class Known(StrEnum):
    """What will be laid out besides the phones."""

    BOARD = "board"
    TAPE = "tape"
    NOTHING = "nothing"


@dataclass(frozen=True, kw_only=True)
class TypicalThrow:
    """A usual throw of a right-hander, in shares of the height."""

    times_s: Array
    """(n,) times from the start."""
    places: Array
    """(n, 19, 3) joints in the field frame over the standing height."""
    instants_s: Mapping[InstantName, float]
    """Its instants."""


@dataclass(frozen=True, kw_only=True)
class FilmingPlan:
    """Where phones will stand."""

    places_m: tuple[tuple[float, float, float], ...]
    """Place of every phone from the pivot foot: ahead, left, up; metres, as for a right-hander."""
    known: Known
    """What else will be laid out."""
    tape_m: float = 1.6
    """Length of the tape, from the pivot foot towards the target."""
    rate_hz: float = 240.0
    """Pictures a second."""


def predict_measures(
    plan: FilmingPlan, typical: TypicalThrow, setting: ChainSetting, generator: np.random.Generator
) -> Mapping[str, Obtained] | Absent:
    """Return the measures of a typical throw with the uncertainty that the planned phones would give.

    `Absent` with advice where the phones as planned could measure nothing.
    """
    height = setting.athlete.height_m
    cameras = [place_phone(f"phone {number}", place, height) for number, place in enumerate(plan.places_m, start=1)]
    fatal = [flaw for flaw in check_set_up(cameras, np.zeros(3), height) if flaw.is_fatal]
    if fatal:
        return Absent(reason=" ".join(flaw.reason for flaw in fatal), advice=" ".join(flaw.advice for flaw in fatal))
    tracks = [see_typical(camera, plan, typical, setting) for camera in cameras]
    try:
        set_up = predict_cameras(cameras, tracks, plan, (typical, setting))
    except np.linalg.LinAlgError:
        return Absent(reason="These places do not fix the cameras.", advice="Stand the phones a quarter turn apart.")
    if isinstance(set_up, Absent):
        return set_up
    return measure_planned(set_up, tracks, (plan, typical, setting), generator)


def place_phone(name: str, place_m: tuple[float, float, float], height_m: float) -> Camera:
    """Return a usual phone at a place, aimed at the thrower in the middle of the stride, known as by a board."""
    place = np.array(place_m)
    forward = np.array([0.4 * height_m, 0.0, 0.5 * height_m]) - place
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    rotation = np.stack([right, np.cross(forward, right), forward])
    blank = build_blank_camera(name, assume_phone_lens(*PICTURE), READ_OUT_S / PICTURE[1])
    return replace(
        blank,
        rotation=rotation,
        translation=-rotation @ place,
        covariance=np.diag(np.square(KNOWN_STANDARDS)),
        residual_px=0.3,
    )


def see_typical(camera: Camera, plan: FilmingPlan, typical: TypicalThrow, setting: ChainSetting) -> JointTrack:
    """Return the typical throw as a planned phone shows it, rows at their own times; joints outside are not seen."""
    times = choose_times(plan, typical)
    points = locate_typical(typical, np.repeat(times[:, None], JOINTS, axis=1), setting.athlete.height_m)
    for _ in range(2):
        at = times[:, None] + camera.row_time_s * project_points(camera, points)[:, :, 1]
        points = locate_typical(typical, at, setting.athlete.height_m)
    pixels, depth = project_points(camera, points), points @ camera.rotation[2]
    inside = np.asarray(((pixels > -0.5) & (pixels < np.array(PICTURE) - 0.5)).all(axis=2))
    noise, standing = find_spreads_px2(camera, depth + camera.translation[2], setting)
    hips = depth[:, [Joint.RIGHT_HIP, Joint.LEFT_HIP]].mean(axis=1, keepdims=True)
    return JointTrack(
        camera=camera.name,
        pictures=np.arange(len(times)),
        times_s=times,
        pixels=pixels,
        noise_px2=noise,
        offset_px2=standing,
        noise_time_s=setting.tables.noise.noise_time_s,
        seen=inside,
        depth_m=depth - hips,
        depth_standard_m=setting.tables.noise.depth_standard_m,
        corrections=(),
        model=setting.tables.name,
    )


def choose_times(plan: FilmingPlan, typical: TypicalThrow) -> Array:
    """Return the times of the pictures that would be looked at."""
    fast = find_fast_s(typical)
    end = float(typical.times_s[-1])
    parts = [np.arange(0.0, fast[0], 1.0 / SPARSE_HZ), np.arange(*fast, 1.0 / plan.rate_hz)]
    return np.concatenate([*parts, np.arange(fast[1], end, 1.0 / SPARSE_HZ)])


def find_fast_s(typical: TypicalThrow) -> tuple[float, float]:
    """Return begin and end of the fast part of the typical throw."""
    at = typical.instants_s
    return at[InstantName.FOOT_CONTACT] - BEFORE_CONTACT_S, at[InstantName.RELEASE] + AFTER_RELEASE_S


def locate_typical(typical: TypicalThrow, times_s: Array, height_m: float) -> Array:
    """Return the joints (n, 19, 3) of a thrower of that height, each joint at its own time (n, 19)."""
    columns = [
        np.stack([np.interp(times_s[:, joint], typical.times_s, typical.places[:, joint, axis]) for axis in range(3)])
        for joint in range(JOINTS)
    ]
    return height_m * np.transpose(np.array(columns), (2, 0, 1))


def find_spreads_px2(camera: Camera, depth_m: Array, setting: ChainSetting) -> tuple[Array, Array]:
    """Return covariances (n, 19, 2, 2) of noise and standing part for joints at depths (n, 19)."""
    kinds = [find_kind(joint) for joint in Joint]
    spreads = np.array([SPREADS_M[KINDS[kind]] for kind in kinds]) * setting.athlete.height_m / SPREAD_HEIGHT_M
    variance = (camera.lens.focal_px * spreads / np.maximum(depth_m, 0.5)) ** 2
    share = setting.tables.noise.standing_share[kinds]
    square = np.eye(2)
    return ((1.0 - share) * variance)[:, :, None, None] * square, (share * variance)[:, :, None, None] * square


def predict_cameras(
    cameras: Sequence[Camera],
    tracks: Sequence[JointTrack],
    plan: FilmingPlan,
    thrown: tuple[TypicalThrow, ChainSetting],
) -> FieldSetUp | Absent:
    """Return the set-up as it would be known: by the board, or by the thrower with a tape or without."""
    if plan.known is Known.BOARD or len(cameras) == 1:
        return build_set_up(cameras, Ground.BOARD)
    typical, setting = thrown
    blank = [replace(camera, covariance=np.zeros_like(camera.covariance)) for camera in cameras]
    views = tuple(enumerate(view_throw(camera, track, 0.0, 0.0) for camera, track in zip(blank, tracks, strict=True)))
    throws = [AdjustThrow(views=views, window_s=find_window_s(typical))] * THROWS
    adjusting = build_planned_adjusting(cameras, setting)
    adjusted = solve_visit(throws, blank, adjusting)
    at = typical.instants_s
    moments = ((at[InstantName.LIFT], at[InstantName.FOOT_CONTACT] + LANDED_S),) * THROWS
    unknown = Absent(reason="No board and no marks.")
    placing = Placing(moments_s=moments, setting=setting, anchor=unknown)
    hints = ThrowerHints(
        lenses=adjusting.lenses,
        marks=tuple(mark_tape(camera, plan) for camera in cameras),
        anchors=(unknown,) * len(cameras),
        tape_m=plan.tape_m if plan.known is Known.TAPE else 0.0,
    )
    fielded = build_shared(adjusted, adjusting, placing)
    set_up = place_set_up(replace(fielded, cameras=tuple(fielded.cameras)), setting, hints)
    return replace(set_up, clocks=read_clocks(adjusted, throws)) if isinstance(set_up, FieldSetUp) else set_up


def build_planned_adjusting(cameras: Sequence[Camera], setting: ChainSetting) -> AdjustSetting:
    """Return what the adjustment knows besides what is seen: usual lenses, shutters to a third."""
    lenses = tuple(replace(assume_phone_lens(*PICTURE), lens=camera.lens) for camera in cameras)
    row = READ_OUT_S / PICTURE[1]
    return AdjustSetting(
        lenses=lenses,
        row_priors_s=((row, row / 2.0),) * len(cameras),
        priors=setting.priors,
        project=project_with_jacobian,
        shift_camera=shift_camera,
        throwing_right=True,
    )


def mark_tape(camera: Camera, plan: FilmingPlan) -> dict[str, tuple[float, float]]:
    """Return the ends of the tape that a planned phone shows."""
    if plan.known is not Known.TAPE:
        return {}
    ends = project_points(camera, np.array([[0.0, 0.0, 0.0], [plan.tape_m, 0.0, 0.0]]))
    named = dict(zip((TAPE_START, TAPE_END), ends.tolist(), strict=True))
    return {name: (x, y) for name, (x, y) in named.items() if 0 <= x < PICTURE[0] and 0 <= y < PICTURE[1]}


def find_window_s(typical: TypicalThrow) -> tuple[float, float, float, float]:
    """Return start, fast part and end of the typical throw."""
    return 0.0, *find_fast_s(typical), float(typical.times_s[-1])


def measure_planned(
    set_up: FieldSetUp,
    tracks: Sequence[JointTrack],
    what: tuple[FilmingPlan, TypicalThrow, ChainSetting],
    generator: np.random.Generator,
) -> Mapping[str, Obtained]:
    """Return the measures of the typical throw with their budgets, as the chain would give them."""
    plan, typical, setting = what
    clocks = [0.0, *(clock.standard_s for clock in set_up.clocks)] if set_up.clocks else [0.0] + [0.0005] * len(tracks)
    views: tuple[ViewedThrow, ...] = tuple(
        view_throw(camera, track, 0.0, clock)
        for camera, track, clock in zip(set_up.cameras, tracks, clocks, strict=False)
    )
    motion = reconstruct_throw(views, find_window_s(typical), setting.priors, project_with_jacobian, True)
    drawn = draw_sources(motion, set_up, setting, generator)
    carried = Sufficient(rate_hz=plan.rate_hz)
    enough = TimingVerdict(instants=carried, trunk_rates=carried, arm_rates=carried)
    measures = measure_motion(drawn, set_up, setting, (enough, plan.rate_hz), generator)[2]
    return (refuse_out_of_plane(measures) if motion.views == 1 else measures).values
