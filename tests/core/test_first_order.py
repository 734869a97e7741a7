"""First-order propagation of the covariance of the control points.

Sides: closed form where the measure is linear in the control points; seeded Monte Carlo (JCGM 101) with a tolerance
from the number of draws where it is not; the gradient against scipy's own basis values.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import BSpline

from elbowroom.core.instants.types import InstantName as Name
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.measures.measure import measure_curves
from elbowroom.core.measures.propagate import differentiate, propagate_first_order_standard
from elbowroom.core.measures.registry import get_rule
from elbowroom.core.quantities.types import Absent
from tests.makers import throws as maker

AT = {name: np.array([value]) for name, value in maker.find_true_instants().items()}
NOISE_M = 0.002
COUNT = 1500


def build_independent(points: np.ndarray) -> np.ndarray:
    return NOISE_M**2 * np.eye(len(points) * len(Joint) * 3)


def test_linear_measure_is_exact() -> None:
    curves = maker.make_curves()
    standard = propagate_first_order_standard("stride_length", (curves, AT), maker.make_setting(), build_independent)
    basis = BSpline(curves.knots_s, np.eye(curves.coefficients_m.shape[1]), 3)
    weights = [basis(AT[name][0]) for name in (Name.FOOT_CONTACT, Name.LIFT)]
    assert standard == pytest.approx(NOISE_M * np.sqrt(sum(np.sum(row**2) for row in weights)), rel=1e-6)


def test_gradient_of_a_linear_measure_is_the_basis() -> None:
    curves = maker.make_curves()
    gradient = differentiate(get_rule("head_ahead_of_lead_foot_at_release"), (curves, AT), maker.make_setting())
    assert not isinstance(gradient, Absent)
    points, slopes = gradient
    row = BSpline(curves.knots_s, np.eye(curves.coefficients_m.shape[1]), 3)(AT[Name.RELEASE][0])
    assert slopes[:, Joint.HEAD, 0] == pytest.approx(row[points], abs=1e-9)
    assert slopes[:, Joint.LEFT_ANKLE, 0] == pytest.approx(-row[points], abs=1e-9)
    others = [joint for joint in Joint if joint not in (Joint.HEAD, Joint.LEFT_ANKLE)]
    assert np.abs(slopes[:, others]).max() == 0.0


def test_correlated_control_points() -> None:
    # One shift of everything at once, by 2.4 m, moves no angle; rounding of the differences leaves 1e-5 deg.
    def build_shift(points: np.ndarray) -> np.ndarray:
        direction = np.tile([1.0, 2.0, -1.0], len(points) * len(Joint))
        return np.outer(direction, direction)

    standard = propagate_first_order_standard(
        "elbow_flexion_at_layback", (maker.make_curves(), AT), maker.make_setting(), build_shift
    )
    assert standard == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize(
    "key",
    [
        "elbow_to_shoulder_line_at_foot_contact",
        "trunk_opening_at_foot_contact",
        "elbow_flexion_at_layback",
        "external_rotation_at_layback",
        "ball_distance_share_at_layback",
        "stride_offset",
        "lead_knee_extension",
        "early_opening_time",
        "hand_speed_at_release",
    ],
)
def test_agrees_with_monte_carlo(key: str) -> None:
    curves = maker.make_curves(120.0)
    setting = maker.make_setting()
    first_order = propagate_first_order_standard(key, (curves, AT), setting, build_independent)
    draws = maker.add_noise(curves, NOISE_M, COUNT, np.random.default_rng(17))
    times = {name: np.repeat(value, COUNT) for name, value in AT.items()}
    values = measure_curves(draws, times, setting, (get_rule(key),))[key]
    assert not isinstance(values, Absent)
    # The standard deviation of n values is known to 1/sqrt(2 n); four of those, and 2 % for curvature.
    assert first_order == pytest.approx(np.std(values[1:], ddof=1), rel=4.0 / np.sqrt(2 * COUNT) + 0.02)


def test_absent_stays_absent() -> None:
    result = propagate_first_order_standard(
        "ball_speed", (maker.make_curves(), AT), maker.make_setting(), build_independent
    )
    assert isinstance(result, Absent)


def test_unknown_measure_is_a_key_error() -> None:
    with pytest.raises(KeyError, match="no_such"):
        propagate_first_order_standard("no_such", (maker.make_curves(), AT), maker.make_setting(), build_independent)
