"""Angles of the body.

Sides: analytic poses of the pitching convention (check-values C, from memory there); scipy's Rotation as a second
algorithm; invariance in turned, shifted and mirrored frames; the ISB sequence Y-X-Y (Wu et al. 2005, J Biomech
38:981-992; sequence second-hand) as a cross-check of elevation; closed form of an angle seen askew (check-values H).
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from elbowroom.core.geometry import angles as a
from elbowroom.core.geometry.vectors import measure_distance_to_line, remove_along

UP, LATERAL, FORWARD = np.array([0.0, 0.0, 1.0]), np.array([0.0, -1.0, 0.0]), np.array([1.0, 0.0, 0.0])
"""Axes of a trunk that faces the target: the throwing side is to the right, -y."""
UPRIGHT = a.build_trunk_frame(
    0.2 * LATERAL + 1.4 * UP, -0.2 * LATERAL + 1.4 * UP, 0.1 * LATERAL + 0.9 * UP, -0.1 * LATERAL + 0.9 * UP
)
degrees = st.floats(-179.0, 179.0)


def point_arm(abduction_deg: float, front_deg: float) -> np.ndarray:
    level = np.cos(np.radians(front_deg)) * LATERAL + np.sin(np.radians(front_deg)) * FORWARD
    return np.sin(np.radians(abduction_deg)) * level - np.cos(np.radians(abduction_deg)) * UP


@pytest.mark.parametrize(
    ("arm", "forearm", "abduction", "horizontal", "rotation"),
    [
        (LATERAL, FORWARD, 90.0, 0.0, 0.0),
        (LATERAL, UP, 90.0, 0.0, 90.0),
        (LATERAL, -FORWARD, 90.0, 0.0, 180.0),
        (LATERAL, -UP, 90.0, 0.0, -90.0),
        (point_arm(90, -30), UP, 90.0, -30.0, 90.0),
        (point_arm(60, 0), FORWARD, 60.0, 0.0, 0.0),
    ],
    ids=["forward", "up", "back", "down", "behind", "low arm"],
)
def test_convention(arm, forearm, abduction, horizontal, rotation) -> None:  # type: ignore[no-untyped-def]
    assert a.measure_abduction_deg(UPRIGHT, arm) == pytest.approx(abduction, abs=1e-9)
    assert a.measure_horizontal_deg(UPRIGHT, arm) == pytest.approx(horizontal, abs=1e-9)
    turned = a.wrap_deg(a.measure_rotation_deg(UPRIGHT, arm, forearm) - rotation)
    assert turned == pytest.approx(0.0, abs=1e-9)
    assert a.measure_flexion_deg(0 * UP, arm, arm + forearm) == pytest.approx(90.0, abs=1e-9)


def test_rotation_past_straight_back_is_not_wrapped() -> None:
    forearm = -np.cos(np.radians(15)) * FORWARD - np.sin(np.radians(15)) * UP
    assert a.measure_rotation_deg(UPRIGHT, LATERAL, forearm) == pytest.approx(195.0)


@given(angle=st.floats(-60.0, 200.0), front=st.floats(-60.0, 60.0), abduction=st.floats(30.0, 150.0))
def test_rotation_is_the_turn_about_the_arm(angle: float, front: float, abduction: float) -> None:
    arm = point_arm(abduction, front)
    start = np.cross(UP, arm) / np.linalg.norm(np.cross(UP, arm))
    # Outwards is from forward to up: against the right-hand rule about the right arm's direction, hence the minus.
    forearm = Rotation.from_rotvec(np.radians(angle) * arm).apply(start)
    assert a.measure_rotation_deg(UPRIGHT, arm, forearm + 0.7 * arm) == pytest.approx(angle, abs=1e-6)


@given(elevation=st.floats(5.0, 175.0), plane=st.floats(-80.0, 80.0))
def test_abduction_agrees_with_the_isb_sequence(elevation: float, plane: float) -> None:
    # ISB thorax axes: X forward, Y up, Z right; the humerus hangs along -Y at no turn.
    thorax = Rotation.from_matrix(np.stack([FORWARD, UP, LATERAL], axis=1))
    humerus = Rotation.from_euler("YXY", [plane, elevation, 0.0], degrees=True)
    arm = (thorax * humerus).apply([0.0, -1.0, 0.0])
    out = np.array([arm @ LATERAL, arm @ FORWARD, arm @ UP])
    assert np.degrees(np.arccos(-out[2])) == pytest.approx(elevation, abs=1e-6)
    expected = np.degrees(np.arctan2(out[0], -out[2]))
    assert a.measure_abduction_deg(UPRIGHT, arm) == pytest.approx(expected, abs=1e-6)


@given(line=st.floats(-80.0, 80.0), lean=st.floats(-40.0, 40.0), turn=st.tuples(degrees, degrees, degrees))
def test_elbow_line_follows_the_trunk(line: float, lean: float, turn: tuple[float, float, float]) -> None:
    whole = Rotation.from_euler("zyx", turn, degrees=True) * Rotation.from_rotvec(np.radians(lean) * FORWARD)
    shift = np.array([1.0, 2.0, 3.0])
    trunk = a.build_trunk_frame(
        *(whole.apply(p) + shift for p in (0.2 * LATERAL + UP, UP - 0.2 * LATERAL)),
        *(whole.apply(p) + shift for p in (0.1 * LATERAL, -0.1 * LATERAL)),
    )
    arm = whole.apply(np.cos(np.radians(line)) * LATERAL + np.sin(np.radians(line)) * UP + 0.3 * FORWARD)
    assert a.measure_elbow_line_deg(trunk, arm) == pytest.approx(line, abs=1e-6)
    assert a.measure_abduction_deg(trunk, arm) == pytest.approx(90.0 + line, abs=1e-6)


def test_level_elbow_on_a_tilted_trunk_is_low() -> None:
    lean = Rotation.from_rotvec(np.radians(-20.0) * FORWARD)
    # The trunk leans to the glove side (+y), so the throwing shoulder goes up.
    points = [lean.apply(p) for p in (0.2 * LATERAL + UP, UP - 0.2 * LATERAL, 0.1 * LATERAL, -0.1 * LATERAL)]
    trunk = a.build_trunk_frame(*points)
    assert a.measure_side_tilt_deg(trunk.up) == pytest.approx(20.0)
    assert a.measure_elbow_line_deg(trunk, LATERAL) == pytest.approx(-20.0)


@given(angle=degrees)
def test_opening_and_tilts(angle: float) -> None:
    # Side-on, the glove shoulder points to the target; opening turns it towards +y.
    glove = Rotation.from_euler("z", angle, degrees=True).apply([0.2, 0.0, 0.3])
    assert a.measure_opening_deg(np.zeros(3), glove) == pytest.approx(angle, abs=1e-9)
    tilted = Rotation.from_euler("y", angle / 3, degrees=True).apply(UP)
    assert a.measure_forward_tilt_deg(tilted) == pytest.approx(angle / 3, abs=1e-9)


@given(value=st.floats(-2000.0, 2000.0), centre=st.floats(-180.0, 180.0))
def test_wrapping_keeps_the_direction(value: float, centre: float) -> None:
    wrapped = float(a.wrap_deg(np.array(value), centre))
    assert centre - 180.0 - 1e-9 <= wrapped <= centre + 180.0 + 1e-9
    assert np.cos(np.radians(wrapped - value)) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize(("askew", "apparent"), [(15.0, 92.0), (30.0, 98.2), (45.0, 109.5), (60.0, 126.9)])
def test_right_angle_seen_askew(askew: float, apparent: float) -> None:
    # check-values H (computed there): a right angle whose plane is turned about its bisector seems larger.
    half = np.radians(45.0)
    # The bisector is the vertical; turning the plane narrows the arms across by the cosine, so from the fold the
    # angle between the arms seems to be 2 atan(cos) and from outside its supplement.
    arms = [np.array([side * np.sin(half), 0.0, np.cos(half)]) for side in (1.0, -1.0)]
    turn = Rotation.from_euler("z", askew, degrees=True)
    seen = [remove_along(turn.apply(arm), np.array([0.0, 1.0, 0.0])) for arm in arms]
    assert 180.0 - a.measure_angle_deg(seen[0], seen[1]) == pytest.approx(apparent, abs=0.05)


def test_distance_to_line_is_the_cross_product() -> None:
    rng = np.random.default_rng(3)
    points, start, along = rng.normal(size=(3, 50, 3))
    expected = np.linalg.norm(np.cross(points - start, along), axis=1) / np.linalg.norm(along, axis=1)
    assert measure_distance_to_line(points, start, along) == pytest.approx(expected)


def test_flexion_is_exact_near_straight() -> None:
    bend = 1e-7
    flexion = a.measure_flexion_deg(
        np.zeros(3), np.array([1.0, 0.0, 0.0]), np.array([1.0 + np.cos(bend), np.sin(bend), 0.0])
    )
    assert flexion == pytest.approx(np.degrees(bend), rel=1e-6)
