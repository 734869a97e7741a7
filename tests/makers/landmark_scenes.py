"""Landmarks of known bodies through known cameras, for tests of landmarks and throws: no detector, no pictures.

The bodies are joint centres in metres in a frame with x to the target and z up: one captured pitch (outside data, see
../shared/data/README.md) and simple movements that are not throws.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.names import Landmark
from elbowroom.core.landmarks.types import RawLandmarks

Array = NDArray[np.float64]
Body = dict[str, Array]
"""Paths (n, 3) of the points by name: head, and side_part such as right_elbow."""

PITCH = Path(__file__).resolve().parents[2].parent / "shared" / "data" / "cmu-mocap" / "pitch_124_01.csv"
"""The captured pitch: 120 Hz, y up, the throw along +z, the pitch in frames 160-560 (1-based)."""
PITCH_CONTACT_S = 434 / 120.0
"""Foot contact of the captured pitch (frame 435, 1-based; allow 5 frames), data README."""
PITCH_FASTEST_S = 446 / 120.0
"""Fastest hand of the captured pitch (frame 447, 1-based; 0-3 frames), data README."""
PITCH_LIFT_S = 357 / 120.0
"""Highest lead knee of the captured pitch (frame 358, 1-based), data README."""

PARTS = ("shoulder", "elbow", "wrist", "hand", "hip", "knee", "ankle", "toe")


def read_pitch() -> tuple[Array, Body]:
    """Return times (643,) and the body of the captured pitch, x to the target, y to the left of it, z up."""
    with PITCH.open() as lines:
        header = lines.readline().strip().split(",")
    data = np.loadtxt(PITCH, delimiter=",", skiprows=1)
    names = [name.removesuffix("_x_m") for name in header[1::3]]
    turned = {name: data[:, 1 + 3 * k : 4 + 3 * k][:, [2, 0, 1]] for k, name in enumerate(names)}
    body = {f"{side}_{part}": turned[f"{part}_{side}"] for side in ("left", "right") for part in PARTS}
    body["head"] = turned["head"]
    for side in ("left", "right"):
        toe, ankle = body[f"{side}_toe"], body[f"{side}_ankle"]
        body[f"{side}_heel"] = ankle - 0.25 * (toe - ankle) - np.array([0.0, 0.0, 0.06])
    return data[:, 0], body


@dataclass(frozen=True, kw_only=True)
class Eye:
    """A pinhole camera at a place that looks at the middle of the body."""

    place: tuple[float, float, float]
    aim: tuple[float, float, float] = (0.2, 0.0, 0.9)
    focal_px: float = 1400.0
    width_px: int = 1280
    height_px: int = 720

    def axes(self) -> Array:
        """Rows: x right, y down, z forward of the camera in the body's frame."""
        forward = np.array(self.aim) - np.array(self.place)
        forward /= np.linalg.norm(forward)
        right = np.cross(forward, [0.0, 0.0, 1.0])
        right /= np.linalg.norm(right)
        return np.stack([right, np.cross(forward, right), forward])

    def see(self, points: Array) -> tuple[Array, Array]:
        """Return pixels (..., 2) and camera coordinates (..., 3) of points (..., 3)."""
        local = (points - np.array(self.place)) @ self.axes().T
        middle = np.array([(self.width_px - 1) / 2, (self.height_px - 1) / 2])
        return local[..., :2] / local[..., 2:] * self.focal_px + middle, local

    def matrix(self) -> Array:
        """The 3 x 4 projection matrix."""
        axes = self.axes()
        middle = [(self.width_px - 1) / 2, (self.height_px - 1) / 2]
        lens = np.array([[self.focal_px, 0, middle[0]], [0, self.focal_px, middle[1]], [0, 0, 1]])
        return lens @ np.column_stack([axes, -axes @ np.array(self.place)])


VIEWS = {
    "open side": Eye(place=(0.3, -6.0, 1.2)),
    "behind": Eye(place=(-6.5, -0.6, 1.4)),
    "front": Eye(place=(8.0, 0.5, 1.3)),
    "glove side": Eye(place=(0.5, 6.0, 1.2)),
    "oblique": Eye(place=(4.5, -4.5, 1.3)),
}


