"""The judge.

Sides: a table of verdicts with ids, the conformity probability as second algorithm, invariance to mirrored signs,
a seeded Monte Carlo of wrong confident verdicts.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from elbowroom.core.findings.judge import judge_measure
from elbowroom.core.findings.phrases import name_verdict
from elbowroom.core.findings.types import Beyond, DecisionRule, NotMeasured, TooCloseToCall, VerdictWord, Within
from elbowroom.core.quantities.conformity import estimate_probability_beyond
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain
from tests.makers.findings import make_definition, make_tolerance, make_value

RULE = DecisionRule()
LOST = Absent(reason="The hand was out of the picture.", advice="Move the phone back.")
WITHIN, BEYOND, CLOSE, NOT = (
    VerdictWord.WITHIN,
    VerdictWord.BEYOND,
    VerdictWord.TOO_CLOSE,
    VerdictWord.NOT_MEASURED,
)


@pytest.mark.parametrize(
    ("readings", "lower", "upper", "word"),
    [
        pytest.param([20, 20, 20], -inf, 45, WITHIN, id="far inside one limit"),
        pytest.param([60, 60, 60], -inf, 45, BEYOND, id="far outside one limit"),
        pytest.param([45, 45, 45], -inf, 45, CLOSE, id="on the limit"),
        pytest.param([-30, -30, -30], -10, inf, BEYOND, id="below a lower limit"),
        pytest.param([0, 0, 0], -10, 10, WITHIN, id="between two limits"),
        pytest.param([0, 0, 0], -1, 1, CLOSE, id="band narrower than the noise"),
        pytest.param([30, 60, 90], -inf, 45, CLOSE, id="scatter makes it open"),
        pytest.param([60], -inf, 45, BEYOND, id="one throw"),
    ],
)
def test_verdicts(readings: list[float], lower: float, upper: float, word: VerdictWord) -> None:
    throws = [make_value(reading, 2.0) for reading in readings]
    finding = judge_measure(make_definition(), throws, make_tolerance(lower, upper), RULE)
    assert name_verdict(finding.verdict) is word
    assert finding.verdict.reason.endswith(".")
    assert "give or take" in finding.verdict.reason


@pytest.mark.parametrize(
    ("throws", "tolerance", "said"),
    [
        pytest.param([LOST, LOST], make_tolerance(), "out of the picture", id="no throw gave it"),
        pytest.param([], make_tolerance(), "No throw", id="no throws"),
        pytest.param([make_value(1)], Absent(reason="No row."), "No row", id="no tolerance"),
        pytest.param([make_value(1)], make_tolerance(judged=False), "memory", id="reference row"),
        pytest.param([make_value(1, unit="m")], make_tolerance(), "in m but", id="unit of the row differs"),
        pytest.param([make_value(1, 0.0)], make_tolerance(), "no stated uncertainty", id="no uncertainty"),
        pytest.param([make_value(nan)], make_tolerance(), "not a finite", id="not a number"),
    ],
)
def test_what_cannot_be_judged_says_why(throws: list[Obtained], tolerance: Absent, said: str) -> None:
    verdict = judge_measure(make_definition(), throws, tolerance, RULE).verdict
    assert isinstance(verdict, NotMeasured)
    assert said in verdict.reason


def test_throws_without_a_value_leave_the_verdict_to_the_others() -> None:
    throws = [make_value(60), LOST, make_value(61)]
    finding = judge_measure(make_definition(), throws, make_tolerance(), RULE)
    assert isinstance(finding.verdict, Beyond)
    assert finding.throws == tuple(throws)
    assert "of 2" in finding.verdict.reason


def test_the_clinic_may_move_the_rule() -> None:
    throws = [make_value(45 + 2.0 / sqrt(3))] * 3
    probability = estimate_probability_beyond(throws[0].value, 2 / sqrt(3), -inf, 45)
    assert probability == pytest.approx(0.8413, abs=1e-4)
    by_default = judge_measure(make_definition(), throws, make_tolerance(), RULE).verdict
    moved = judge_measure(
        make_definition(), throws, make_tolerance(), DecisionRule(beyond_from_probability=0.8)
    ).verdict
    assert isinstance(by_default, TooCloseToCall)
    assert isinstance(moved, Beyond)
    assert moved.probability_beyond == pytest.approx(probability)


def test_two_throws_that_differ_are_rarely_enough() -> None:
    two = judge_measure(make_definition(), [make_value(46, 0.1), make_value(52, 0.1)], make_tolerance(), RULE)
    four = judge_measure(
        make_definition(), [make_value(x, 0.1) for x in (46, 52, 46, 52, 49, 49)], make_tolerance(), RULE
    )
    assert isinstance(two.verdict, TooCloseToCall)
    assert isinstance(four.verdict, Beyond)


@given(st.lists(st.floats(-80, 80), min_size=1, max_size=6), st.floats(0.5, 8), st.floats(-40, 40), st.floats(1, 40))
def test_mirrored_signs_give_the_same_probability(
    readings: list[float], own: float, lower: float, width: float
) -> None:
    tolerance = make_tolerance(lower, lower + width)
    mirrored = replace(tolerance, lower=-tolerance.upper, upper=-tolerance.lower)
    one = judge_measure(make_definition(), [make_value(x, own) for x in readings], tolerance, RULE).verdict
    other = judge_measure(make_definition(), [make_value(-x, own) for x in readings], mirrored, RULE).verdict
    assert not isinstance(one, NotMeasured)
    assert not isinstance(other, NotMeasured)
    assert one.probability_beyond == pytest.approx(other.probability_beyond, abs=1e-12)
    assert type(one) is type(other)


def test_confident_verdicts_are_rarely_wrong() -> None:
    """Truth spread evenly about the limit: of the confident verdicts at most 2 % may be wrong (design, section 6)."""
    generator = np.random.default_rng(7)
    wrong = confident = 0
    for _ in range(1500):
        truth = float(generator.uniform(15, 75))
        shared = 3 * generator.normal()
        throws = [make_value(truth + shared + 5 * generator.normal(), 3.0, shared=3.0) for _ in range(4)]
        finding = judge_measure(make_definition(), throws, make_tolerance(), RULE)
        assert isinstance(finding.typical, Uncertain)
        if isinstance(finding.verdict, Within | Beyond):
            confident += 1
            wrong += isinstance(finding.verdict, Beyond) != (truth > 45)
    assert confident > 1000
    assert wrong / confident <= 0.02
