"""An invented throw whose instants and angles are known because they drive it, for tests."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import make_interp_spline
from scipy.spatial.transform import Rotation

from elbowroom.core.clips.types import Sufficient, TimingVerdict
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import OTHER_SIDE, Joint
from elbowroom.core.measures.types import MeasureSetting, ThrowKind
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Obtained, Source
from elbowroom.core.reconstruction.types import Curves

Array = NDArray[np.float64]

LIFT_S, APART_S, CONTACT_S, RELEASE_S, FINISH_S, END_S = 0.60, 0.90, 1.30, 1.45, 1.75, 2.10
BRAKE_S = 0.30
STRIDE_M = 1.20
OFFSET_M = 0.08
FOREARM_M = 0.25
HAND_M = 0.08


def ramp(times_s: Array, middle_s: float, width_s: float) -> Array:
    """Return a smooth step from 0 to 1."""
    return np.asarray(0.5 * (1.0 + np.tanh((times_s - middle_s) / width_s)))


def drive_rotation(times_s: Array) -> Array:
    """Return the external rotation that drives the arm, deg."""
    return -20.0 + 190.0 * ramp(times_s, 1.30, 0.06) - 150.0 * ramp(times_s, RELEASE_S, 0.014)


def drive_flexion(times_s: Array) -> Array:
    """Return the elbow flexion that drives the arm, deg."""
    return 90.0 - 30.0 * ramp(times_s, RELEASE_S, 0.03)


def drive_opening(times_s: Array, delay_s: float = 0.0) -> Array:
    """Return the opening of the pelvis (the trunk's comes `delay_s` later), deg."""
    return -10.0 + 115.0 * ramp(times_s, 1.33 + delay_s, 0.07)


def drive_tilt(times_s: Array) -> Array:
    """Return the forward tilt, deg, greatest at the finish."""
    return np.asarray(50.0 * np.exp(-(((times_s - FINISH_S) / 0.3) ** 2)))


def find_true_instants() -> dict[InstantName, float]:
    """Return the instants that the drivers imply; hands apart is not driven."""
    fine = np.arange(CONTACT_S, RELEASE_S, 1e-5)
    layback_s = float(fine[np.argmax(drive_rotation(fine))])
    return {
        InstantName.LIFT: LIFT_S,
        InstantName.FOOT_CONTACT: CONTACT_S,
        InstantName.LAYBACK: layback_s,
        InstantName.RELEASE: RELEASE_S,
        InstantName.FINISH: FINISH_S,
    }


def make_throw(times_s: Array) -> Array:
    """Return joint places (n, 19, 3) of a right-hander in the field frame, metres."""
    places = np.zeros((len(times_s), len(Joint), 3))
    hips = np.stack([0.9 * ramp(times_s, 1.2, 0.2), 0 * times_s, np.full_like(times_s, 0.9)], axis=1)
    pelvis = Rotation.from_euler("z", drive_opening(times_s)[:, None], degrees=True)
    tilt = Rotation.from_euler("y", drive_tilt(times_s)[:, None], degrees=True)
    trunk = tilt * Rotation.from_euler("z", drive_opening(times_s, 0.03)[:, None], degrees=True)
    _place_trunk(places, hips, pelvis, trunk)
    _place_throwing_arm(places, trunk, times_s)
    _place_glove_arm(places, trunk, times_s)
    _place_legs(places, times_s)
    return places


def _place_trunk(places: Array, hips: Array, pelvis: Rotation, trunk: Rotation) -> None:
    # At no turn the body is side-on: glove side to the target (+x), chest to -y.
    places[:, Joint.LEFT_HIP] = hips + pelvis.apply([0.09, 0.0, 0.0])
    places[:, Joint.RIGHT_HIP] = hips + pelvis.apply([-0.09, 0.0, 0.0])
    places[:, Joint.LEFT_SHOULDER] = hips + trunk.apply([0.17, 0.0, 0.45])
    places[:, Joint.RIGHT_SHOULDER] = hips + trunk.apply([-0.17, 0.0, 0.45])
    places[:, Joint.HEAD] = hips + trunk.apply([0.0, 0.0, 0.65])


def _place_throwing_arm(places: Array, trunk: Rotation, times_s: Array) -> None:
    rotation, flexion = np.radians(drive_rotation(times_s)), np.radians(drive_flexion(times_s))
    bent = np.stack([0 * rotation, -np.cos(rotation), np.sin(rotation)], axis=1)
    forearm = -np.cos(flexion)[:, None] * np.array([1.0, 0.0, 0.0]) + np.sin(flexion)[:, None] * bent
    elbow = places[:, Joint.RIGHT_SHOULDER] + trunk.apply([-0.27, 0.0, 0.0])
    along = trunk.apply(forearm)
    places[:, Joint.RIGHT_ELBOW] = elbow
    places[:, Joint.RIGHT_WRIST] = elbow + FOREARM_M * along
    places[:, Joint.RIGHT_HAND] = elbow + (FOREARM_M + HAND_M) * along


def _place_glove_arm(places: Array, trunk: Rotation, times_s: Array) -> None:
    shoulder = places[:, Joint.LEFT_SHOULDER]
    places[:, Joint.LEFT_ELBOW] = shoulder + trunk.apply([0.0, -0.2, -0.18])
    parting = ramp(times_s, APART_S, 0.05)[:, None]
    away = shoulder + trunk.apply([0.3, -0.2, -0.2])
    hand = (1.0 - parting) * (places[:, Joint.RIGHT_HAND] + [0.0, 0.0, 0.08]) + parting * away
    places[:, Joint.LEFT_HAND] = hand
    places[:, Joint.LEFT_WRIST] = hand - [0.0, 0.0, 0.08]


def _place_legs(places: Array, times_s: Array) -> None:
    foot = {"ANKLE": (0.0, 0.0, 0.08), "HEEL": (0.0, 0.06, 0.03), "TOE": (0.0, -0.18, 0.02)}
    start_s = CONTACT_S - 2.0 * BRAKE_S
    fastest = STRIDE_M / BRAKE_S
    # Even speeding up and even braking: the foot's speed falls on a straight line to nothing at contact.
    u = np.clip(times_s, start_s, CONTACT_S) - start_s
    early, late = np.minimum(u, BRAKE_S), np.maximum(u - BRAKE_S, 0.0)
    gone = fastest * (early**2 / (2 * BRAKE_S) + late - late**2 / (2 * BRAKE_S))
    for name, offset in foot.items():
        places[:, Joint[f"RIGHT_{name}"]] = offset
        places[:, Joint[f"LEFT_{name}"]] = offset
        places[:, Joint[f"LEFT_{name}"], 0] += gone
        places[:, Joint[f"LEFT_{name}"], 1] -= OFFSET_M
    raised = 0.40 * np.exp(-(((times_s - LIFT_S) / 0.2) ** 2))
    places[:, Joint.RIGHT_KNEE] = 0.5 * (places[:, Joint.RIGHT_HIP] + places[:, Joint.RIGHT_ANKLE])
    places[:, Joint.LEFT_KNEE] = 0.5 * (places[:, Joint.LEFT_HIP] + places[:, Joint.LEFT_ANKLE])
    places[:, Joint.LEFT_KNEE, 2] = 0.48 + raised


def fit_curves(times_s: Array, places: Array) -> Curves:
    """Return the cubic spline through joint places (n, 19, 3), as one draw."""
    spline = make_interp_spline(times_s, places.reshape(len(times_s), -1), k=3)
    return Curves(knots_s=spline.t, coefficients_m=spline.c.reshape(1, -1, len(Joint), 3))


def make_curves(rate_hz: float = 240.0, end_s: float = END_S, start_s: float = 0.0) -> Curves:
    """Return the curves of the invented throw."""
    times_s = np.arange(start_s, end_s, 1.0 / rate_hz)
    return fit_curves(times_s, make_throw(times_s))


def add_noise(curves: Curves, standard_m: float, count: int, rng: np.random.Generator) -> Curves:
    """Return draws with independent noise on every control point; the first is the best estimate."""
    noise = rng.normal(0.0, standard_m, (count, *curves.coefficients_m.shape[1:]))
    noise[0] = 0.0
    return Curves(knots_s=curves.knots_s, coefficients_m=curves.coefficients_m + noise)


def mirror_hands(places: Array) -> Array:
    """Return the same motion by a thrower of the other hand: mirrored in y, sides exchanged, (..., 19, 3)."""
    other = [OTHER_SIDE[joint] for joint in Joint]
    return np.asarray(places[..., other, :] * [1.0, -1.0, 1.0])


def make_setting(
    kind: ThrowKind = ThrowKind.MOUND_PITCH,
    timing: TimingVerdict | None = None,
    target: Obtained | None = None,
) -> MeasureSetting:
    """Return a setting in which everything may be measured unless told otherwise."""
    fast = Sufficient(rate_hz=240.0)
    return MeasureSetting(
        height_m=1.75,
        kind=kind,
        timing=timing or TimingVerdict(instants=fast, trunk_rates=fast, arm_rates=fast),
        target=build_uncertain(0.0, "deg", {Source.TARGET: 0.5}) if target is None else target,
    )