def tie_views(first: Eye, second: Eye) -> Array:
    """Return the fundamental matrix F with x_second^T F x_first = 0."""
    one, two = first.matrix(), second.matrix()
    centre = np.append(np.array(first.place), 1.0)
    epipole = two @ centre
    cross = np.array([[0, -epipole[2], epipole[1]], [epipole[2], 0, -epipole[0]], [-epipole[1], epipole[0], 0]])
    matrix = cross @ two @ np.linalg.pinv(one)
    return np.asarray(matrix / np.linalg.norm(matrix))


def _landmark_points(body: Body) -> Array:
    """Return (n, 33, 3) places of the landmarks; the face is a small rigid piece in front of the head's centre."""
    n = len(body["head"])
    points = np.zeros((n, 33, 3))
    across = body["left_shoulder"] - body["right_shoulder"]
    across = across / np.linalg.norm(across, axis=-1, keepdims=True)
    ahead = np.cross(across, [0.0, 0.0, 1.0])
    for mark in Landmark:
        side, _, part = mark.name.lower().partition("_")
        sign = {"left": 1.0, "right": -1.0}.get(side, 0.0)
        name = f"{side}_{part}"
        if part in ("index", "pinky", "thumb"):
            points[:, mark] = body[f"{side}_hand"]
        elif name in body:
            points[:, mark] = body[name]
        elif mark in (Landmark.LEFT_EAR, Landmark.RIGHT_EAR):
            points[:, mark] = body["head"] + 0.07 * sign * across
        else:
            points[:, mark] = body["head"] + 0.1 * ahead + 0.03 * sign * across
    return points


def see_body(body: Body, eye: Eye, noise_px: float = 0.0, seed: int = 0) -> RawLandmarks:
    """Return the landmarks of a body through a camera, with even confidences and Gaussian noise."""
    points = _landmark_points(body)
    pixels, local = eye.see(points)
    pixels = pixels + noise_px * np.random.default_rng(seed).standard_normal(pixels.shape)
    hips = local[:, [Landmark.LEFT_HIP, Landmark.RIGHT_HIP]].mean(axis=1, keepdims=True)
    n = len(pixels)
    even = np.full((n, 33), 0.9)
    return RawLandmarks(
        pixels=pixels,
        depth_px=(local - hips)[..., 2] * eye.focal_px / hips[..., 2],
        world_m=local - hips,
        visibility=even,
        presence=even,
        peak=even * 0.9,
        spread_px=np.full((n, 33), 8.0),
        person_score=np.ones(n),
        region_size_px=np.full(n, 560.0),
    )


def _stand(n: int) -> Body:
    """Return n pictures of a person of 1.75 m who stands and faces the target."""
    flat = {"shoulder": (0, 0.19, 1.42), "elbow": (0, 0.22, 1.12), "wrist": (0.05, 0.24, 0.86)}
    flat |= {"hand": (0.08, 0.24, 0.78), "hip": (0, 0.09, 0.92), "knee": (0, 0.1, 0.5), "ankle": (0, 0.1, 0.08)}
    flat |= {"toe": (0.17, 0.12, 0.02), "heel": (-0.05, 0.1, 0.02)}
    body = {"head": np.tile([0.02, 0.0, 1.62], (n, 1))}
    for part, (x, y, z) in flat.items():
        body[f"left_{part}"] = np.tile([x, y, z], (n, 1)).astype(float)
        body[f"right_{part}"] = np.tile([x, -y, z], (n, 1)).astype(float)
    return body


def stand_still(times_s: Array) -> Body:
    """A person who stands and sways by 2 cm."""
    body = _stand(len(times_s))
    sway = 0.02 * np.sin(2 * np.pi * 0.5 * times_s)
    return {name: path + np.column_stack([sway, 0.5 * sway, 0 * sway]) for name, path in body.items()}


