"""From pose numbers over time to the placement of every bone: rotations and heads in the field frame."""

from dataclasses import dataclass

import numpy as np

from rendering.bodies import Body
from rendering.rotations import (
    Array,
    apply,
    blend_rotations,
    build_frame,
    make_unit,
    rotate_about,
    rotate_about_vector,
    turn_shortest,
)

Numbers = dict[str, Array]
MIRROR = np.diag([1.0, -1.0, 1.0])
SPINE = {"spine05": 0.1, "spine04": 0.3, "spine03": 0.55, "spine02": 0.8, "spine01": 1.0}
NECK = {"neck01": 0.3, "neck02": 0.55, "neck03": 0.8, "head": 1.0}


@dataclass(frozen=True, kw_only=True)
class Placement:
    """Where every bone is: a rest point v moves to rotation @ (v - rest head) + head."""

    rotations: Array
    """Turn of each bone from the standing rest pose to the field frame, (T, B, 3, 3)."""
    heads: Array
    """Joint centre of each bone in the field frame, (T, B, 3)."""


@dataclass(frozen=True, kw_only=True)
class Leg:
    """One leg over time: where its hip and ankle are and how thigh, shank, foot and toes are turned."""

    thigh: Array
    """Turn of the thigh, (T, 3, 3)."""
    shank: Array
    """Turn of the shank, (T, 3, 3)."""
    foot: Array
    """Turn of the foot, (T, 3, 3)."""
    toes: Array
    """Turn of the toes, (T, 3, 3)."""


def turn_trunk(opening_deg: Array, forward_deg: Array, side_deg: Array) -> Array:
    """Turns (T, 3, 3) of a trunk from its opening and its leans in the field's sagittal and frontal planes."""
    axis = np.stack([np.tan(np.radians(forward_deg)), np.tan(np.radians(side_deg))], axis=-1)
    up = make_unit(np.concatenate([axis, np.ones((len(axis), 1))], axis=1))
    return turn_shortest(np.array([0.0, 0.0, 1.0]), up) @ rotate_about("z", opening_deg - 90.0)


def place_body(body: Body, pose: Numbers) -> Placement:
    """Every bone of a right-hander posed by pose numbers (each (T,)); `pelvis_z` is the height of the hips."""
    turns = _turn_segments(body, pose)
    rotations = _spread_over_bones(body, turns)
    middle = (body.head("upperleg01.L") + body.head("upperleg01.R")) / 2
    hips = np.stack([pose["pelvis_x"], pose["pelvis_y"], pose["pelvis_z"]], axis=-1)
    root = hips + apply(turns["pelvis"], body.heads[0] - middle)
    heads = _chain_heads(body, rotations, root)
    return Placement(rotations=rotations, heads=heads)


def mirror_placement(body: Body, placement: Placement) -> Placement:
    """The same motion by a left-hander: mirrored in the field's x-z plane, left and right bones exchanged."""
    swap = [body.labels.index(_swap_side(label)) for label in body.labels]
    return Placement(rotations=MIRROR @ placement.rotations[:, swap] @ MIRROR, heads=placement.heads[:, swap] @ MIRROR)


def _swap_side(label: str) -> str:
    if label.endswith(".L"):
        return label[:-1] + "R"
    return label[:-1] + "L" if label.endswith(".R") else label


def _turn_segments(body: Body, pose: Numbers) -> Numbers:
    pelvis = turn_trunk(pose["pelvis_open"], pose["pelvis_forward"], pose["pelvis_side"])
    thorax = turn_trunk(pose["trunk_open"], pose["trunk_forward"], pose["trunk_side"])
    head = turn_trunk(pose["head_yaw"] + 90.0, pose["head_forward"], pose["head_side"])
    turns = {"pelvis": pelvis, "thorax": thorax, "head": head}
    for side in "RL":
        turns.update(_turn_arm(body, pose, thorax, side))
        leg = solve_leg(body, pose, pelvis, side)
        turns.update({f"{n}.{side}": getattr(leg, n) for n in ("thigh", "shank", "foot", "toes")})
    return turns


