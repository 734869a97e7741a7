"""Recorded joint centres become measured throws.

Sides: the truth of an invented throw; the same throw turned, shifted and mirrored to a left-hander gives the same
numbers; the drawn noise of the curves against a seeded Monte Carlo of the recording itself; a second algorithm for the
covariance (dense inverse); gaps and short recordings are set apart.
"""

from __future__ import annotations

import numpy as np
import pytest

from elbowroom.core.chain.captured import (
    RecordedThrow,
    RecordingErrors,
    build_factor,
    build_motion,
    crop_throw,
    measure_recorded,
    repair_gaps,
)
from elbowroom.core.chain.types import ChainSetting, MeasuredVisit
from elbowroom.core.findings.report import AthleteCard, ThrowingHand
from elbowroom.core.geometry.splines import build_basis, build_knots
from elbowroom.core.geometry.vectors import turn_about_vertical
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.landmarks.provisional import build_provisional_tables
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.types import Absent, Source, Uncertain
from elbowroom.core.reconstruction.draws import draw_noise
from elbowroom.core.reconstruction.types import BodyPriors
from tests.makers.throws import END_S, OFFSET_M, STRIDE_M, find_true_instants, make_throw, mirror_hands

RATE_HZ = 240.0
ERRORS = RecordingErrors(marker_standard_m=0.001, joint_standard_m=0.008, target_standard_rad=0.01)


def make_recorded(rate_hz: float = RATE_HZ) -> RecordedThrow:
    times = np.arange(0.0, END_S, 1.0 / rate_hz)
    return RecordedThrow(times_s=times, joints_m=make_throw(times))


def make_setting(hand: ThrowingHand = ThrowingHand.RIGHT) -> ChainSetting:
    athlete = AthleteCard(name="A-1", age_years=16, height_m=1.75, hand=hand, kind=ThrowKind.FLAT_PITCH)
    return ChainSetting(
        athlete=athlete,
        tables=build_provisional_tables(),
        priors=BodyPriors(bones=(), ground_height_m=0.0),
        target_m=(0.0, 0.0, 0.0),
        draws=60,
    )


def measure(throw: RecordedThrow, hand: ThrowingHand = ThrowingHand.RIGHT) -> MeasuredVisit:
    return measure_recorded((throw,), ERRORS, make_setting(hand), np.random.default_rng(3))


def list_values(visit: MeasuredVisit) -> dict[str, Uncertain]:
    values = visit.throws[0].measures.values
    return {key: value for key, value in values.items() if isinstance(value, Uncertain)}


@pytest.fixture(name="plain", scope="module")
def measure_plain() -> MeasuredVisit:
    return measure(make_recorded())


def test_the_truth_is_found(plain: MeasuredVisit) -> None:
    values = list_values(plain)
    assert values["stride_length"].value == pytest.approx(STRIDE_M, abs=0.01)
    assert values["stride_offset"].value == pytest.approx(OFFSET_M, abs=0.01)
    for name, time_s in find_true_instants().items():
        assert plain.throws[0].instants.find(name).value == pytest.approx(time_s, abs=0.012), name


def test_every_source_of_a_recording_is_in_the_budget(plain: MeasuredVisit) -> None:
    parts = {part.source for part in list_values(plain)["trunk_opening_at_foot_contact"].parts if part.standard > 0.0}
    assert parts == {Source.LANDMARKS, Source.JOINT_OFFSET, Source.TARGET, Source.TIMING}


@pytest.mark.parametrize("way", ["shifted", "left-hander"])
def test_shifted_and_mirrored_throws_give_the_same(way: str, plain: MeasuredVisit) -> None:
    throw = make_recorded()
    hand = ThrowingHand.RIGHT
    if way == "shifted":
        moved = RecordedThrow(times_s=throw.times_s + 40.0, joints_m=throw.joints_m + np.array([3.0, -2.0, 0.0]))
    else:
        moved, hand = RecordedThrow(times_s=throw.times_s, joints_m=mirror_hands(throw.joints_m)), ThrowingHand.LEFT
    expected, found = list_values(plain), list_values(measure(moved, hand))
    assert set(found) == set(expected)
    for key, value in expected.items():
        assert found[key].value == pytest.approx(value.value, abs=1e-6 + 1e-6 * abs(value.value)), key