def _swing_arm(body: Body, side: str, angle: Array, bend: float) -> None:
    """Turn an arm about its shoulder in the plane of the target line; angle 0 hangs, + forward."""
    shoulder = body[f"{side}_shoulder"]
    upper = np.column_stack([np.sin(angle), 0 * angle, -np.cos(angle)])
    lower = np.column_stack([np.sin(angle + bend), 0 * angle, -np.cos(angle + bend)])
    body[f"{side}_elbow"] = shoulder + 0.3 * upper
    body[f"{side}_wrist"] = body[f"{side}_elbow"] + 0.26 * lower
    body[f"{side}_hand"] = body[f"{side}_wrist"] + 0.08 * lower


def walk(times_s: Array, rate_hz: float = 1.0) -> Body:
    """A brisk walk towards the target: 1.5 m/s, arms and legs swinging."""
    body = _stand(len(times_s))
    phase = 2 * np.pi * rate_hz * times_s
    for side, sign in (("left", 1.0), ("right", -1.0)):
        _swing_arm(body, side, -0.55 * sign * np.sin(phase), 0.35)
        leg = 0.45 * sign * np.sin(phase)
        lift = 0.5 * np.maximum(sign * np.cos(phase), 0.0)
        hip = body[f"{side}_hip"]
        knee = hip + 0.42 * np.column_stack([np.sin(leg + lift), 0 * leg, -np.cos(leg + lift)])
        ankle = knee + 0.42 * np.column_stack([np.sin(leg - lift), 0 * leg, -np.cos(leg - lift)])
        body[f"{side}_knee"], body[f"{side}_ankle"] = knee, ankle
        body[f"{side}_toe"], body[f"{side}_heel"] = (
            ankle + np.array([0.17, 0, -0.06]),
            ankle - np.array([0.05, 0, 0.06]),
        )
    travel = np.column_stack([1.5 * times_s - 3.0, 0 * times_s, 0 * times_s])
    return {name: path + travel for name, path in body.items()}


def catch_ball(times_s: Array) -> Body:
    """A catch: the left hand goes up to the chest's height in front within 0.25 s and gives back 15 cm."""
    body = stand_still(times_s)
    middle = float(times_s.mean())
    reach = 1.0 / (1.0 + np.exp(-(times_s - middle) / 0.05))
    give = 0.25 * np.exp(-0.5 * ((times_s - middle - 0.35) / 0.05) ** 2)
    _swing_arm(body, "left", 1.5 * reach - give, 0.4)
    _swing_arm(body, "right", 1.1 * reach - give, 0.9)
    return body


def swing_both_hands(times_s: Array) -> Body:
    """A practice swing as with a bat: both hands together sweep about the trunk in 0.2 s, with a short step."""
    body = stand_still(times_s)
    middle = float(times_s.mean())
    turn = -1.9 + 3.6 / (1.0 + np.exp(-(times_s - middle) / 0.035))
    for side, shift in (("left", 0.04), ("right", -0.04)):
        hands = np.column_stack([0.62 * np.cos(turn), 0.62 * np.sin(turn) + shift, np.full(len(times_s), 1.15)])
        body[f"{side}_wrist"], body[f"{side}_hand"] = hands, hands * [1.1, 1.1, 1.0]
        body[f"{side}_elbow"] = 0.5 * (hands + body[f"{side}_shoulder"]) - [0, 0, 0.1]
    step = 0.3 / (1.0 + np.exp(-(times_s - middle + 0.4) / 0.05))
    for part in ("knee", "ankle", "toe", "heel"):
        share = 0.5 if part == "knee" else 1.0
        body[f"left_{part}"] = body[f"left_{part}"] + np.column_stack([share * step, 0 * step, 0 * step])
    return body


def swing_arm_standing(times_s: Array) -> Body:
    """A practice swing of the throwing arm alone, feet still: from behind the head down across in 0.3 s."""
    body = stand_still(times_s)
    middle = float(times_s.mean())
    angle = 3.6 - 3.4 / (1.0 + np.exp(-(times_s - middle) / 0.06))
    _swing_arm(body, "right", angle, 0.3)
    return body


NOT_THROWS: dict[str, Callable[[Array], Body]] = {
    "standing": stand_still,
    "walk": walk,
    "catch": catch_ball,
    "practice swing with both hands": swing_both_hands,
    "practice swing of the arm, feet still": swing_arm_standing,
}
