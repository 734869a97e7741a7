"""The field frame from the thrower: which way is up, how large things are, where the ground is and where the target.

Up: at the lift the thrower balances on the pivot leg, so that the centre of mass stands over the pivot foot; where the
ground is level, both planted feet are equally high; and phones stand on tripods that were levelled by eye. Scale:
shank, thigh, trunk and neck one after another are a known share of the standing height. Ground: heels and toes of
planted feet.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from elbowroom.core.landmarks.names import Joint
from elbowroom.core.reconstruction.types import Array

CHAIN_SHARE = 0.890
"""Ankle to knee to hip to mid-shoulder to mid-ear, end to end, over standing height: 0.891 from segment heights of
Drillis and Contini 1966 (ear 0.930, ankle 0.039 of height; from memory), 0.888 (SD 0.005) on rendered bodies."""
CHAIN_SPREAD = 0.015
"""Its spread between people, relative; chosen by this project (sitting height over height varies by about 2 %)."""
BALANCE_DEG = 2.5
"""How far from plumb the centre of mass, as landmarks tell it, may stand over the foot at the lift: 4 cm at 1 m; chosen
by this project, 1 to 3 on rendered throws."""
ROLL_DEG = 1.5
"""How far from level a phone on a tripod stands that was levelled by eye (common practice, no source)."""
FEET_DEG = {True: 0.8, False: 3.0}
"""How well equally high feet hold the vertical along the stride: on level ground, or on a mound of unknown slope."""
FOOT_HEIGHT_M = 0.02
"""Height of heel and toe points over the ground when the foot is planted."""
SEGMENTS = (
    # both ends, share of body mass, centre of mass from the first end: de Leva 1996 (second-hand copy), rounded
    ("SHOULDER", "ELBOW", 0.027, 0.577),
    ("ELBOW", "HAND", 0.022, 0.6),
    ("HIP", "KNEE", 0.142, 0.410),
    ("KNEE", "ANKLE", 0.043, 0.446),
    ("HEEL", "TOE", 0.014, 0.5),
)
"""Segments of one side."""
TRUNK_SHARE, TRUNK_CENTRE, HEAD_SHARE = 0.435, 0.55, 0.069
"""Mass of trunk and head, and the trunk's centre from the shoulders down to the hips (de Leva 1996, rounded)."""


@dataclass(frozen=True, kw_only=True)
class Postures:
    """The joints of every throw at the lift and just after foot contact, in any frame."""

    lift: Array
    """(k, 19, 3) joints when the lead knee is highest."""
    contact: Array
    """(k, 19, 3) joints when the lead foot is planted."""
    throwing_right: bool
    """Whether the RIGHT arm throws."""
    height_m: float
    """Standing height of the athlete, metres."""
    is_level: bool
    """Whether pivot and lead foot stand on one level."""
    levels: Array
    """(v, 3) direction of each camera's picture rows, which a tripod holds level, in the same frame."""


@dataclass(frozen=True, kw_only=True)
class FieldFrame:
    """How to come from the present frame to the field frame: p_field = scale * turn @ (p - origin)."""

    turn: Array
    """(3, 3) rotation; its rows are the field's axes in the present frame."""
    origin: Array
    """(3,) middle of the pivot foot at the lift, on the ground, in the present frame."""
    scale_factor: float
    """Metres in one unit of the present frame."""


def find_field_frame(postures: Postures) -> FieldFrame:
    """Return the field frame with x along the mean stride, z up, origin under the pivot foot."""
    pivot, lead = name_feet(postures.throwing_right)
    scale = postures.height_m * CHAIN_SHARE / measure_chain_span(postures.lift, postures.throwing_right)
    foot = average_foot(postures.lift, pivot)
    landed = average_foot(postures.contact, lead)
    up = find_up(locate_mass(postures.lift) - foot, landed - foot, postures)
    turn = build_axes(np.mean(landed - foot, axis=0), up)
    low = 0.5 * (foot @ up + landed @ up) if postures.is_level else foot @ up
    ground = float(np.median(low)) - FOOT_HEIGHT_M / scale
    origin = foot.mean(axis=0)
    return FieldFrame(turn=turn, origin=origin + (ground - origin @ up) * up, scale_factor=scale)


