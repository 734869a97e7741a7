"""A delivery over time: keys joined by monotone cubics, feet on the ground, bones placed, ball in hand or flight."""

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.ndimage import gaussian_filter1d

from rendering.bodies import Body
from rendering.delivery import Delivery
from rendering.keys import KEY_NAMES, build_key_times, build_keys
from rendering.rotations import Array, apply
from rendering.skeleton import (
    Numbers,
    Placement,
    find_ankle,
    find_ball_of_foot,
    find_hip,
    measure_leg,
    mirror_placement,
    place_body,
    turn_foot,
    turn_trunk,
)

RATE_HZ = 1000.0
SMOOTH_S = 0.004
BALL_RADIUS_M = 0.0366
GRAVITY = np.array([0.0, 0.0, -9.80665])
FOOT_MARGIN_M = 0.012


@dataclass(frozen=True, kw_only=True)
class Motion:
    """One body's motion at RATE_HZ in the field frame, with the ball and the instants."""

    body: Body
    """The body that moves."""
    times_s: Array
    """Times from the start of the motion, (T,)."""
    placement: Placement
    """Every bone at every time."""
    ball: Array
    """Ball centre, (T, 3)."""
    instants_s: dict[str, float]
    """Name of the instant -> time; empty for a motion that is not a throw."""
    throwing_side: str
    """'R' or 'L'."""


def build_throw(body: Body, delivery: Delivery, throwing_side: str, target_m: float) -> Motion:
    """One throw to a target `target_m` ahead at the height of the catcher's glove."""
    times, pose = build_pose(body, delivery)
    placement = place_body(body, pose)
    key_times = build_key_times(delivery)
    ball = _throw_ball(body, placement, times, (key_times["release"], target_m, delivery.ball_speed_share))
    instants = {
        "lift": key_times["lift"],
        "hands_apart": key_times["apart"],
        "foot_contact": key_times["contact"],
        "layback": _find_layback(pose, times, key_times),
        "release": key_times["release"],
        "finish": key_times["finish"],
    }
    if throwing_side == "L":
        placement, ball = mirror_placement(body, placement), ball * np.array([1.0, -1.0, 1.0])
    return Motion(
        body=body, times_s=times, placement=placement, ball=ball, instants_s=instants, throwing_side=throwing_side
    )


def build_pose(body: Body, delivery: Delivery) -> tuple[Array, Numbers]:
    """Times (T,) and pose numbers (T,) each of a right-hander's delivery, metres and degrees."""
    key_times = np.array([build_key_times(delivery)[name] for name in KEY_NAMES])
    keys = place_keys(body, delivery)
    times = np.arange(0.0, key_times[-1], 1.0 / RATE_HZ)
    pose = {name: join_keys(key_times, row, times) for name, row in keys.items()}
    return times, keep_within_reach(body, pose, times, build_key_times(delivery)["contact"])


def join_keys(key_times: Array, row: Array, times: Array) -> Array:
    """A pose number (T,) at every time: monotone cubic through its keys, corners rounded over SMOOTH_S."""
    curve = np.asarray(PchipInterpolator(key_times, row)(times))
    return gaussian_filter1d(curve, SMOOTH_S * RATE_HZ, mode="nearest")


def place_keys(body: Body, delivery: Delivery) -> Numbers:
    """The key rows in metres: strides and heights scaled, foot middles turned into balls of the feet, hips raised."""
    keys = build_keys(delivery)
    height, stride = body.build.height_m, delivery.stride_heights * body.build.height_m
    keys["pelvis_x"] = keys["pelvis_x"] * stride
    keys["pelvis_y"] = keys["pelvis_y"] * height
    for axis in "xyz":
        keys[f"rf_{axis}"] = keys[f"rf_{axis}"] * height
    offset = np.where(np.arange(len(KEY_NAMES)) >= KEY_NAMES.index("contact"), delivery.stride_offset_m, 0.0)
    keys["lf_x"] = keys["lf_x"] * stride
    keys["lf_y"] = keys["lf_y"] * height - offset
    keys["lf_z"] = keys["lf_z"] * height
    for side in "RL":
        _move_to_ball_of_foot(body, keys, side)
    keys["pelvis_z"] = _raise_hips(body, keys)
    return keys


def _move_to_ball_of_foot(body: Body, keys: Numbers, side: str) -> None:
    """Change a foot's place from the middle of the foot to its ball, about which it rolls."""
    heel, tip = measure_foot(body, side)
    arm = find_ball_of_foot(body, side) - (heel + tip) / 2
    low = side.lower()
    yaw = keys[f"{low}f_yaw"].copy()
    if side == "R":
        # the pivot foot's place is keyed at its own ball already: only the placing at the plate matters
        yaw = np.full_like(yaw, -90.0)
    turned = apply(turn_foot({f"{low}f_yaw": yaw, f"{low}f_pitch": 0.0 * yaw}, side)[0], arm)
    keys[f"{low}f_x"] = keys[f"{low}f_x"] + turned[:, 0]
    keys[f"{low}f_y"] = keys[f"{low}f_y"] + turned[:, 1]


def measure_foot(body: Body, side: str) -> tuple[Array, Array]:
    """Rest points (3,) of the heel and of the tip of the foot, one centimetre inside the skin, two above the sole."""
    bones = [i for i, b in enumerate(body.labels) if b.startswith(("foot", "toe")) and b.endswith(side)]
    mesh = body.vertices[np.isin(body.bone_index[:, 0], bones)]
    across = body.head(f"toe2-1.{side}")[1]
    heel = np.array([mesh[:, 0].min() + 0.01, body.head(f"foot.{side}")[1], 0.02])
    return heel, np.array([mesh[:, 0].max() - 0.01, across, 0.02])


