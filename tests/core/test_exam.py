"""The exam: quantities with their budgets, missing sides, thresholds as probabilities, links to the throw.

Sides: sums and ratios worked by hand; their uncertainty against a seeded Monte Carlo over the readings; the
probability of JCGM 106 from the normal table; a table of readings that cannot be used.
"""

from __future__ import annotations

from datetime import date
from math import erf, sqrt

import numpy as np
import pytest

from elbowroom.core.findings.types import DecisionRule, VerdictWord
from elbowroom.core.plan.exam import MeasuredQuantity, list_exam_problems, measure_exam
from elbowroom.core.plan.links import link_exam
from elbowroom.core.plan.thresholds import ExamFinding, judge_exam
from elbowroom.core.quantities.types import Absent, Source, Uncertain
from tests.makers.intakes import (
    DAY,
    EXAM_TABLES,
    THRESHOLDS,
    G,
    T,
    find_links,
    make_exam,
    make_fault,
    read,
)

ER, IR = "shoulder_external_rotation", "shoulder_internal_rotation"
BOTH = (read(ER, T, 120), read(ER, G, 108), read(IR, T, 40), read(IR, G, 62))


def find(key: str, *readings) -> MeasuredQuantity:  # type: ignore[no-untyped-def]
    return next(item for item in measure_exam(make_exam(*readings), EXAM_TABLES) if item.quantity.key == key)


def judge(key: str, *readings, age: float = 16.0) -> ExamFinding:  # type: ignore[no-untyped-def]
    findings = judge_exam(measure_exam(make_exam(*readings), EXAM_TABLES), THRESHOLDS, age, DecisionRule())
    return next(item for item in findings if item.measured.quantity.key == key)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("internal_rotation_deficit", 22.0),
        ("external_rotation_gain", 12.0),
        ("total_arc_deficit", 10.0),
        ("external_rotation_throwing", 120.0),
        ("internal_rotation_glove", 62.0),
    ],
)
def test_quantities_by_hand(key: str, value: float) -> None:
    found = find(key, *BOTH).value
    assert isinstance(found, Uncertain)
    assert found.value == pytest.approx(value)


def test_budget_by_hand() -> None:
    found = find("internal_rotation_deficit", *BOTH).value
    assert isinstance(found, Uncertain)
    # Two readings, each 2.9 of the rater and 1 of the inclinometer.
    assert found.standard == pytest.approx(sqrt(2 * (2.9**2 + 1.0**2)))
    assert {part.source for part in found.parts} == {Source.RATER, Source.INSTRUMENT}


def test_two_raters_cost_more_than_one() -> None:
    other = (read(IR, T, 40), read(IR, G, 62, rater="Ash"))
    one, two = find("internal_rotation_deficit", *BOTH).value, find("internal_rotation_deficit", *other).value
    assert isinstance(one, Uncertain)
    assert isinstance(two, Uncertain)
    assert two.standard == pytest.approx(sqrt(2 * (6.2**2 + 1.0**2)))
    assert one.standard / two.standard == pytest.approx(3.0676 / 6.2801, abs=1e-3)


def test_repeats_give_mean_and_scatter() -> None:
    found = find("internal_rotation_throwing", read(IR, T, 38, 40, 45)).value
    assert isinstance(found, Uncertain)
    parts = {part.source: part.standard for part in found.parts}
    assert found.value == pytest.approx(41.0)
    assert parts[Source.REPEATS] == pytest.approx(sqrt(13) / sqrt(3))


def test_ratio_against_draws() -> None:
    pair = (
        read("external_rotation_strength", T, 90, instrument="handheld_dynamometer"),
        read("external_rotation_strength", G, 110, instrument="handheld_dynamometer"),
    )
    found = find("external_rotation_strength_sides", *pair).value
    assert isinstance(found, Uncertain)
    generator = np.random.default_rng(7)
    share = sqrt(0.07**2 + 0.05**2)
    draws = 100 * 90 * (1 + share * generator.standard_normal(200_000)) / 110
    draws /= 1 + share * generator.standard_normal(200_000)
    assert found.value == pytest.approx(81.818, abs=1e-3)
    # First order leaves out about share squared of the scatter.
    assert found.standard == pytest.approx(float(draws.std()), rel=0.03)