def _turn_arm(body: Body, pose: Numbers, thorax: Array, side: str) -> Numbers:
    low = side.lower()
    line, front = np.radians(pose[f"{low}_line"]), np.radians(pose[f"{low}_front"])
    turn, bend = np.radians(pose[f"{low}_rotation"]), np.radians(pose[f"{low}_flexion"])
    upper = np.stack([np.sin(front), -np.cos(front) * np.cos(line), np.cos(front) * np.sin(line)], axis=-1)
    ahead = apply(turn_shortest(np.array([0.0, -1.0, 0.0]), upper), np.array([1.0, 0.0, 0.0]))
    above = np.cross(upper, ahead)
    aside = np.cos(turn)[:, None] * ahead + np.sin(turn)[:, None] * above
    fore = np.cos(bend)[:, None] * upper + np.sin(bend)[:, None] * aside
    if side == "L":
        upper, aside, fore = upper @ MIRROR, aside @ MIRROR, fore @ MIRROR
    rest = _rest_arm(body, side)
    hinge = np.cross(upper, aside)
    to_upper = thorax @ build_frame(upper, hinge) @ rest["upper"].T
    to_fore = thorax @ build_frame(fore, hinge) @ rest["fore"].T
    return _spread_arm(body, pose, (thorax, to_upper, to_fore), side)


def _rest_arm(body: Body, side: str) -> dict[str, Array]:
    shoulder, elbow = body.head(f"upperarm01.{side}"), body.head(f"lowerarm01.{side}")
    upper, fore = elbow - shoulder, body.head(f"wrist.{side}") - elbow
    hinge = np.cross(upper, fore)
    return {"upper": build_frame(upper, hinge), "fore": build_frame(fore, hinge)}


def _spread_arm(body: Body, pose: Numbers, turns: tuple[Array, Array, Array], side: str) -> Numbers:
    """Share the upper arm's twist between its two bones, and add pronation and wrist to the hand."""
    thorax, upper, fore = turns
    rest = _rest_arm(body, side)
    swing = turn_shortest(apply(thorax, rest["upper"][:, 0]), apply(upper, rest["upper"][:, 0])) @ thorax
    sign = -1.0 if side == "R" else 1.0
    pronation = sign * np.radians(pose[f"{side.lower()}_pronation"])
    along = apply(fore, rest["fore"][:, 0])
    turned = rotate_about_vector(along, pronation) @ fore
    hinge = apply(turned, rest["fore"][:, 1])
    hand = rotate_about_vector(hinge, np.radians(pose[f"{side.lower()}_wrist"])) @ turned
    half = blend_rotations(swing, upper, 0.5)
    return {
        f"upper1.{side}": half,
        f"upper2.{side}": upper,
        f"fore1.{side}": fore,
        f"fore2.{side}": blend_rotations(fore, turned, 0.6),
        f"hand.{side}": hand,
        f"clavicle.{side}": blend_rotations(thorax, swing, 0.12),
    }


def measure_leg(body: Body, side: str) -> tuple[float, float]:
    """Lengths of thigh and shank (joint centre to joint centre), metres."""
    hip, knee = body.head(f"upperleg01.{side}"), body.head(f"lowerleg01.{side}")
    ankle = body.head(f"foot.{side}")
    return float(np.linalg.norm(knee - hip)), float(np.linalg.norm(ankle - knee))


def find_hip(body: Body, pose: Numbers, pelvis: Array, side: str) -> Array:
    """Hip centre (T, 3) in the field frame."""
    middle = (body.head("upperleg01.L") + body.head("upperleg01.R")) / 2
    centre = np.stack([pose["pelvis_x"], pose["pelvis_y"], pose["pelvis_z"]], axis=-1)
    return centre + apply(pelvis, body.head(f"upperleg01.{side}") - middle)


def turn_foot(pose: Numbers, side: str) -> tuple[Array, Array]:
    """Turns (T, 3, 3) of the foot (heel raised about the ball) and of the toes, which stay flatter."""
    low = "r" if side == "R" else "l"
    yaw = rotate_about("z", pose[f"{low}f_yaw"])
    pitch = pose[f"{low}f_pitch"]
    return yaw @ rotate_about("y", pitch), yaw @ rotate_about("y", np.maximum(pitch - 45.0, 0.0))


def find_ball_of_foot(body: Body, side: str) -> Array:
    """The point at rest about which a foot rolls: below the second toe's joint, at the sole."""
    joint = body.head(f"toe2-1.{side}")
    return np.array([joint[0], joint[1], 0.0])


