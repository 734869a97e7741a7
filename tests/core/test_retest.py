"""A change between two visits is real, not shown or too close to call, by a stated rule.

Sides: the normal and Student quantiles of scipy.stats against the rule's limits; MDC95 = 1.96 root 2 SEM (Weir 2005) as
the same limit; seeded Monte Carlo of two visits without a change and with one; symmetry under exchange of the visits
and under a turn of an angle; a closed form for the number of throws, and Monte Carlo of its power.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import inf, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm, t

from elbowroom.core.plan.retest import (
    Change,
    ChangeRule,
    ChangeWord,
    Noise,
    VisitReading,
    choose_change_word,
    estimate_same_way_probability,
    judge_change,
    subtract_readings,
)
from elbowroom.core.plan.scatter import Scatter, VisitScatter, estimate_scatter, estimate_visit_scatter
from elbowroom.core.plan.throws_needed import RetestErrors, ThrowsNeeded, build_retest_errors, count_throws_needed
from elbowroom.core.quantities.budget import build_uncertain, combine_throws
from elbowroom.core.quantities.types import Absent, Source, Uncertain

EARLY, LATE = date(2026, 3, 1), date(2026, 4, 1)


def make_reading(value: float, standard: float, unit: str = "deg", count: int = 5, day: date = LATE) -> VisitReading:
    typical = build_uncertain(value, unit, {Source.LANDMARKS: standard})
    return VisitReading(made_on=day, typical=typical, throws=(value,) * count)


def judge(before: float, after: float, standard: float = 1.0, noise: Noise | None = None) -> Change:
    change = judge_change(make_reading(before, standard, day=EARLY), make_reading(after, standard), noise or Noise())
    assert isinstance(change, Change)
    return change


@pytest.mark.parametrize(
    ("size", "word"),
    [
        (norm.ppf(0.975) * sqrt(2) * 1.001, ChangeWord.REAL),
        (norm.ppf(0.975) * sqrt(2) * 0.999, ChangeWord.TOO_CLOSE),
        (norm.ppf(0.90) * sqrt(2) * 1.001, ChangeWord.TOO_CLOSE),
        (norm.ppf(0.90) * sqrt(2) * 0.999, ChangeWord.NOT_SHOWN),
        (0.0, ChangeWord.NOT_SHOWN),
    ],
)
def test_words_begin_at_the_quantiles(size: float, word: ChangeWord) -> None:
    assert judge(10.0, 10.0 + size).word is word
    assert judge(10.0, 10.0 - size).word is word


def test_smallest_real_change_is_mdc95_of_weir() -> None:
    # Weir 2005: minimal difference = SEM x 1.96 x root 2; SEM 7.56 gives 20.9 (check values D4).
    assert judge(0.0, 1.0, 7.557).smallest_real_value == pytest.approx(20.9, abs=0.06)


def test_few_throws_take_student() -> None:
    few = replace(build_uncertain(4.0, "deg", {Source.THROW_TO_THROW: 2.0}), degrees_of_freedom=3.0)
    assert estimate_same_way_probability(few) == pytest.approx(t.cdf(2.0, 3))
    assert choose_change_word(t.cdf(2.0, 3), ChangeRule()) is ChangeWord.TOO_CLOSE
    assert choose_change_word(norm.cdf(2.0), ChangeRule()) is ChangeWord.REAL


@given(st.floats(-80, 80), st.floats(-80, 80), st.floats(0.1, 10), st.floats(-360, 360))
def test_exchange_and_turn_leave_the_word(before: float, after: float, standard: float, turn: float) -> None:
    plain, exchanged = judge(before, after, standard), judge(after, before, standard)
    assert exchanged.change.value == pytest.approx(-plain.change.value, abs=1e-9)
    assert exchanged.word is plain.word
    turned = judge(before + turn, after + turn, standard)
    assert turned.change.value == pytest.approx(plain.change.value, abs=1e-9)


def test_angle_goes_the_shorter_way() -> None:
    assert judge(179.0, -179.0).change.value == pytest.approx(2.0)


def test_two_visits_without_change_are_rarely_called_real() -> None:
    rng = np.random.default_rng(11)
    words = []
    for _ in range(1500):
        visits = [rng.normal(30.0, 4.0, 5) for _ in range(2)]
        readings = [make_visit(values) for values in visits]
        change = judge_change(*readings, Noise())
        assert isinstance(change, Change)
        words.append(change.word)
    share = words.count(ChangeWord.REAL) / len(words)
    # 5 % by the rule; four standard errors of a share of 1500, and 1 % for the approximate degrees of freedom.
    assert 0.05 - 0.0225 - 0.01 <= share <= 0.05 + 0.0225 + 0.01


def make_visit(values: np.ndarray) -> VisitReading:
    typical = combine_throws([Uncertain(value=float(value), unit="deg", parts=()) for value in values])
    return VisitReading(made_on=EARLY, typical=typical, throws=tuple(values))


def test_clinic_whose_visits_lie_further_apart_decides() -> None:
    wide = VisitScatter(error_sd=5.0, unit="deg", athlete_count=1001, mean_change_value=0.0)
    change = judge(0.0, 8.0, 1.0, Noise(visits=wide))
    assert judge(0.0, 8.0, 1.0).word is ChangeWord.REAL
    assert change.change.standard == pytest.approx(sqrt(2) * 5.0)
    assert change.word is ChangeWord.NOT_SHOWN
    narrow = replace(wide, error_sd=0.1)
    assert judge(0.0, 8.0, 1.0, Noise(visits=narrow)).change.standard == pytest.approx(sqrt(2))


def test_one_throw_needs_a_scatter_from_elsewhere() -> None:
    one, five = make_reading(30.0, 1.0, count=1), make_reading(40.0, 1.0)
    alone = judge_change(one, five, Noise())
    assert isinstance(alone, Absent)
    assert "One throw" in alone.reason
    own = Scatter(within_sd=3.0, unit="deg", degrees_of_freedom=8.0, group_count=2, athlete_count=1)
    change = judge_change(one, five, Noise(own=own))
    assert isinstance(change, Change)
    assert change.change.standard == pytest.approx(sqrt(1 + 9 + 1))


def test_what_cannot_be_compared_says_why() -> None:
    missing = VisitReading(made_on=EARLY, typical=Absent(reason="The knee was hidden."), throws=())
    assert judge_change(missing, make_reading(1, 1), Noise()) == Absent(reason="The knee was hidden.")
    other = judge_change(make_reading(1, 1, unit="m"), make_reading(1, 1), Noise())
    assert isinstance(other, Absent)
    assert "in m" in other.reason
    exact = replace(make_reading(1, 1), typical=Uncertain(value=1.0, unit="deg", parts=()))
    assert not judge_change(exact, exact, Noise())


def test_sentences_name_what_was_not_seen() -> None:
    assert "not the same as no change" in judge(0.0, 1.0).reason
    assert "real, the chance" in judge(0.0, 9.0).reason
    assert "give or take" in judge(0.0, 9.0).reason
    assert "film more throws" in judge(0.0, 2.2).reason


def test_pooled_scatter_is_that_of_its_groups() -> None:
    groups = [[1.0, 3.0], [10.0, 10.0, 13.0], [7.0]]
    scatter = estimate_scatter(groups, "deg")
    assert isinstance(scatter, Scatter)
    assert scatter.within_sd == pytest.approx(sqrt((2.0 + 6.0) / 3))
    assert (scatter.degrees_of_freedom, scatter.group_count) == (3.0, 2)
    assert scatter.compute_change_limit(4) == pytest.approx(norm.ppf(0.975) * sqrt(2) * scatter.within_sd / 2)
    assert not estimate_scatter([[7.0]], "deg")
    assert not estimate_visit_scatter([(1.0, 2.0)] * 4, "deg")


def test_difference_keeps_sources_apart() -> None:
    first = build_uncertain(1.0, "m", {Source.LANDMARKS: 3.0, Source.CAMERAS: 1.0})
    second = build_uncertain(3.0, "m", {Source.LANDMARKS: 4.0})
    change = subtract_readings(second, first)
    assert (change.value, change.degrees_of_freedom) == (2.0, inf)
    assert {part.source: part.standard for part in change.parts} == {Source.LANDMARKS: 5.0, Source.CAMERAS: 1.0}


def test_number_of_throws_has_the_chance_that_it_claims() -> None:
    errors = RetestErrors(within_sd=6.0, first_standard=1.5, shared_standard=1.2, unit="deg")
    needed = count_throws_needed(errors, -8.5)
    assert isinstance(needed, ThrowsNeeded)
    for count, holds in ((needed.count, True), (needed.count - 1, False)):
        standard = sqrt(1.5**2 + 1.2**2 + 36.0 / count)
        draws = np.random.default_rng(5).normal(8.5, standard, 200_000)
        share = float(np.mean(draws / standard >= norm.ppf(0.975)))
        assert (share >= 0.80 - 0.004) is holds, (count, share)


def test_what_no_number_of_throws_shows_is_said() -> None:
    errors = build_retest_errors(build_uncertain(0.0, "deg", {Source.CAMERAS: 3.0, Source.LANDMARKS: 1.0}), 4.0)
    assert (errors.shared_standard, errors.first_standard) == (3.0, pytest.approx(sqrt(10)))
    assert "Not even 30" in getattr(count_throws_needed(errors, 5.0), "reason", "")
    assert not count_throws_needed(errors, 0.0)
