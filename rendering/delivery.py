"""What a delivery looks like: the numbers that shape one throw, their scatter, and throws drawn from them."""

from dataclasses import dataclass, fields, replace

import numpy as np


@dataclass(frozen=True, kw_only=True)
class Delivery:
    """One throw by a right-hander in the field frame (left-handers are mirrored when posed).

    Angles in degrees with the signs of the product's measures: elbow line + above the shoulder line,
    opening 0 side-on and 90 facing the target, closed foot and offset across the body +.
    """

    elbow_line_contact_deg: float = 0.0
    """Upper arm against the shoulder line at foot contact."""
    elbow_line_layback_deg: float = 2.0
    """Upper arm against the shoulder line at layback."""
    arm_behind_contact_deg: float = 24.0
    """How far the upper arm points behind the chest's plane at foot contact."""
    arm_front_layback_deg: float = 8.0
    """How far the upper arm points in front of the chest's plane at layback."""
    rotation_contact_deg: float = 55.0
    """External rotation at foot contact."""
    rotation_layback_deg: float = 170.0
    """Largest external rotation."""
    rotation_release_deg: float = 124.0
    """External rotation at release."""
    flexion_contact_deg: float = 85.0
    """Elbow flexion at foot contact."""
    flexion_layback_deg: float = 95.0
    """Elbow flexion at layback."""
    flexion_release_deg: float = 33.0
    """Elbow flexion at release."""
    stride_heights: float = 0.78
    """Stride length, share of standing height."""
    stride_offset_m: float = 0.02
    """Lead foot across (+) or open (-) of the line to the target."""
    foot_angle_deg: float = 12.0
    """Lead foot turned closed (+)."""
    knee_contact_deg: float = 42.0
    """Lead knee flexion at foot contact."""
    knee_release_deg: float = 34.0
    """Lead knee flexion at release."""
    pelvis_apart_deg: float = -12.0
    """Pelvis opening when the hands part."""
    pelvis_drive_deg: float = 0.0
    """Pelvis opening in the middle of the stride."""
    pelvis_contact_deg: float = 38.0
    """Pelvis opening at foot contact."""
    trunk_contact_deg: float = 16.0
    """Trunk opening at foot contact."""
    trunk_layback_deg: float = 86.0
    """Trunk opening at layback."""
    trunk_release_deg: float = 104.0
    """Trunk opening at release."""
    forward_contact_deg: float = 0.0
    """Trunk leaning to the target at foot contact."""
    forward_release_deg: float = 28.0
    """Trunk leaning to the target at release."""
    side_contact_deg: float = 4.0
    """Trunk leaning to the glove side at foot contact."""
    side_release_deg: float = 22.0
    """Trunk leaning to the glove side at release."""
    knee_lift_heights: float = 0.0
    """How much higher than the hip the lead knee is lifted, share of standing height."""
    wait_s: float = 0.40
    """Standing still in the set position."""
    raise_s: float = 0.45
    """From the first leg movement to the lift."""
    lift_to_contact_s: float = 0.80
    """From the lift to foot contact."""
    contact_to_release_s: float = 0.155
    """From foot contact to release."""
    layback_to_release_s: float = 0.040
    """From layback to release."""
    release_to_finish_s: float = 0.32
    """From release to the finish."""
    hold_s: float = 0.25
    """Standing in the finish."""
    ball_speed_share: float = 1.12
    """Ball speed over hand speed at release."""


SCATTER = {
    "_deg": 2.2,
    "_m": 0.012,
    "_heights": 0.006,
    "_s": 0.008,
    "_share": 0.01,
}
"""Standard deviation between the throws of one athlete by the unit a field ends in."""

STEADY = ("layback_to_release_s", "contact_to_release_s")
"""Short phases: scattered by a tenth of the others."""

SPREAD = {
    "elbow_line_contact_deg": 11.0,
    "elbow_line_layback_deg": 8.0,
    "arm_behind_contact_deg": 9.0,
    "arm_front_layback_deg": 6.0,
    "rotation_contact_deg": 20.0,
    "rotation_layback_deg": 6.0,
    "rotation_release_deg": 6.0,
    "flexion_contact_deg": 14.0,
    "flexion_layback_deg": 12.0,
    "flexion_release_deg": 4.0,
    "stride_heights": 0.05,
    "stride_offset_m": 0.07,
    "foot_angle_deg": 10.0,
    "knee_contact_deg": 8.0,
    "knee_release_deg": 11.0,
    "pelvis_apart_deg": 8.0,
    "pelvis_drive_deg": 8.0,
    "pelvis_contact_deg": 12.0,
    "trunk_contact_deg": 16.0,
    "trunk_layback_deg": 8.0,
    "trunk_release_deg": 7.0,
    "forward_contact_deg": 5.0,
    "forward_release_deg": 7.0,
    "side_contact_deg": 5.0,
    "side_release_deg": 8.0,
    "knee_lift_heights": 0.03,
    "lift_to_contact_s": 0.06,
    "contact_to_release_s": 0.008,
    "layback_to_release_s": 0.003,
    "release_to_finish_s": 0.03,
}
"""Standard deviation between athletes, chosen by this project about published spreads (check values A1, A3)."""


def draw_delivery(rng: np.random.Generator, base: Delivery, share: float = 1.0) -> Delivery:
    """An athlete's typical delivery about `base`: normal with SPREAD times `share`, cut at two SDs."""
    moved = {
        name: getattr(base, name) + share * sd * float(np.clip(rng.normal(), -2, 2)) for name, sd in SPREAD.items()
    }
    return replace(base, **moved)


def scatter_delivery(rng: np.random.Generator, base: Delivery, share: float = 1.0) -> Delivery:
    """One throw of an athlete: every number moved by the scatter of its unit, cut at two SDs."""
    return replace(base, **{f.name: _scatter(rng, base, f.name, share) for f in fields(base)})


def _scatter(rng: np.random.Generator, base: Delivery, name: str, share: float) -> float:
    sd = next(value for ending, value in SCATTER.items() if name.endswith(ending))
    if name in STEADY:
        sd *= 0.1
    return float(getattr(base, name) + share * sd * np.clip(rng.normal(), -2, 2))