def name_feet(throwing_right: bool) -> tuple[str, str]:
    """Return the sides of pivot and lead foot."""
    return ("RIGHT", "LEFT") if throwing_right else ("LEFT", "RIGHT")


def average_foot(joints: Array, side: str) -> Array:
    """Return the middle (k, 3) of heel and toe."""
    middle: Array = 0.5 * (joints[:, Joint[f"{side}_HEEL"]] + joints[:, Joint[f"{side}_TOE"]])
    return middle


def measure_chain_span(lift: Array, throwing_right: bool) -> float:
    """Return the mean length from the pivot ankle over knee, hip and shoulders to the ears, end to end."""
    side, _ = name_feet(throwing_right)
    shoulders = average_pair(lift, "SHOULDER")
    hips = average_pair(lift, "HIP")
    steps = [
        lift[:, Joint[f"{side}_ANKLE"]] - lift[:, Joint[f"{side}_KNEE"]],
        lift[:, Joint[f"{side}_KNEE"]] - lift[:, Joint[f"{side}_HIP"]],
        hips - shoulders,
        shoulders - lift[:, Joint.HEAD],
    ]
    return float(np.mean(sum(np.linalg.norm(step, axis=1) for step in steps)))


def average_pair(joints: Array, part: str) -> Array:
    """Return the middle (k, 3) between the right and the left joint of a kind."""
    middle: Array = 0.5 * (joints[:, Joint[f"RIGHT_{part}"]] + joints[:, Joint[f"LEFT_{part}"]])
    return middle


def locate_mass(joints: Array) -> Array:
    """Return the centre of mass (k, 3) of the body."""
    shoulders, hips = average_pair(joints, "SHOULDER"), average_pair(joints, "HIP")
    total = HEAD_SHARE * joints[:, Joint.HEAD]
    total = total + TRUNK_SHARE * ((1.0 - TRUNK_CENTRE) * shoulders + TRUNK_CENTRE * hips)
    mass = HEAD_SHARE + TRUNK_SHARE
    for side in ("RIGHT", "LEFT"):
        for near, far, share, centre in SEGMENTS:
            ends = joints[:, Joint[f"{side}_{near}"]], joints[:, Joint[f"{side}_{far}"]]
            total, mass = total + share * ((1.0 - centre) * ends[0] + centre * ends[1]), mass + share
    located: Array = total / mass
    return located


def find_up(balance: Array, stride: Array, postures: Postures) -> Array:
    """Return the unit vector up from the directions foot to mass (k, 3) at the lift and foot to foot (k, 3), and from
    the rows of the cameras' pictures; least squares of the small angles by which each is not plumb or level."""
    plumb = np.mean(balance / np.linalg.norm(balance, axis=1, keepdims=True), axis=0)
    plumb /= np.linalg.norm(plumb)
    along = np.mean(stride, axis=0)
    level = np.vstack([along / np.linalg.norm(along), postures.levels])
    weights = np.array([FEET_DEG[postures.is_level], *[ROLL_DEG] * len(postures.levels)]) ** -2
    flat = level - np.outer(level @ plumb, plumb)
    information = np.eye(3) / BALANCE_DEG**2 + (flat * weights[:, None]).T @ flat
    up: Array = plumb - np.linalg.solve(information, flat.T @ (weights * (level @ plumb)))
    return up / np.linalg.norm(up)


def estimate_up_standard_deg(postures: Postures) -> float:
    """Return the larger standard uncertainty of the vertical that balance, feet and tripods leave, degrees."""
    frame = find_field_frame(postures)
    level = np.vstack([[1.0, 0.0, 0.0], postures.levels @ frame.turn.T])[:, :2]
    weights = np.array([FEET_DEG[postures.is_level], *[ROLL_DEG] * len(postures.levels)]) ** -2
    information = np.eye(2) / BALANCE_DEG**2 + (level * weights[:, None]).T @ level
    return float(np.sqrt(np.linalg.eigvalsh(np.linalg.inv(information))[-1]))


def build_axes(forward: Array, up: Array) -> Array:
    """Return the rows x (forward, levelled), y = z cross x, z (up)."""
    level = forward - (forward @ up) * up
    ahead = level / np.linalg.norm(level)
    return np.array([ahead, np.cross(up, ahead), up])
