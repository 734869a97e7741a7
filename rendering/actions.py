"""What is not a throw: going back to the plate, standing, walking, a dry arm swing, a catch."""

import numpy as np

from rendering.bodies import Body
from rendering.delivery import Delivery
from rendering.keys import KEY_NAMES, build_key_times
from rendering.motion import (
    RATE_HZ,
    Motion,
    build_pose,
    find_hand_ball,
    find_height,
    join_keys,
    keep_within_reach,
    place_keys,
)
from rendering.rotations import Array
from rendering.skeleton import Numbers, mirror_placement, place_body, turn_trunk

GOING_BACK_S = 0.9
FEET = tuple(f"{side}f_{part}" for side in "rl" for part in ("x", "y", "z", "yaw", "pitch"))


def build_action(body: Body, pose: Numbers, throwing_side: str) -> Motion:
    """A motion without instants from a right-hander's pose numbers; the ball rests in the glove."""
    placement = place_body(body, pose)
    ball = find_hand_ball(body, placement, "L")
    if throwing_side == "L":
        placement, ball = mirror_placement(body, placement), ball * np.array([1.0, -1.0, 1.0])
    times = np.arange(len(ball)) / RATE_HZ
    return Motion(body=body, times_s=times, placement=placement, ball=ball, instants_s={}, throwing_side=throwing_side)


def build_return(body: Body, before: Delivery, after: Delivery, throwing_side: str) -> Motion:
    """Three steps back from the finish of one throw to the set position of the next."""
    end = {name: row[-1] for name, row in build_pose(body, before)[1].items()}
    start = {name: row[0] for name, row in build_pose(body, after)[1].items()}
    times = np.arange(0.0, GOING_BACK_S, 1.0 / RATE_HZ)
    shares = np.array([0.0, 0.3, 0.6, 0.9, 1.0]) * GOING_BACK_S
    pose = {name: join_keys(shares[[0, 3, 4]], np.array([end[name], start[name], start[name]]), times) for name in end}
    half = 0.5 * (end["rf_x"] + start["rf_x"])
    rows = {
        "rf_x": [end["rf_x"], half, half, start["rf_x"], start["rf_x"]],
        "lf_x": [end["lf_x"], end["lf_x"], start["lf_x"], start["lf_x"], start["lf_x"]],
        "lf_y": [end["lf_y"], end["lf_y"], start["lf_y"], start["lf_y"], start["lf_y"]],
        "lf_yaw": [end["lf_yaw"], end["lf_yaw"], start["lf_yaw"], start["lf_yaw"], start["lf_yaw"]],
    }
    pose.update({name: join_keys(shares, np.array(row), times) for name, row in rows.items()})
    for low, steps in (("r", ((0.0, 0.3), (0.6, 0.9))), ("l", ((0.3, 0.6),))):
        pose[f"{low}f_z"] = sum((_step(times / GOING_BACK_S, a, b) for a, b in steps), 0 * times)
    return build_action(body, _stand_up(body, pose), throwing_side)


def _step(shares: Array, begin: float, end: float) -> Array:
    """Height of a foot during one step, metres."""
    inside = np.clip((shares - begin) / (end - begin), 0, 1)
    return np.asarray(0.07 * np.sin(np.pi * inside) ** 2)


def _stand_up(body: Body, pose: Numbers, bend_deg: float = 16.0) -> Numbers:
    """Hips as high as both legs allow with knees bent a little; keyed hip height bends in where it was lower."""
    pelvis = turn_trunk(pose["pelvis_open"], pose["pelvis_forward"], pose["pelvis_side"])
    bend = np.full_like(pose["pelvis_x"], bend_deg)
    top = np.minimum(find_height(body, pose, pelvis, ("R", bend)), find_height(body, pose, pelvis, ("L", bend)))
    ends = np.linspace(0, 1, len(bend))
    if "pelvis_z" in pose:
        top = np.where((ends < 0.08) | (ends > 0.95), np.minimum(pose["pelvis_z"], top + 0.05), top)
    pose = {**pose, "pelvis_z": join_keys(np.arange(len(top)) / RATE_HZ, top, np.arange(len(top)) / RATE_HZ)}
    return keep_within_reach(body, pose, np.arange(len(bend)) / RATE_HZ, np.inf)