def test_missing_side_is_not_measured() -> None:
    finding = judge("internal_rotation_deficit", read(IR, T, 40))
    assert isinstance(finding.measured.value, Absent)
    assert "glove side" in finding.measured.value.reason
    assert finding.word is VerdictWord.NOT_MEASURED


def test_threshold_near_the_error_is_a_probability() -> None:
    finding = judge("internal_rotation_deficit", *BOTH)
    by_limit = {item.threshold.upper: item for item in finding.verdicts if item.threshold.judged}
    score = (22 - 20) / sqrt(2 * (2.9**2 + 1.0**2))
    assert by_limit[20.0].word is VerdictWord.TOO_CLOSE
    assert by_limit[20.0].verdict.probability_beyond == pytest.approx((1 + erf(score / sqrt(2))) / 2)  # type: ignore[union-attr]
    assert "chance of being beyond it 68 %" in by_limit[20.0].verdict.reason


def test_limits_from_memory_are_shown_and_never_judged() -> None:
    finding = judge("internal_rotation_deficit", *BOTH)
    memory = [item for item in finding.verdicts if item.threshold.mark == "from memory"]
    assert {item.threshold.upper for item in memory} == {13.0, 25.0}
    assert {item.word for item in memory} == {VerdictWord.NOT_MEASURED}


def test_disagreement_of_limits_is_said() -> None:
    finding = judge("internal_rotation_deficit", read(IR, T, 30), read(IR, G, 58))
    assert "disagree" in finding.disagreement
    assert "20°" in finding.disagreement
    assert "25°" in finding.disagreement
    assert finding.word is VerdictWord.BEYOND
    assert judge("internal_rotation_deficit", read(IR, T, 58), read(IR, G, 58)).disagreement == ""


def test_age_chooses_thresholds() -> None:
    adult = judge("internal_rotation_deficit", *BOTH, age=30.0)
    assert {item.threshold.upper for item in adult.verdicts} == {20.0, 25.0}


PROBLEMS = {
    "future": (make_exam(*BOTH), date(2026, 2, 1), "yet to come"),
    "nothing": (make_exam(), DAY, "nothing was read"),
    "unknown item": (make_exam(read("nose_length", T, 4)), DAY, "no item"),
    "wrong instrument": (make_exam(read(IR, T, 40, instrument="grip_dynamometer")), DAY, "name inclinometer"),
    "no rater": (make_exam(read(IR, T, 40, rater=" ")), DAY, "no rater"),
    "no repeats": (make_exam(read(IR, T)), DAY, "0 repeats"),
    "out of range": (make_exam(read(IR, T, 400)), DAY, "outside of 5 to 120"),
    "twice": (make_exam(read(IR, T, 40), read(IR, T, 41)), DAY, "given twice"),
}


@pytest.mark.parametrize("case", PROBLEMS)
def test_exam_that_cannot_be_used(case: str) -> None:
    exam, today, words = PROBLEMS[case]
    assert any(words in problem.words for problem in list_exam_problems(exam, EXAM_TABLES, today))


def test_good_exam_has_no_problem() -> None:
    assert list(list_exam_problems(make_exam(*BOTH), EXAM_TABLES, DAY)) == []


def test_stiff_hip_is_linked_to_early_opening_with_its_grade() -> None:
    hips = (read("hip_internal_rotation", T, 18), read("hip_internal_rotation", G, 45))
    findings = judge_exam(measure_exam(make_exam(*hips), EXAM_TABLES), THRESHOLDS, 14.0, DecisionRule())
    fault = make_fault("trunk_opening_at_foot_contact")
    (link,) = link_exam(findings, [fault], find_links())
    assert "pivot hip" in link.words
    assert "studies disagree" in link.words
    assert link_exam(findings, [make_fault("elbow_flexion_at_layback")], find_links()) == ()
    assert link_exam(findings, [], find_links()) == ()
