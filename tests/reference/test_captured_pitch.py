"""A real captured pitch: its instants and angles, as a right-hander and mirrored to a left-hander.

Data: subject 124, trial 01. The data used in this project was obtained from mocap.cs.cmu.edu. The database was
created with funding from NSF EIA-0196217. Joint centres at 120 Hz; the expected values and how far another fair
filter moves them stand beside the data (its README) and are repeated here. A recreational thrower: the numbers check
the chain, not what is usual.

Sides: fixed numbers worked out elsewhere from the same recording; the mirrored thrower gives the same numbers; a
field turned and shifted gives the same numbers.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from elbowroom.core.geometry.angles import measure_rotation_deg
from elbowroom.core.geometry.filters import filter_low_pass
from elbowroom.core.geometry.splines import evaluate_curves
from elbowroom.core.geometry.vectors import turn_about_vertical
from elbowroom.core.instants.find import find_instants
from elbowroom.core.instants.signals import measure_hand_speed
from elbowroom.core.instants.types import InstantName as Name
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.measures.arm import build_trunk
from elbowroom.core.measures.measure import measure_curves
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.types import Curves
from tests.makers.throws import fit_curves, make_setting, mirror_hands

RATE_HZ = 120.0
LIFT_FRAME, CONTACT_FRAME, LAYBACK_FRAME, FASTEST_FRAME = 358, 435, 441, 447
FRAMES = {Name.LIFT: (358, 1), Name.FOOT_CONTACT: (435, 5), Name.LAYBACK: (441, 1), Name.RELEASE: (447, 3)}
"""Instant -> frame, counted from 1, and how many frames another fair choice moves it."""


def read_places(path: Path) -> np.ndarray:
    """Return joint places (n, 19, 3) with z up, smoothed as the expected values were (zero lag, 20 Hz)."""
    with path.open(encoding="utf-8", newline="") as file:
        header = next(csv.reader(file))
    table = np.loadtxt(path, delimiter=",", skiprows=1)
    places = np.stack([find_place(table, header, joint) for joint in Joint], axis=1)
    # The recording's y is up: a quarter turn about x brings it to z.
    turned = np.stack([places[..., 0], -places[..., 2], places[..., 1]], axis=-1)
    return filter_low_pass(turned, RATE_HZ, 20.0)


def find_place(table: np.ndarray, header: list[str], joint: Joint) -> np.ndarray:
    words = joint.name.lower().replace("heel", "ankle").split("_")
    name = "_".join(reversed(words))
    place = table[:, [header.index(f"{name}_{axis}_m") for axis in "xyz"]]
    # The recording has no heel: the place 5 cm below the ankle stands in; no expected value uses it.
    return place - [0.0, 0.05, 0.0] if "HEEL" in joint.name else place


def bring_to_field(places: np.ndarray) -> np.ndarray:
    """Turn and shift places so that x is the way from pivot ankle at lift to lead ankle at contact."""
    start = places[LIFT_FRAME - 1, Joint.RIGHT_ANKLE]
    stride = places[CONTACT_FRAME - 1, Joint.LEFT_ANKLE] - start
    return turn_about_vertical(places - start, np.array(-np.degrees(np.arctan2(stride[1], stride[0]))))


@pytest.fixture(scope="module", name="places")
def read_pitch(shared_dir: Path) -> np.ndarray:
    return read_places(shared_dir / "data" / "cmu-mocap" / "pitch_124_01.csv")


@pytest.fixture(params=["right-hander", "left-hander"], name="curves")
def make_thrower(request: pytest.FixtureRequest, places: np.ndarray) -> Curves:
    field = bring_to_field(places)
    if request.param == "left-hander":
        left_hander = mirror_hands(field)
        assert find_thrower_speed(left_hander, Joint.LEFT_HAND) > find_thrower_speed(left_hander, Joint.RIGHT_HAND)
        field = mirror_hands(left_hander)
    return fit_curves(np.arange(len(field)) / RATE_HZ, field)


def find_thrower_speed(places: np.ndarray, joint: Joint) -> float:
    return float(np.linalg.norm(np.gradient(places[:, joint], 1 / RATE_HZ, axis=0), axis=1).max())


def measure_at_frames(curves: Curves) -> dict[str, float]:
    """Return the measures at the expected frames, so that only the measures are checked."""
    frames = {
        Name.LIFT: LIFT_FRAME,
        Name.HANDS_APART: LIFT_FRAME,
        Name.FOOT_CONTACT: CONTACT_FRAME,
        Name.LAYBACK: LAYBACK_FRAME,
        Name.RELEASE: FASTEST_FRAME,
        Name.FINISH: 470,
    }
    times = {name: np.array([(frame - 1) / RATE_HZ]) for name, frame in frames.items()}
    values = measure_curves(curves, times, make_setting())
    return {key: float(value[0]) for key, value in values.items() if not isinstance(value, Absent)}


def test_instants(curves: Curves) -> None:
    instants, times = find_instants(curves, RATE_HZ)
    assert set(times) == set(Name)
    for name, (frame, allowed) in FRAMES.items():
        assert 1 + RATE_HZ * instants.find(name).value == pytest.approx(frame, abs=allowed), name


EXPECTED = {
    # value, and the spread stated for another fair filter
    "elbow_flexion_at_foot_contact": (70.0, 4.0),
    "elbow_flexion_at_release": (39.0, 1.0),  # at peak hand speed, read at the stated frame, where it is steep
    "shoulder_abduction_at_foot_contact": (104.0, 1.0),
    "lead_knee_flexion_at_foot_contact": (59.0, 1.0),
    "stride_length": (1.14, 0.01),
    "separation_at_foot_contact": (9.0, 1.0),
    "largest_pelvis_rate": (547.0, 0.03 * 547.0),
    "largest_trunk_rate": (652.0, 0.03 * 652.0),
    "hand_speed_at_release": (15.4, 0.6),
}


def test_measures(curves: Curves) -> None:
    values = measure_at_frames(curves)
    for key, (value, allowed) in EXPECTED.items():
        assert values[key] == pytest.approx(value, abs=allowed), key


def test_peak_hand_speed(curves: Curves) -> None:
    # Differences over two frames, as is usual for sampled data, flatten the peak: the spline's own is 16.1 m/s.
    times = np.arange(200, 600) / RATE_HZ
    hand = evaluate_curves(curves.knots_s, curves.coefficients_m[:, :, Joint.RIGHT_HAND], times)[0]
    speed = np.linalg.norm(np.gradient(hand, 1 / RATE_HZ, axis=0), axis=1)
    assert 201 + speed.argmax() == pytest.approx(FASTEST_FRAME, abs=1)
    assert speed.max() == pytest.approx(15.4, abs=0.6)
    assert measure_hand_speed(curves, times)[0].max() == pytest.approx(speed.max(), rel=0.04)


def test_external_rotation(places: np.ndarray) -> None:
    """The stated 156 deg (3-4) takes the forearm from elbow to hand; ours, elbow to wrist, is 5 deg less here."""
    field = bring_to_field(places)
    arm = field[:, Joint.RIGHT_ELBOW] - field[:, Joint.RIGHT_SHOULDER]
    to_hand = field[:, Joint.RIGHT_HAND] - field[:, Joint.RIGHT_ELBOW]
    rotation = measure_rotation_deg(build_trunk(field), arm, to_hand)[CONTACT_FRAME - 1 : FASTEST_FRAME]
    assert rotation.max() == pytest.approx(156.0, abs=4.0)
    assert rotation.argmax() + CONTACT_FRAME == LAYBACK_FRAME
    ours = measure_at_frames(fit_curves(np.arange(len(field)) / RATE_HZ, field))["largest_external_rotation"]
    assert rotation.max() - ours == pytest.approx(5.0, abs=1.0)


def test_whole_chain_is_the_same_wherever_the_field_lies(places: np.ndarray) -> None:
    here = bring_to_field(places)
    there = turn_about_vertical(places, np.array(73.0)) + np.array([5.0, -3.0, 0.0])
    times = np.arange(len(places)) / RATE_HZ
    first, second = (measure_at_frames(fit_curves(times, bring_to_field(item))) for item in (here, there))
    for key, value in first.items():
        assert second[key] == pytest.approx(value, abs=1e-6), key
