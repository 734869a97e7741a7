"""The order of work.

Sides: hand-computed weights, monotonicity in each of the three factors, independence of the order of the input.
"""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from elbowroom.core.findings.judge import judge_measure
from elbowroom.core.findings.order import estimate_severity, order_findings
from elbowroom.core.findings.types import Beyond, DecisionRule, Finding, Tolerance, TooCloseToCall
from tests.makers.findings import make_definition, make_tolerance, make_value


def _judge(key: str, value: float, tolerance: Tolerance, standard: float = 2.0) -> Finding:
    return judge_measure(make_definition(key), [make_value(value, standard)] * 3, tolerance, DecisionRule())


@pytest.mark.parametrize(
    ("value", "tolerance", "severity"),
    [
        pytest.param(60.0, make_tolerance(), 1.0, id="one half band past the only limit, aim 30, limit 45"),
        pytest.param(40.0, make_tolerance(), 0.0, id="inside"),
        pytest.param(-16.0, make_tolerance(-10, 10), 0.6, id="below two limits"),
        pytest.param(-40.0, make_tolerance(-10, inf, aim=0.0), 3.0, id="below the only limit"),
    ],
)
def test_severity_is_in_half_bands(value: float, tolerance: Tolerance, severity: float) -> None:
    assert estimate_severity(value, tolerance) == pytest.approx(severity)


def test_weight_is_severity_times_certainty_times_consequence() -> None:
    finding = _judge("a", 60, make_tolerance(consequence=0.8), standard=20)
    (priority,) = order_findings([finding])
    assert isinstance(finding.verdict, Beyond)
    assert 0.90 < finding.verdict.probability_beyond < 0.91
    assert priority.weight == pytest.approx(1.0 * finding.verdict.probability_beyond * 0.8)
    assert priority.reason.startswith("A is 15° past its limit (chance of being outside 90 %).")
    assert "because it is invented" in priority.reason


def test_sure_findings_stand_before_open_ones_and_inside_ones_are_left_out() -> None:
    close = _judge("open", 70, make_tolerance(consequence=1.0), standard=60)
    small = _judge("small", 52, make_tolerance(consequence=0.1))
    large = _judge("large", 52, make_tolerance(consequence=0.9))
    inside = _judge("inside", 20, make_tolerance())
    assert isinstance(close.verdict, TooCloseToCall)
    order = [item.finding.definition.key for item in order_findings([close, inside, small, large])]
    assert order == ["large", "small", "open"]


@given(st.permutations([("a", 50), ("b", 60), ("c", 60), ("d", 47), ("e", 10)]))
def test_order_does_not_depend_on_the_input(rows: list[tuple[str, float]]) -> None:
    findings = [_judge(key, value, make_tolerance()) for key, value in rows]
    assert [item.finding.definition.key for item in order_findings(findings)] == ["b", "c", "a", "d"]


@given(st.floats(46, 80), st.floats(0.1, 20))
def test_further_out_weighs_more(value: float, more: float) -> None:
    near, far = _judge("near", value, make_tolerance(), 0.4), _judge("far", value + more, make_tolerance(), 0.4)
    assert order_findings([near, far])[0].finding is far