def test_a_field_turned_moves_directions_only(plain: MeasuredVisit) -> None:
    throw = make_recorded()
    turned = RecordedThrow(times_s=throw.times_s, joints_m=turn_about_vertical(throw.joints_m, np.array(10.0)))
    found, expected = list_values(measure(turned)), list_values(plain)
    key = "trunk_opening_at_foot_contact"
    assert abs(found[key].value - expected[key].value) == pytest.approx(10.0, abs=0.05)
    for key in ("elbow_flexion_at_foot_contact", "separation_at_foot_contact"):
        assert found[key].value == pytest.approx(expected[key].value, abs=1e-6)


def test_factor_is_that_of_a_dense_inverse() -> None:
    knots = build_knots(np.linspace(0.0, 0.4, 12))
    times = np.arange(0.0, 0.4, 0.004)
    first, values = build_basis(knots, times)
    size, wide = len(knots) - 4, 57
    design = np.zeros((len(times), size))
    for column in range(4):
        design[np.arange(len(times)), first + column] += values[:, column]
    dense = np.kron(design.T @ design / 0.002**2, np.eye(wide))
    banded = build_factor(knots, times, 0.002)
    lower = np.zeros_like(dense)
    for below in range(len(banded)):
        count = len(dense) - below
        lower[np.arange(count) + below, np.arange(count)] = banded[below, :count]
    np.testing.assert_allclose(lower @ lower.T, dense, rtol=1e-9, atol=1e-3)


def test_drawn_noise_is_that_of_repeated_recordings() -> None:
    standard, count = 0.003, 200
    generator = np.random.default_rng(8)
    throw = make_recorded(120.0)
    errors = RecordingErrors(marker_standard_m=standard, joint_standard_m=0.0, target_standard_rad=0.0)
    motion = build_motion(throw, errors)
    drawn = draw_noise(motion, count, generator)
    repeated = []
    for _ in range(count):
        noise = generator.normal(0.0, standard, throw.joints_m.shape)
        again = RecordedThrow(times_s=throw.times_s, joints_m=throw.joints_m + noise)
        repeated.append(build_motion(again, errors).coefficients_m - motion.coefficients_m)
    # Over 57 coordinates and all control points the ratio of variances scatters by far less than 5 %.
    ratio = np.mean(np.square(drawn)) / np.mean(np.square(repeated))
    assert ratio == pytest.approx(1.0, abs=0.05)


def test_short_gaps_are_bridged_and_long_ones_are_not() -> None:
    throw = make_recorded()
    hidden = throw.joints_m.copy()
    hidden[200:208, Joint.LEFT_KNEE] = np.nan
    bridged = repair_gaps(throw.times_s, hidden)
    assert not isinstance(bridged, Absent)
    assert np.abs(bridged - throw.joints_m).max() < 0.001
    hidden[200:230, Joint.LEFT_KNEE] = np.nan
    assert isinstance(repair_gaps(throw.times_s, hidden), Absent)
    at_the_end = throw.joints_m.copy()
    at_the_end[-3:, Joint.HEAD] = np.nan
    assert isinstance(repair_gaps(throw.times_s, at_the_end), Absent)


def test_what_cannot_be_measured_is_set_apart() -> None:
    whole, cut = make_recorded(), make_recorded()
    short = RecordedThrow(times_s=cut.times_s[:20], joints_m=cut.joints_m[:20])
    nothing = RecordedThrow(times_s=cut.times_s, joints_m=np.full_like(cut.joints_m, np.nan))
    visit = measure_recorded((short, whole, nothing), ERRORS, make_setting(), np.random.default_rng(3))
    assert [throw.number for throw in visit.throws] == [2]
    assert [failed.number for failed in visit.failed] == [1, 3]


def test_only_the_part_about_the_throw_is_kept() -> None:
    throw = make_recorded()
    before = np.arange(-5.0, 0.0, 1.0 / RATE_HZ)
    still = np.repeat(throw.joints_m[:1], len(before), axis=0)
    longer = RecordedThrow(
        times_s=np.concatenate([before, throw.times_s]), joints_m=np.concatenate([still, throw.joints_m])
    )
    cut = crop_throw(longer, ThrowingHand.RIGHT)
    assert not isinstance(cut, Absent)
    assert cut.times_s[0] == pytest.approx(1.45 - 2.6, abs=0.05)