def _stand(body: Body, seconds: float) -> tuple[Array, Numbers]:
    """Times and pose numbers of somebody standing still, facing the target, arms hanging."""
    times = np.arange(0.0, seconds, 1.0 / RATE_HZ)
    keys = place_keys(body, Delivery())
    pose = {name: np.full(len(times), row[0]) for name, row in keys.items()}
    pose.update(dict.fromkeys(("pelvis_open", "trunk_open"), 0 * times + 90.0))
    pose["head_yaw"] = 6 * np.sin(times)
    for low, sign in (("r", -1.0), ("l", 1.0)):
        pose[f"{low}f_yaw"] = 0 * times + sign * 8.0
        pose[f"{low}f_x"], pose[f"{low}f_y"] = 0 * times + 0.05, 0 * times + sign * 0.11
        hanging = {"line": -76, "front": 6, "rotation": -20, "flexion": 18}
        pose.update({f"{low}_{k}": 0 * times + v for k, v in hanging.items()})
    pose["pelvis_x"], pose["pelvis_y"] = 0.01 * np.sin(1.3 * times), 0.012 * np.sin(0.9 * times)
    return times, pose


def build_standing(body: Body, throwing_side: str, seconds: float = 2.5) -> Motion:
    """Standing with a little sway."""
    return build_action(body, _stand_up(body, _stand(body, seconds)[1]), throwing_side)


def build_walk(body: Body, throwing_side: str, seconds: float = 2.6) -> Motion:
    """Walking to the target, arms swinging."""
    times, pose = _stand(body, seconds)
    stride, period = 0.34 * body.build.height_m, 0.52
    pose["pelvis_x"] = -0.6 + stride / period * times
    phase = np.pi * times / period
    for low, shift in (("r", 0.0), ("l", 1.0)):
        count = times / period + shift
        moving = np.clip(2 * ((count / 2) % 1.0), 0, 1)
        step = 0.5 - 0.5 * np.cos(np.pi * np.clip(moving, 0, 1))
        pose[f"{low}f_x"] = -0.6 + stride * (2 * np.floor(count / 2) - shift + 2 * step - 0.5)
        pose[f"{low}f_z"] = 0.05 * np.sin(np.pi * moving) ** 2
        swing = np.sin(phase + np.pi * shift)
        pose[f"{low}_front"], pose[f"{low}_flexion"] = 8 + 24 * swing, 24 + 12 * swing
    return build_action(body, _stand_up(body, pose, 12.0), throwing_side)


def build_dry_swing(body: Body, throwing_side: str, slow: float = 2.4) -> Motion:
    """The arm's way of a throw, slowly, standing sideways with both feet on the ground and no ball leaving."""
    delivery = Delivery()
    keys = place_keys(body, delivery)
    gaps = np.diff([build_key_times(delivery)[name] for name in KEY_NAMES])
    stretch = slow * np.array([0.3] * 2 + [0.5] * 3 + [1.6] * 5)
    key_times = np.concatenate([[0.0], np.cumsum(gaps * stretch)])
    times = np.arange(0.0, key_times[-1], 1.0 / RATE_HZ)
    for name in (*FEET, "pelvis_x", "pelvis_y"):
        keys[name] = np.full_like(keys[name], keys[name][0])
    keys["pelvis_open"], keys["trunk_open"] = 0.4 * keys["pelvis_open"], 0.6 * keys["trunk_open"]
    keys["trunk_forward"], keys["pelvis_forward"] = 0.5 * keys["trunk_forward"], 0.3 * keys["pelvis_forward"]
    pose = {name: join_keys(key_times, row, times) for name, row in keys.items()}
    return build_action(body, _stand_up(body, pose), throwing_side)


def build_catch(body: Body, throwing_side: str) -> Motion:
    """Standing facing the target, the glove reaches up and forward and gives."""
    times, pose = _stand(body, 2.2)
    keys = np.array([0.0, 0.5, 0.9, 1.05, 1.3, 1.8, 2.2])
    rows = {
        "l_line": [-76, -76, -20, -5, -20, -60, -76],
        "l_front": [6, 6, 60, 68, 50, 30, 6],
        "l_rotation": [-20, -20, 30, 40, 30, -10, -20],
        "l_flexion": [18, 18, 50, 30, 80, 90, 18],
        "r_line": [-76, -76, -50, -45, -45, -55, -76],
        "r_front": [6, 6, 40, 45, 45, 35, 6],
        "r_flexion": [18, 18, 80, 85, 90, 90, 18],
    }
    pose.update({name: join_keys(keys, np.array(row, float), times) for name, row in rows.items()})
    return build_action(body, _stand_up(body, pose), throwing_side)
