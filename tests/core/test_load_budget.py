"""The budget of the loads, their refusals, and the typical throw.

Sides: the spread of a moment when a single source is scaled, against its known proportion; a joint Monte Carlo of two
sources against the root of their squares; a table of what is refused and in which words; a published share.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from elbowroom.adapters.tables.loads import read_load_tables
from elbowroom.core.chain.bearing import build_thrower, join_loads, measure_throw_loads, scale_load
from elbowroom.core.chain.types import ChainSetting
from elbowroom.core.clips.types import Sufficient, TimingVerdict
from elbowroom.core.findings.report import NOT_STATED, AthleteCard, ThrowingHand
from elbowroom.core.instants.types import InstantName
from elbowroom.core.loads.bodies import build_arm_numbers, draw_balls
from elbowroom.core.loads.definitions import LOADS
from elbowroom.core.loads.measure import STEP_S, measure_loads, read_loads
from elbowroom.core.loads.series import solve_loads
from elbowroom.core.loads.types import BallKind, LoadDraws, Sex, Thrower, ThrowLoads
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import SHARED_SOURCES, Absent, Source, Uncertain
from elbowroom.core.reconstruction.types import Curves
from tests.makers.throws import add_noise, find_true_instants, make_curves

TABLES = read_load_tables()
THROWER = Thrower(age_years=25.0, height_m=1.75, mass_kg=75.0, sex=Sex.MALE, ball=BallKind.BASEBALL)
DRAWS = 120
VARUS = "largest_elbow_varus_moment"
CARD = AthleteCard(
    name="A1",
    age_years=25.0,
    height_m=1.75,
    hand=ThrowingHand.RIGHT,
    kind=ThrowKind.MOUND_PITCH,
    sex=Sex.MALE,
    mass_kg=75.0,
)
FAST = Sufficient(rate_hz=240.0)
TIMING = TimingVerdict(instants=FAST, trunk_rates=FAST, arm_rates=FAST)


def make_times(count: int) -> dict[InstantName, np.ndarray]:
    return {name: np.full(count, time) for name, time in find_true_instants().items()}


def make_draws(standard_m: float = 0.0005) -> LoadDraws:
    """Return draws of landmark noise, and of a scale known to 2 %."""
    rng = np.random.default_rng(8)
    best = make_curves()
    noisy = add_noise(best, standard_m, DRAWS + 1, rng)
    factors = np.concatenate([[1.0], 1.0 + 0.02 * rng.standard_normal(DRAWS)])
    scaled = Curves(knots_s=best.knots_s, coefficients_m=factors[:, None, None, None] * best.coefficients_m)
    times = make_times(DRAWS + 1)
    by_source = {Source.LANDMARKS: (noisy, times), Source.SCALE: (scaled, times)}
    return LoadDraws(by_source=by_source, thrower=THROWER, tables=TABLES)


@pytest.fixture(scope="module", name="loads")
def measure_invented() -> ThrowLoads:
    loads = measure_loads(make_draws(), np.random.default_rng(9))
    assert isinstance(loads, ThrowLoads)
    return loads


def find_parts(value: Uncertain | Absent) -> dict[Source, float]:
    assert isinstance(value, Uncertain)
    return {part.source: part.standard for part in value.parts}


def test_every_load_is_given_with_its_sources(loads: ThrowLoads) -> None:
    assert set(loads.values) == {item.key for item in LOADS}
    parts = find_parts(loads.values[VARUS])
    assert set(parts) == {Source.LANDMARKS, Source.SCALE, Source.BODY, Source.BALL, Source.SMOOTHING}
    assert {Source.BODY, Source.BALL, Source.SMOOTHING} <= SHARED_SOURCES


def test_scale_enters_with_its_square(loads: ThrowLoads) -> None:
    # Inertia goes with length squared, so a moment of it by acceleration of angles is off by twice the lengths' share;
    # the part from gravity, by once. The draws know their own standard deviation to 1 / sqrt(2 n).
    value = loads.values[VARUS]
    share = find_parts(value)[Source.SCALE] / abs(value.value)
    assert share == pytest.approx(2 * 0.02, rel=3 / np.sqrt(2 * DRAWS) + 0.05)


def test_two_sources_add_as_squares(loads: ThrowLoads) -> None:
    # One Monte Carlo in which landmark noise and the ball vary at once, against their two parts.
    draws, rng, count = make_draws(), np.random.default_rng(10), 400
    best = make_curves()
    noisy = add_noise(best, 0.0005, count + 1, rng)
    numbers = draw_balls(THROWER, TABLES, count, rng)
    times = make_times(count + 1)
    grid = np.arange(times[InstantName.FOOT_CONTACT][0] - 0.05, times[InstantName.RELEASE][0] + 0.06, STEP_S)
    both = read_loads(solve_loads(noisy, grid, numbers, times[InstantName.RELEASE]), times)[VARUS]
    parts = find_parts(loads.values[VARUS])
    expected = np.hypot(parts[Source.LANDMARKS], parts[Source.BALL])
    spread = np.sqrt(np.mean((both[1:] - both[0]) ** 2))
    assert spread == pytest.approx(expected, rel=3 * np.sqrt(1 / (2 * count) + 1 / (2 * 90)))
    assert draws.thrower is THROWER


def test_blocks_of_draws_make_no_difference(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(3)
    noisy, numbers = add_noise(make_curves(), 0.001, 21, rng), draw_balls(THROWER, TABLES, 20, rng)
    grid, release = np.arange(1.3, 1.5, STEP_S), make_times(21)[InstantName.RELEASE]
    whole = solve_loads(noisy, grid, numbers, release).values
    monkeypatch.setattr("elbowroom.core.loads.series.BLOCK", 700)
    parts = solve_loads(noisy, grid, numbers, release).values
    for key, values in whole.items():
        assert parts[key] == pytest.approx(values, rel=1e-12, nan_ok=True)


def test_the_ball_leaves_at_release() -> None:
    grid, curves = np.arange(1.3, 1.5, STEP_S), make_curves()
    numbers = build_arm_numbers(THROWER, TABLES)
    empty = replace(numbers, ball=replace(numbers.ball, mass_kg=np.zeros((1, 1))))
    held = solve_loads(curves, grid, numbers, np.array([1.4])).values["elbow_proximal_force"][0]
    bare = solve_loads(curves, grid, empty, np.array([1.4])).values["elbow_proximal_force"][0]
    is_before = grid < 1.4 - STEP_S
    is_after = grid > 1.4 + STEP_S
    assert np.abs(held - bare)[is_before].min() > 1e-3
    assert (held == bare)[is_after].all()


def test_changes_are_told_for_every_move(loads: ThrowLoads) -> None:
    assert len(loads.changes) == 4
    for change in loads.changes:
        for value in change.changes.values():
            assert isinstance(value, Uncertain)
            assert np.isfinite(value.standard)
    flexion = loads.changes[1].changes[VARUS]
    assert isinstance(flexion, Uncertain)
    assert flexion.value != 0.0


def make_setting(card: AthleteCard = CARD) -> ChainSetting:
    return ChainSetting(athlete=card, tables=None, priors=None, target_m=(0.0, 0.0, 0.0), load_tables=TABLES)  # type: ignore[arg-type]


REFUSED = {
    "no sex": (replace(CARD, sex=NOT_STATED), TIMING, "sex"),
    "no mass": (replace(CARD, mass_kg=NOT_STATED), TIMING, "mass_kg"),
    "neither": (replace(CARD, sex=NOT_STATED, mass_kg=NOT_STATED), TIMING, "sex or mass_kg"),
    "other throw without a ball": (replace(CARD, kind=ThrowKind.OTHER), TIMING, "ball"),
    "slow pictures": (CARD, replace(TIMING, arm_rates=Absent(reason="Only 120 pictures a second.")), "Only 120"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_loads_are_refused_with_the_reason(case: str) -> None:
    card, timing, words = REFUSED[case]
    found = measure_throw_loads(make_draws().by_source, make_setting(card), timing, np.random.default_rng(1))
    assert isinstance(found, Absent)
    assert words in found.reason
    assert found.advice


def test_loads_need_their_instants() -> None:
    draws = make_draws()
    lost = {
        source: (curves, {name: time for name, time in times.items() if name is not InstantName.LAYBACK})
        for source, (curves, times) in draws.by_source.items()
    }
    found = measure_throw_loads(lost, make_setting(), TIMING, np.random.default_rng(1))
    assert isinstance(found, Absent)
    assert "layback" in found.reason


def test_an_other_throw_with_its_ball_is_measured() -> None:
    card = replace(CARD, kind=ThrowKind.OTHER, ball=BallKind.SOFTBALL_11)
    thrower = build_thrower(card)
    assert isinstance(thrower, Thrower)
    assert thrower.ball is BallKind.SOFTBALL_11


def test_shares_of_body_size() -> None:
    # Sabick et al. 2004: 18 N m on 44.3 kg and 1.54 m are 2.7 % of body weight times height (worked out).
    child = replace(THROWER, mass_kg=44.3, height_m=1.54)
    share = scale_load(build_uncertain(18.0, "N m", {Source.BODY: 1.8}), child)
    assert isinstance(share, Uncertain)
    assert share.value == pytest.approx(2.7, abs=0.05)
    assert share.standard == pytest.approx(0.1 * share.value)
    assert share.unit == "% BW H"
    force = scale_load(build_uncertain(44.3 * 9.80665, "N", {}), child)
    assert isinstance(force, Uncertain)
    assert (force.value, force.unit) == (pytest.approx(100.0), "% BW")


def test_no_throw_gives_no_card() -> None:
    assert isinstance(join_loads((), CARD, TABLES), Absent)