def _raise_hips(body: Body, keys: Numbers) -> Array:
    """Height of the hips at the keys, so that the supporting knee bends as keyed."""
    pelvis = turn_trunk(keys["pelvis_open"], keys["pelvis_forward"], keys["pelvis_side"])
    contact = KEY_NAMES.index("contact")
    over_pivot = find_height(body, keys, pelvis, ("R", keys["pivot_knee"]))
    over_lead = find_height(body, keys, pelvis, ("L", keys["lead_knee"]))
    return np.where(np.arange(len(KEY_NAMES)) < contact, over_pivot, over_lead)


def find_height(body: Body, pose: Numbers, pelvis: Array, leg: tuple[str, Array]) -> Array:
    """Height of the hips (T,) at which one leg, its foot given, has a given knee flexion in degrees."""
    side, flexion = leg
    thigh, shank = measure_leg(body, side)
    length = np.sqrt(thigh**2 + shank**2 + 2 * thigh * shank * np.cos(np.radians(flexion)))
    hip = find_hip(body, {**pose, "pelvis_z": np.zeros_like(flexion)}, pelvis, side)
    ankle = find_ankle(body, pose, turn_foot(pose, side)[0], side)
    across = np.sum((hip - ankle)[:, :2] ** 2, axis=-1)
    return ankle[:, 2] - hip[:, 2] + np.sqrt(np.maximum(length**2 - across, (0.4 * length) ** 2))


def keep_within_reach(body: Body, pose: Numbers, times: Array, contact_s: float) -> Numbers:
    """Lower the hips where a planted leg would be too short, and let the free foot follow where it would tear off."""
    pelvis = turn_trunk(pose["pelvis_open"], pose["pelvis_forward"], pose["pelvis_side"])
    straight = np.full_like(times, 6.0)
    top_pivot = find_height(body, pose, pelvis, ("R", straight))
    top_lead = find_height(body, pose, pelvis, ("L", straight))
    top = np.where(times < contact_s, top_pivot, top_lead)
    lowered = np.minimum(pose["pelvis_z"], top)
    pose = {**pose, "pelvis_z": gaussian_filter1d(lowered, 0.008 * RATE_HZ, mode="nearest")}
    for side in "RL":
        pose = _drag_foot(body, pose, pelvis, side)
    return pose


def _drag_foot(body: Body, pose: Numbers, pelvis: Array, side: str) -> Numbers:
    thigh, shank = measure_leg(body, side)
    hip = find_hip(body, pose, pelvis, side)
    ankle = find_ankle(body, pose, turn_foot(pose, side)[0], side)
    reach = ankle - hip
    length = np.linalg.norm(reach, axis=-1)
    excess = np.maximum(length - 0.997 * (thigh + shank), 0.0)
    shift = -reach / length[:, None] * excess[:, None]
    low = side.lower()
    return {**pose, **{f"{low}f_{a}": pose[f"{low}f_{a}"] + shift[:, i] for i, a in enumerate("xyz")}}


def find_hand_ball(body: Body, placement: Placement, side: str) -> Array:
    """Centre (T, 3) of a ball held in the fingers of a hand, at every time."""
    wrist = body.bone(f"wrist.{side}")
    fingers = [body.head(f"finger{n}-1.{side}") for n in (2, 3, 4)]
    knuckles = np.mean(fingers, axis=0)
    along = (knuckles - body.head(f"wrist.{side}")) / np.linalg.norm(knuckles - body.head(f"wrist.{side}"))
    palm = _find_palm_normal(body, side)
    offset = knuckles + 0.02 * along + 0.042 * palm - body.head(f"wrist.{side}")
    return placement.heads[:, wrist] + apply(placement.rotations[:, wrist], offset)


def _find_palm_normal(body: Body, side: str) -> Array:
    wrist = body.head(f"wrist.{side}")
    first, last = body.head(f"finger2-1.{side}") - wrist, body.head(f"finger5-1.{side}") - wrist
    normal = np.cross(first, last) if side == "L" else np.cross(last, first)
    return normal / np.linalg.norm(normal)


def _throw_ball(body: Body, placement: Placement, times: Array, flight: tuple[float, float, float]) -> Array:
    """Ball held to release, then flying to the target (a height of 0.8 m), speed a share of the hand's."""
    release_s, target_m, share = flight
    ball = find_hand_ball(body, placement, "R")
    at = int(np.searchsorted(times, release_s))
    hand_speed = float(np.linalg.norm((ball[at + 2] - ball[at - 2]) / 4 * RATE_HZ))
    to_target = np.array([target_m, 0.0, 0.8]) - ball[at]
    flight_s = float(np.linalg.norm(to_target)) / (hand_speed * share)
    velocity = to_target / flight_s - 0.5 * GRAVITY * flight_s
    since = np.maximum(times[at:] - times[at], 0.0)[:, None]
    since = np.minimum(since, flight_s)
    ball[at:] = ball[at] + velocity * since + 0.5 * GRAVITY * since**2
    return ball


def find_arrival(motion: Motion, target_m: float) -> float:
    """Time at which the thrown ball reaches the target, from its speed just after release, seconds."""
    at = int(np.searchsorted(motion.times_s, motion.instants_s["release"]))
    speed = (motion.ball[at + 6, 0] - motion.ball[at + 1, 0]) / 5 * RATE_HZ
    return float(motion.times_s[at] + (target_m - motion.ball[at, 0]) / speed)


def _find_layback(pose: Numbers, times: Array, key_times: dict[str, float]) -> float:
    inside = (times > key_times["contact"]) & (times < key_times["release"])
    return float(times[inside][np.argmax(pose["r_rotation"][inside])])
