"""The exact truth beside the clips: joints at 1000 Hz, instants, cameras, clocks, board and ground marks."""

import json
from dataclasses import asdict
from pathlib import Path

import numpy as np

from rendering.bodies import Body
from rendering.cameras import Phone, project_points
from rendering.motion import Motion, find_hand_ball, measure_foot
from rendering.rotations import Array, apply
from rendering.scene import PLATE_FRONT_X_M, PLATE_SIZE_M

SIDES = (("left", "L"), ("right", "R"))
BONE_JOINTS = {
    "shoulder": "upperarm01", "elbow": "lowerarm01", "wrist": "wrist",
    "hip": "upperleg01", "knee": "lowerleg01", "ankle": "foot",
}  # fmt: skip
JOINT_NAMES = (
    "head", "nose", "neck", "left_ear", "right_ear",
    *(f"{side}_{part}" for part in (*BONE_JOINTS, "hand", "heel", "toe") for side in ("left", "right")),
    "ball",
)  # fmt: skip
"""Order of the joints in every array. Sides are the body's own; hand is the mean of the four finger bases."""


def find_joints(motion: Motion) -> Array:
    """Joint centres and marks (T, J, 3) in the field frame (never mirrored), in the order of JOINT_NAMES."""
    body, place = motion.body, motion.placement
    found = {**_find_head_points(motion), "ball": motion.ball}
    found["neck"] = place.heads[:, body.bone("neck01")]
    for side, letter in SIDES:
        for part, bone in BONE_JOINTS.items():
            found[f"{side}_{part}"] = place.heads[:, body.bone(f"{bone}.{letter}")]
        fingers = np.mean([body.head(f"finger{n}-1.{letter}") for n in (2, 3, 4, 5)], axis=0)
        found[f"{side}_hand"] = _carry(motion, f"wrist.{letter}", fingers)
        heel, tip = measure_foot(body, letter)
        found[f"{side}_heel"] = _carry(motion, f"foot.{letter}", heel)
        found[f"{side}_toe"] = _carry(motion, f"toe2-1.{letter}", tip)
    return np.stack([found[name] for name in JOINT_NAMES], axis=1)


def _carry(motion: Motion, bone: str, point: Array) -> Array:
    """Where a rest point (3,) goes with a bone, (T, 3)."""
    at = motion.body.bone(bone)
    return motion.placement.heads[:, at] + apply(motion.placement.rotations[:, at], point - motion.body.heads[at])


def _find_head_points(motion: Motion) -> dict[str, Array]:
    spots = measure_head(motion.body)
    return {name: _carry(motion, "head", spot) for name, spot in spots.items()}


def measure_head(body: Body) -> dict[str, Array]:
    """Rest points (3,): middle of the head (between the ears), nose tip and ears."""
    mesh = body.vertices
    base = body.head("head")
    skull = mesh[mesh[:, 2] > base[2]]
    nose = skull[np.argmax(skull[:, 0] - 0.2 * np.abs(skull[:, 1]))]
    left, right = skull[np.argmax(skull[:, 1])], skull[np.argmin(skull[:, 1])]
    return {"head": (left + right) / 2, "nose": nose, "left_ear": left, "right_ear": right}


def find_marks() -> dict[str, list[float]]:
    """Marks of known size on the ground: plate corners and ends of the tape cross, metres in the field frame."""
    back, half = PLATE_FRONT_X_M - PLATE_SIZE_M[0], PLATE_SIZE_M[1] / 2
    return {
        "plate_front_left": [PLATE_FRONT_X_M, half, 0.0],
        "plate_front_right": [PLATE_FRONT_X_M, -half, 0.0],
        "plate_back_left": [back, half, 0.0],
        "plate_back_right": [back, -half, 0.0],
        "tape_middle": [2.2, 0.0, 0.0],
        "tape_far": [2.7, 0.0, 0.0],
        "tape_near": [1.7, 0.0, 0.0],
        "tape_left": [2.2, 0.5, 0.0],
        "tape_right": [2.2, -0.5, 0.0],
    }


def describe_phone(phone: Phone, files: dict[str, str], picture_count: int) -> dict[str, object]:
    """What the truth file says of one phone."""
    said = {k: v.tolist() if isinstance(v, np.ndarray) else v for k, v in asdict(phone).items()}
    said["clip"], said["board_clip"] = files["clip"], files["board"]
    said["picture_count"] = picture_count
    said["centre_m"] = phone.centre.tolist()
    said["time_rule"] = (
        "world time of row r of picture n = times_<phone>[n] + r * row_time_s; that is also start_s + stamp * "
        "(1 + drift) + r * row_time_s, stamp being the picture's time in the clip, divided by the slow-down if any"
    )
    marks = {name: project_points(phone, np.array(spot)).tolist() for name, spot in find_marks().items()}
    said["marks_px"] = marks
    return said


def describe_throw(motion: Motion, starts_s: float, arrival_s: float, kind: str) -> dict[str, object]:
    """What the truth file says of one throw: instants and the ball's arrival in world seconds."""
    return {
        "kind": kind,
        "throwing_side": motion.throwing_side,
        "starts_s": starts_s,
        "ends_s": starts_s + float(motion.times_s[-1]),
        "instants_s": {name: starts_s + at for name, at in motion.instants_s.items()},
        "ball_arrives_s": arrival_s,
    }


def find_ball_speed(motion: Motion) -> float:
    """Speed of the held ball just before release, m/s."""
    hand = find_hand_ball(motion.body, motion.placement, motion.throwing_side)
    at = int(np.searchsorted(motion.times_s, motion.instants_s["release"]))
    return float(np.linalg.norm(hand[at + 1] - hand[at - 1]) / (motion.times_s[at + 1] - motion.times_s[at - 1]))


def write_truth(folder: Path, story: dict[str, object], arrays: dict[str, Array]) -> None:
    """Write truth.json (small) and truth.npz (arrays)."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "truth.json").write_text(json.dumps(story, indent=1) + "\n")
    np.savez_compressed(folder / "truth.npz", joint_names=np.array(JOINT_NAMES), **arrays)  # type: ignore[arg-type]
