"""Measures of an invented throw.

Sides: the drivers of the throw (closed form); turned, shifted and mirrored throws; the sum rule of separation;
refusals by a table of cases; seeded Monte Carlo of the budget against closed forms; a fixed budget by hand.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from elbowroom.core.clips.types import Sufficient, TimingVerdict
from elbowroom.core.geometry.vectors import turn_about_vertical
from elbowroom.core.instants.find import draw_times, find_instants
from elbowroom.core.instants.types import InstantName as Name
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.measures.consistency import measure_consistency
from elbowroom.core.measures.measure import draw_target, make_repeats, measure_curves, measure_deviation, measure_throw
from elbowroom.core.measures.registry import HEADLINES, MEASURES, RULES, get_definition
from elbowroom.core.measures.types import ThrowKind, ThrowMeasures
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Source, Uncertain
from elbowroom.core.reconstruction.types import Curves
from tests.makers import throws as maker

AT = {name: np.array([value]) for name, value in maker.find_true_instants().items()} | {
    Name.HANDS_APART: np.array([maker.APART_S])
}
CONTACT, LAYBACK, RELEASE = (AT[name] for name in (Name.FOOT_CONTACT, Name.LAYBACK, Name.RELEASE))
SLOW = Absent(reason="60 pictures a second are too few for it.", advice="Film at 240.")


def measure(curves: Curves | None = None, **setting: object) -> dict[str, float | Absent]:
    values = measure_curves(curves or maker.make_curves(), AT, maker.make_setting(**setting))  # type: ignore[arg-type]
    return {key: value if isinstance(value, Absent) else float(value[0]) for key, value in values.items()}


def test_every_measure_is_measured_or_says_why() -> None:
    values = measure()
    assert set(values) == {definition.key for definition in MEASURES}
    assert {key for key, value in values.items() if isinstance(value, Absent)} == {"ball_speed"}
    assert all(np.isfinite(value) for value in values.values() if not isinstance(value, Absent))


def test_measures_give_what_drove_the_throw() -> None:
    values = measure()
    later = maker.drive_opening(CONTACT, 0.03)[0]
    expected = {
        "elbow_to_shoulder_line_at_foot_contact": (0.0, 0.01),
        "shoulder_abduction_at_layback": (90.0, 0.01),
        "horizontal_abduction_at_foot_contact": (0.0, 0.01),
        "external_rotation_at_layback": (maker.drive_rotation(LAYBACK)[0], 0.05),
        "largest_external_rotation": (maker.drive_rotation(LAYBACK)[0], 0.05),
        "elbow_flexion_at_release": (maker.drive_flexion(RELEASE)[0], 0.05),
        "pelvis_opening_at_foot_contact": (maker.drive_opening(CONTACT)[0], 0.05),
        "pelvis_opening_at_hands_apart": (maker.drive_opening(AT[Name.HANDS_APART])[0], 0.01),
        "separation_at_foot_contact": (maker.drive_opening(CONTACT)[0] - later, 0.7),
        "forward_tilt_at_release": (maker.drive_tilt(RELEASE)[0], 0.01),
        "stride_length": (maker.STRIDE_M, 1e-4),
        "stride_length_share": (100 * maker.STRIDE_M / 1.75, 0.01),
        "stride_offset": (maker.OFFSET_M, 1e-4),
        "lead_foot_angle_at_foot_contact": (90.0, 0.01),
        "time_from_foot_contact_to_release": (maker.RELEASE_S - maker.CONTACT_S, 1e-9),
        "layback_share": (100 * (LAYBACK - CONTACT)[0] / (RELEASE - CONTACT)[0], 1e-6),
        # Steepest slopes of the drivers: 115 deg by tanh of width 0.07 s, and 30 deg by tanh of width 0.03 s (the
        # spline through 240 samples a second makes it 502, through 960 it is 500.0).
        "largest_pelvis_rate": (0.5 * 115.0 / 0.07, 2.0),
        "largest_elbow_extension_rate": (0.5 * 30.0 / 0.03, 3.0),
    }
    for key, (value, allowed) in expected.items():
        assert values[key] == pytest.approx(value, abs=allowed), key


def test_early_opening_is_the_crossing_of_the_driver() -> None:
    fine = np.arange(maker.LIFT_S, maker.CONTACT_S, 1e-5)
    passed_s = fine[np.argmax(maker.drive_opening(fine) >= 10.0)]
    assert measure()["early_opening_time"] == pytest.approx(maker.CONTACT_S - passed_s, abs=2e-4)


def test_ball_distance_from_the_lengths_of_the_arm() -> None:
    bend, turn = np.radians(maker.drive_flexion(LAYBACK)[0]), np.radians(maker.drive_rotation(LAYBACK)[0])
    reach = maker.FOREARM_M + maker.HAND_M
    # The upper arm (0.27 m) lies on the shoulder line, 0.17 m from the axis; the forearm turns about it.
    expected = np.hypot(0.17 + 0.27 + reach * np.cos(bend), reach * np.sin(bend) * np.cos(turn))
    values = measure()
    assert values["ball_distance_at_layback"] == pytest.approx(expected, abs=1e-4)
    assert values["ball_distance_share_at_layback"] == pytest.approx(expected / (0.27 + maker.FOREARM_M), abs=2e-4)
    assert values["largest_ball_distance"] >= values["ball_distance_at_layback"] - 1e-9  # type: ignore[operator]


def test_distances_and_slot_from_the_places() -> None:
    contact, release, finish = (
        maker.make_throw(AT[name])[0] for name in (Name.FOOT_CONTACT, Name.RELEASE, Name.FINISH)
    )
    forearm = release[Joint.RIGHT_WRIST] - release[Joint.RIGHT_ELBOW]
    head = release[Joint.HEAD] - release[Joint.LEFT_ANKLE]
    hips = 0.5 * (finish[Joint.LEFT_HIP] + finish[Joint.RIGHT_HIP])
    expected = {
        "arm_slot_at_release": np.degrees(np.angle(complex(-forearm[1], forearm[2]))),
        "head_ahead_of_lead_foot_at_release": head[0],
        "head_beside_lead_foot_at_release": head[1],
        "glove_height_at_foot_contact": contact[Joint.LEFT_HAND, 2] - contact[Joint.LEFT_SHOULDER, 2],
        "balance_at_finish": hips[1] - finish[Joint.LEFT_ANKLE, 1],
    }
    values = measure()
    for key, value in expected.items():
        assert values[key] == pytest.approx(value, abs=0.02), key


def test_separation_sum_rule() -> None:
    values = measure()
    whole = values["pelvis_opening_at_foot_contact"] - values["trunk_opening_at_foot_contact"]  # type: ignore[operator]
    assert values["separation_at_foot_contact"] == pytest.approx(whole)
    assert values["separation_at_foot_contact"] > 5.0  # type: ignore[operator]


def move(change) -> dict[str, float | Absent]:  # type: ignore[no-untyped-def]
    curves = maker.make_curves()
    return measure(replace(curves, coefficients_m=change(curves.coefficients_m)))


def assert_same(first: dict[str, float | Absent], second: dict[str, float | Absent], but: set[str]) -> None:
    for key, value in first.items():
        if not isinstance(value, Absent) and key not in but:
            assert second[key] == pytest.approx(value, abs=1e-6), key


def test_shifted_field_changes_nothing() -> None:
    assert_same(measure(), move(lambda c: c + np.array([3.0, -2.0, 0.5])), but=set())


def test_turned_field_changes_only_what_needs_the_target() -> None:
    turned = move(lambda c: turn_about_vertical(c, np.array(12.0)))
    needing = {rule.definition.key for rule in RULES if rule.needs_target}
    assert_same(measure(), turned, but=needing)
    for key in ("trunk_opening_at_foot_contact", "pelvis_opening_at_release"):
        assert turned[key] - measure()[key] == pytest.approx(12.0, abs=1e-6)  # type: ignore[operator]
    assert turned["stride_offset"] != pytest.approx(measure()["stride_offset"], abs=0.05)


def test_left_hander_mirrored_twice_is_the_right_hander() -> None:
    mirrored = move(maker.mirror_hands)
    twice = move(lambda c: maker.mirror_hands(maker.mirror_hands(c)))
    assert_same(measure(), twice, but=set())
    assert mirrored["elbow_flexion_at_layback"] != pytest.approx(measure()["elbow_flexion_at_layback"], abs=1.0)


def test_rotation_is_absent_near_a_straight_elbow() -> None:
    curves = maker.make_curves()
    moved = curves.coefficients_m.copy()
    shoulder, elbow = moved[:, :, 1], moved[:, :, 2]
    moved[:, :, 3] = elbow + 0.9 * (elbow - shoulder)
    throw = measure_throw((replace(curves, coefficients_m=moved), AT), {}, maker.make_setting())
    refused = throw.values["external_rotation_at_layback"]
    assert isinstance(refused, Absent)
    assert "straight" in refused.reason
    assert isinstance(throw.values["elbow_flexion_at_layback"], Uncertain)


FAST = Sufficient(rate_hz=240.0)
NO_TIMES, NO_RATES, NO_ARM = (
    TimingVerdict(instants=instants, trunk_rates=trunk, arm_rates=SLOW)
    for instants, trunk in ((SLOW, SLOW), (FAST, SLOW), (FAST, FAST))
)
REFUSALS = [
    ("stride_offset", {"kind": ThrowKind.POSITION_THROW}, "pitches"),
    ("stride_length", {"kind": ThrowKind.LONG_TOSS}, "pitches"),
    ("trunk_opening_at_foot_contact", {"target": Absent(reason="No target.")}, "No target"),
    (
        "time_from_foot_contact_to_release",
        {"timing": NO_TIMES},
        "few",
    ),
    ("largest_trunk_rate", {"timing": NO_RATES}, "few"),
    ("hand_speed_at_release", {"timing": NO_RATES}, "few"),
    (
        "largest_internal_rotation_rate",
        {"timing": NO_ARM},
        "few",
    ),
    ("ball_speed", {}, "not tracked"),
]
KEPT = [
    ("stride_offset", {"kind": ThrowKind.FLAT_PITCH}),
    (
        "elbow_to_shoulder_line_at_foot_contact",
        {"timing": NO_TIMES},
    ),
    ("separation_at_foot_contact", {"target": Absent(reason="No target.")}),
    ("largest_trunk_rate", {"timing": NO_ARM}),
]


@pytest.mark.parametrize(("key", "setting", "word"), REFUSALS, ids=[f"{k}-{w}" for k, _, w in REFUSALS])
def test_refused(key: str, setting: dict[str, object], word: str) -> None:
    refused = measure(**setting)[key]
    assert isinstance(refused, Absent)
    assert word in refused.reason


@pytest.mark.parametrize(("key", "setting"), KEPT, ids=[k for k, _ in KEPT])
def test_not_refused(key: str, setting: dict[str, object]) -> None:
    assert isinstance(measure(**setting)[key], float)


def test_missing_instant_gives_its_reason() -> None:
    times = {**AT, Name.LAYBACK: Absent(reason="The arm was hidden.", advice="Film from the open side.")}
    values = measure_curves(maker.make_curves(), times, maker.make_setting())
    refused = values["external_rotation_at_layback"]
    assert isinstance(refused, Absent)
    assert refused.reason == "The layback was not found. The arm was hidden."
    assert refused.advice == "Film from the open side."
    assert not isinstance(values["largest_external_rotation"], Absent)


def test_any_instant_may_be_missing() -> None:
    for name in Name:
        times = {**AT, name: Absent(reason="It was hidden.")}
        values = measure_curves(maker.make_curves(), times, maker.make_setting())
        for rule in RULES:
            refused = name in rule.needs or rule.definition.key == "ball_speed"
            assert isinstance(values[rule.definition.key], Absent) == refused, rule.definition.key


def test_extremes_include_the_ends_of_their_phase() -> None:
    values = measure()
    for word, stem, places in (
        ("largest", "ball_distance", ("layback",)),
        ("largest", "elbow_flexion", ("foot_contact", "layback", "release")),
        ("largest", "separation", ("foot_contact",)),
        ("largest", "horizontal_abduction", ("foot_contact", "release")),
        ("lowest", "elbow_to_shoulder_line", ("foot_contact", "layback")),
    ):
        for place in places:
            at, extreme = values[f"{stem}_at_{place}"], values[f"{word}_{stem}"]
            assert at >= extreme if word == "lowest" else at <= extreme, stem  # type: ignore[operator]


def test_budget_of_the_target_is_the_turn_itself() -> None:
    best = (maker.make_curves(), AT)
    count = 400
    draws = {Source.TARGET: draw_target(best, 1.5, np.random.default_rng(4), count)}
    throw = measure_throw(best, draws, maker.make_setting())
    opening = throw.values["trunk_opening_at_foot_contact"]
    offset = throw.values["stride_offset"]
    # The root mean square of n normal values is known to 1/sqrt(2 n); four of those.
    allowed = 4.0 / np.sqrt(2 * count)
    assert opening.standard == pytest.approx(1.5, rel=allowed)
    assert offset.standard == pytest.approx(maker.STRIDE_M * np.radians(1.5), rel=allowed)
    assert throw.values["elbow_flexion_at_layback"].standard == pytest.approx(0.0, abs=1e-6)


def test_budget_of_the_instant_is_slope_times_spread() -> None:
    best = (maker.make_curves(), AT)
    count = 400
    drawn = draw_times(AT, np.random.default_rng(8), count, 240.0)
    repeats, _ = make_repeats(best, count)
    throw = measure_throw(best, {Source.TIMING: (repeats, drawn)}, maker.make_setting())
    spread = np.std(drawn[Name.LIFT][1:])
    slope = (maker.drive_opening(AT[Name.LIFT] + 1e-4) - maker.drive_opening(AT[Name.LIFT] - 1e-4))[0] / 2e-4
    assert throw.values["time_from_lift_to_foot_contact"].standard == pytest.approx(
        np.sqrt(np.mean((drawn[Name.FOOT_CONTACT] - drawn[Name.LIFT] - 0.7)[1:] ** 2)), rel=1e-6
    )
    assert throw.values["pelvis_opening_at_lift"].standard == pytest.approx(slope * spread, rel=0.1, abs=1e-3)


def test_angles_that_wrap_keep_a_small_budget() -> None:
    # Turned so that the foot points straight back, half of the draws lie at +180 and half at -180 deg.
    curves = maker.make_curves()
    back = replace(curves, coefficients_m=turn_about_vertical(curves.coefficients_m, np.array(-90.0)))
    drawn = draw_target((back, AT), 1.0, np.random.default_rng(6), 300)
    foot = measure_throw((back, AT), {Source.TARGET: drawn}, maker.make_setting()).values[
        "lead_foot_angle_at_foot_contact"
    ]
    assert abs(foot.value) == pytest.approx(180.0, abs=0.01)
    assert foot.standard == pytest.approx(1.0, rel=4.0 / np.sqrt(600))


@pytest.mark.parametrize(("unit", "expected"), [("deg", 2.0), ("deg/s", 362.0), ("m", 362.0)])
def test_only_angles_wrap(unit: str, expected: float) -> None:
    assert measure_deviation(np.array([361.0]), -1.0, unit) == pytest.approx([expected])


def test_whole_throw_with_found_instants() -> None:
    rng = np.random.default_rng(9)
    curves = maker.add_noise(maker.make_curves(), 0.003, 100, rng)
    _, times = find_instants(curves, 240.0)
    throw = measure_throw((curves, times), {Source.LANDMARKS: (curves, times)}, maker.make_setting())
    missing = {key for key, value in throw.values.items() if isinstance(value, Absent)}
    assert "ball_speed" in missing
    assert not missing & set(HEADLINES)
    for key in HEADLINES:
        value = throw.values[key]
        assert isinstance(value, Uncertain)
        assert [part.source for part in value.parts] == [Source.LANDMARKS]
        assert value.unit == get_definition(key).unit


def test_registry_is_whole() -> None:
    keys = [definition.key for definition in MEASURES]
    assert len(set(keys)) == len(keys)
    assert {definition.key for definition in MEASURES if definition.headline} == set(HEADLINES)
    assert {definition.unit for definition in MEASURES} <= {"deg", "m", "s", "deg/s", "m/s", "%", "1"}
    for definition in MEASURES:
        assert definition.definition.endswith(".")
        assert definition.sign.endswith(".")
        assert definition.source.endswith(".")


def test_consistency_is_the_standard_deviation() -> None:
    values = [179.0, -179.0, 177.0, -177.0]
    throws = [ThrowMeasures(values={"a": build_uncertain(v, "deg", {Source.LANDMARKS: 1.0})}) for v in values]
    scatter = measure_consistency(throws)["a"]
    # Around the circle these are -1, 1, -3, 3 from straight back: sd = sqrt(20 / 3), its own sd s / sqrt(6).
    assert scatter.value == pytest.approx(np.sqrt(20 / 3))
    assert scatter.standard == pytest.approx(np.sqrt(20 / 3) / np.sqrt(6))
    assert isinstance(measure_consistency(throws[:2])["a"], Absent)
    assert measure_consistency([]) == {}
