"""Key positions of a delivery: one value for each pose number at each key, chosen by hand.

The order of the keys is KEY_NAMES. Rows are chosen by this project so that a throw looks right and its
angles lie in published bands; the numbers of `Delivery` replace what they name.
"""

import numpy as np

from rendering.delivery import Delivery
from rendering.rotations import Array

KEY_NAMES = (
    "start", "set", "lift", "apart", "drive", "contact", "layback", "release", "after", "finish", "end",
)  # fmt: skip


def build_key_times(d: Delivery) -> dict[str, float]:
    """Time of each key in seconds from the start of the throw."""
    lift = d.wait_s + d.raise_s
    contact = lift + d.lift_to_contact_s
    release = contact + d.contact_to_release_s
    return {
        "start": 0.0,
        "set": d.wait_s,
        "lift": lift,
        "apart": lift + 0.36 * d.lift_to_contact_s,
        "drive": lift + 0.64 * d.lift_to_contact_s,
        "contact": contact,
        "layback": release - d.layback_to_release_s,
        "release": release,
        "after": release + 0.032,
        "finish": release + d.release_to_finish_s,
        "end": release + d.release_to_finish_s + d.hold_s,
    }


def build_keys(d: Delivery) -> dict[str, Array]:
    """Every pose number at every key: name -> (11,), angles in degrees, lengths in shares of height or metres."""
    rows = {**_trunk_rows(d), **_throwing_arm_rows(d), **_glove_arm_rows(), **_pivot_rows(), **_lead_rows(d)}
    return {name: np.array(row, float) for name, row in rows.items()}


def _trunk_rows(d: Delivery) -> dict[str, list[float]]:
    pelvis = [0, 0, -14, d.pelvis_apart_deg, d.pelvis_drive_deg, d.pelvis_contact_deg]
    trunk = [0, 0, -18, -20, -18, d.trunk_contact_deg, d.trunk_layback_deg, d.trunk_release_deg]
    forward = [0, 0, -4, -4, -3, d.forward_contact_deg]
    late = d.forward_release_deg
    side = d.side_release_deg
    return {
        "pelvis_open": [*pelvis, 84, 94, 98, 104, 102],
        "trunk_open": [*trunk, trunk[-1] + 9, trunk[-1] + 16, trunk[-1] + 10],
        "trunk_forward": [*forward, 0.55 * late + 0.3 * forward[-1], late, late + 8, late + 26, late + 18],
        "trunk_side": [0, 0, -1, 0, 2, d.side_contact_deg, 0.7 * side, side, side, 0.8 * side, 0.5 * side],
        "pelvis_forward": [2, 2, -3, 0, 3, 4, 10, 0.6 * late, 0.6 * late + 6, 0.8 * late + 16, 0.8 * late + 10],
        "pelvis_side": [0, 0, 0, 0, 0, 1, 4, 6, 6, 5, 3],
        "head_yaw": [-22, -22, -24, -20, -14, -6, 4, 8, 8, 6, 4],
        "head_forward": [6, 6, 4, 4, 4, 4, 14, 22, 24, 26, 18],
        "head_side": [0, 0, 0, 0, 0, 0, 8, 12, 12, 8, 4],
        "pelvis_x": [0.15, 0.15, 0.03, 0.12, 0.26, 0.50, 0.62, 0.68, 0.72, 0.88, 0.92],
        "pelvis_y": [0.0, 0.0, 0.015, 0.01, 0.0, 0.0, 0.0, 0.0, 0.0, -0.01, -0.01],
    }


def _throwing_arm_rows(d: Delivery) -> dict[str, list[float]]:
    line = [-66, -66, -62, -70, -52, d.elbow_line_contact_deg, d.elbow_line_layback_deg]
    behind, front = -d.arm_behind_contact_deg, d.arm_front_layback_deg
    flexion = [d.flexion_contact_deg, d.flexion_layback_deg, d.flexion_release_deg]
    rotation = [d.rotation_contact_deg, d.rotation_layback_deg, d.rotation_release_deg]
    return {
        "r_line": [*line, line[-1] + 2, line[-1], -38, -48],
        "r_front": [16, 16, 20, 0, -22, behind, front, front + 3, front + 20, 66, 58],
        "r_rotation": [-46, -46, -46, -24, -14, *rotation, 46, 0, -10],
        "r_flexion": [112, 112, 114, 66, 48, *flexion, 12, 42, 55],
        "r_wrist": [0, 0, 0, -5, -10, -20, -45, 5, 30, 15, 10],
        "r_pronation": [0, 0, 0, 10, 30, 20, 0, 0, 30, 40, 20],
    }


def _glove_arm_rows() -> dict[str, list[float]]:
    return {
        "l_line": [-66, -66, -62, -58, -18, -6, -42, -52, -54, -52, -52],
        "l_front": [16, 16, 20, 28, 26, 22, 6, 0, 0, 6, 10],
        "l_rotation": [-46, -46, -46, -20, 5, 15, 10, 0, -5, -12, -15],
        "l_flexion": [112, 112, 114, 70, 34, 52, 112, 122, 122, 110, 95],
        "l_wrist": [0] * 11,
        "l_pronation": [0, 0, 0, 20, 40, 30, 0, 0, 0, 0, 0],
    }


def _pivot_rows() -> dict[str, list[float]]:
    """Pivot foot: ball of the foot (x, y in heights from its place at lift, z above flat), yaw and heel-up."""
    return {
        "rf_x": [0, 0, 0, 0, 0, 0.0, 0.05, 0.10, 0.15, 0.58, 0.70],
        "rf_y": [0, 0, 0, 0, 0, 0.0, 0.0, 0.0, -0.01, -0.16, -0.20],
        "rf_z": [0, 0, 0, 0, 0, 0.0, 0.0, 0.01, 0.035, 0.09, 0.0],
        "rf_yaw": [-90, -90, -90, -90, -86, -52, -18, -8, -2, 5, 0],
        "rf_pitch": [0, 0, 0, 0, 6, 50, 68, 78, 84, 40, 0],
        "pivot_knee": [18, 18, 14, 24, 42, 30, 30, 30, 30, 30, 30],
    }


def _lead_rows(d: Delivery) -> dict[str, list[float]]:
    """Lead foot: middle of the foot, x in strides, y in metres plus heights, z in heights, yaw, heel-up."""
    landed = -d.foot_angle_deg
    knee = d.knee_contact_deg
    lift = 0.285 + d.knee_lift_heights
    return {
        "lf_x": [0.30, 0.30, 0.10, 0.26, 0.66, 1, 1, 1, 1, 1, 1],
        "lf_y": [0, 0, -0.15, -0.10, -0.045, 0, 0, 0, 0, 0, 0],
        "lf_z": [0, 0, lift, 0.19, 0.075, 0, 0, 0, 0, 0, 0],
        "lf_yaw": [-90, -90, -98, -92, -64, *[landed] * 6],
        "lf_pitch": [0, 0, 22, 14, 0, 0, 0, 0, 0, 0, 0],
        "lead_knee": [20, 20, 90, 70, 50, knee, (knee + d.knee_release_deg) / 2, d.knee_release_deg,
                      d.knee_release_deg - 2, d.knee_release_deg + 4, d.knee_release_deg + 6],
    }  # fmt: skip