def find_ankle(body: Body, pose: Numbers, foot: Array, side: str) -> Array:
    """Ankle centre (T, 3) from the place of the ball of the foot and the foot's turn."""
    low = "r" if side == "R" else "l"
    ball = np.stack([pose[f"{low}f_x"], pose[f"{low}f_y"], pose[f"{low}f_z"]], axis=-1)
    return ball + apply(foot, body.head(f"foot.{side}") - find_ball_of_foot(body, side))


def solve_leg(body: Body, pose: Numbers, pelvis: Array, side: str) -> Leg:
    """Two-bone inverse kinematics of a leg; the knee points between the toes and the front of the pelvis."""
    foot, toes = turn_foot(pose, side)
    hip, ankle = find_hip(body, pose, pelvis, side), find_ankle(body, pose, foot, side)
    thigh_m, shank_m = measure_leg(body, side)
    reach = ankle - hip
    length = np.clip(np.linalg.norm(reach, axis=-1), 0.3 * thigh_m, 0.9995 * (thigh_m + shank_m))
    along = make_unit(reach)
    cosine = (thigh_m**2 + length**2 - shank_m**2) / (2 * thigh_m * length)
    lean = np.arccos(np.clip(cosine, -1, 1))
    flat = np.array([1.0, 1.0, 0.15])
    pole = make_unit(foot[:, :, 0] * flat) + make_unit(pelvis[:, :, 0])
    frame = build_frame(along, pole)
    thigh_axis = np.cos(lean)[:, None] * frame[..., 0] + np.sin(lean)[:, None] * frame[..., 1]
    shank_axis = hip + along * length[:, None] - (hip + thigh_m * thigh_axis)
    hinge = frame[..., 2]
    rest = [_rest_limb(body, f"upperleg01.{side}", f"lowerleg01.{side}")]
    rest.append(_rest_limb(body, f"lowerleg01.{side}", f"foot.{side}"))
    thigh = build_frame(thigh_axis, hinge) @ rest[0].T
    return Leg(thigh=thigh, shank=build_frame(shank_axis, hinge) @ rest[1].T, foot=foot, toes=toes)


def _rest_limb(body: Body, start: str, end: str) -> Array:
    along = body.head(end) - body.head(start)
    return build_frame(along, np.cross(along, np.array([1.0, 0.0, 0.0])))


def _spread_over_bones(body: Body, turns: Numbers) -> Array:
    count = len(turns["pelvis"])
    rotations = np.empty((count, len(body.labels), 3, 3))
    for i, label in enumerate(body.labels):
        own = _find_turn(label, turns)
        rotations[:, i] = rotations[:, body.parents[i]] if own is None else own
    return rotations


def _find_turn(label: str, turns: Numbers) -> Array | None:
    if label in SPINE:
        return blend_rotations(turns["pelvis"], turns["thorax"], SPINE[label])
    if label in NECK:
        return blend_rotations(turns["thorax"], turns["head"], NECK[label])
    part, _, side = label.partition(".")
    names = {
        "root": "pelvis", "clavicle": "clavicle", "upperarm01": "upper1", "upperarm02": "upper2",
        "lowerarm01": "fore1", "lowerarm02": "fore2", "wrist": "hand", "upperleg01": "thigh",
        "upperleg02": "thigh", "lowerleg01": "shank", "lowerleg02": "shank", "foot": "foot",
    }  # fmt: skip
    if part.startswith("toe"):
        return turns[f"toes.{side}"]
    name = names.get(part)
    if name is None:
        return None
    return turns[name] if name == "pelvis" else turns[f"{name}.{side}"]


def _chain_heads(body: Body, rotations: Array, root: Array) -> Array:
    """Heads (T, B, 3) down the chain; elbow and wrist ride on one bone each, so bones keep their lengths."""
    heads = np.empty((len(root), len(body.labels), 3))
    heads[:, 0] = root
    for i, parent in enumerate(body.parents):
        if parent < 0:
            continue
        start, carrier = _find_carrier(body, i)
        heads[:, i] = heads[:, start] + apply(rotations[:, carrier], body.heads[i] - body.heads[start])
    return heads


def _find_carrier(body: Body, index: int) -> tuple[int, int]:
    part, _, side = body.labels[index].partition(".")
    parent = body.parents[index]
    if part == "lowerarm01":
        return body.bone(f"upperarm01.{side}"), parent
    if part == "wrist":
        return body.bone(f"lowerarm01.{side}"), body.bone(f"lowerarm01.{side}")
    return parent, parent
