"""A jointed figure with constant bones that moves smoothly, and cameras that look at it, for tests."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras.types import Camera, Lens
from elbowroom.core.landmarks.names import BONES, Joint
from elbowroom.core.reconstruction.types import BodyPriors, BonePrior

Array = NDArray[np.float64]

STANDING: dict[Joint, tuple[float, float, float]] = {
    Joint.HEAD: (0.0, 0.0, 1.55),
    Joint.RIGHT_SHOULDER: (-0.17, 0.0, 1.32),
    Joint.LEFT_SHOULDER: (0.17, 0.0, 1.32),
    Joint.RIGHT_HIP: (-0.09, 0.0, 0.88),
    Joint.LEFT_HIP: (0.09, 0.0, 0.88),
    Joint.RIGHT_KNEE: (-0.10, -0.05, 0.47),
    Joint.RIGHT_ANKLE: (-0.10, 0.0, 0.08),
    Joint.RIGHT_HEEL: (-0.10, 0.06, 0.03),
    Joint.RIGHT_TOE: (-0.10, -0.16, 0.02),
}
"""Places at rest, metres; the figure faces -y and the target is +x."""


def make_figure(times_s: Array) -> Array:
    """Return joint places (n, 19, 3): a turning trunk, a swinging right arm, a striding left leg, bones constant."""
    places = np.zeros((len(times_s), len(Joint), 3))
    for joint, place in STANDING.items():
        places[:, joint] = place
    turn = 0.6 * np.sin(2.0 * times_s)
    for joint in (Joint.RIGHT_SHOULDER, Joint.LEFT_SHOULDER):
        x, _, z = STANDING[joint]
        places[:, joint] = np.stack([x * np.cos(turn), x * np.sin(turn), np.full_like(turn, z)], axis=1)
    swing, bend = 1.2 * np.sin(5.0 * times_s), 1.3 + 0.4 * np.cos(7.0 * times_s)
    add_arm(places, "RIGHT", np.pi + swing, bend)
    add_arm(places, "LEFT", 0.4 * np.sin(3.0 * times_s), 0.6 + 0.2 * np.sin(4.0 * times_s))
    add_stride(places, 0.25 + 0.25 * np.sin(2.5 * times_s))
    return places


def add_arm(places: Array, side: str, raise_rad: Array, bend_rad: Array) -> None:
    """Place elbow, wrist and hand of one side: the upper arm in the x-z plane, the forearm bent in the y-z plane."""
    upper = np.stack([np.cos(raise_rad), 0 * raise_rad, np.sin(raise_rad)], axis=1)
    lower = np.stack([upper[:, 0] * np.cos(bend_rad), -np.sin(bend_rad), upper[:, 2] * np.cos(bend_rad)], axis=1)
    places[:, Joint[f"{side}_ELBOW"]] = places[:, Joint[f"{side}_SHOULDER"]] + 0.27 * upper
    places[:, Joint[f"{side}_WRIST"]] = places[:, Joint[f"{side}_ELBOW"]] + 0.24 * lower
    places[:, Joint[f"{side}_HAND"]] = places[:, Joint[f"{side}_WRIST"]] + 0.08 * lower


def add_stride(places: Array, reach_rad: Array) -> None:
    """Place the left leg, turned about the hip in the x-z plane by `reach_rad`."""
    for joint, other in (("KNEE", "KNEE"), ("ANKLE", "ANKLE"), ("HEEL", "HEEL"), ("TOE", "TOE")):
        x, y, z = np.array(STANDING[Joint[f"RIGHT_{other}"]]) - np.array(STANDING[Joint.RIGHT_HIP])
        turned = [
            x * np.cos(reach_rad) - z * np.sin(reach_rad),
            np.full_like(reach_rad, y),
            x * np.sin(reach_rad) + z * np.cos(reach_rad),
        ]
        places[:, Joint[f"LEFT_{joint}"]] = places[:, Joint.LEFT_HIP] + np.stack(turned, axis=1)


def make_camera(name: str, place: tuple[float, float, float], focal_px: float = 1000.0) -> Camera:
    """Return a 1280 x 720 camera at `place` that looks at the figure's middle, all parameters known exactly."""
    forward = np.array([0.0, 0.0, 0.9]) - np.array(place)
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    rotation = np.stack([right, np.cross(forward, right), forward])
    lens = Lens(
        width_px=1280, height_px=720, focal_px=focal_px, centre_px=(639.5, 359.5), distortion=(0.04, -0.02, 0.0, 0.0)
    )
    return Camera(
        name=name,
        lens=lens,
        rotation=rotation,
        translation=-rotation @ np.array(place),
        covariance=np.zeros((13, 13)),
        residual_px=0.0,
    )


def make_priors() -> BodyPriors:
    """Return wide bone priors that are 5 % too long, and the ground at 0."""
    rest = make_figure(np.zeros(1))[0]
    lengths = [float(np.linalg.norm(rest[a] - rest[b])) for a, b in BONES]
    bones = tuple(
        BonePrior(ends=ends, length_m=1.05 * length, standard_m=0.1 * length + 0.01)
        for ends, length in zip(BONES, lengths, strict=True)
    )
    return BodyPriors(bones=bones, ground_height_m=0.0)
