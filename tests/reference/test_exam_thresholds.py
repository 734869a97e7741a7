"""Exam thresholds against the published values, and their probability against the worked cases of JCGM 106.

Sides: values of check-values F copied here with their marks; JCGM 106:2012 clause 7 cases (from memory, recomputed)
judged as if they were thresholds of the exam.
"""

from __future__ import annotations

from math import inf

import pytest

from elbowroom.core.findings.types import Beyond, DecisionRule, TooCloseToCall, Within
from elbowroom.core.plan.thresholds import Threshold, judge_threshold
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Source
from tests.makers.intakes import EXAM_TABLES, THRESHOLDS

PUBLISHED = [
    ("internal_rotation_deficit", "upper", 20.0, "Wilk et al. 2011", True),
    ("internal_rotation_deficit", "upper", 25.0, "J Am Acad Orthop Surg 2015", True),
    ("internal_rotation_deficit", "upper", 25.0, "Shanley et al. 2011", False),
    ("internal_rotation_deficit", "upper", 13.0, "Shanley et al. 2015", False),
    ("total_arc_deficit", "upper", 5.0, "Wilk et al. 2011", True),
    ("external_rotation_gain", "lower", 5.0, "Wilk et al., 2005 to 2012", True),
    ("horizontal_adduction_deficit", "upper", 15.0, "Shanley et al. 2015", False),
    ("shoulder_flexion_deficit", "upper", 5.0, "Wilk et al. 2014", False),
    ("rotation_strength_ratio", "lower", 66.0, "Wilk et al. 1993", False),
    ("rotation_strength_ratio", "upper", 75.0, "Ellenbecker", False),
]


@pytest.mark.parametrize(("quantity", "side", "value", "source", "judged"), PUBLISHED)
def test_published_limits(quantity: str, side: str, value: float, source: str, judged: bool) -> None:
    rows = [row for row in THRESHOLDS if row.quantity == quantity and source in row.source]
    assert any(getattr(row, side) == value and row.judged is judged for row in rows)


def test_nothing_from_memory_is_judged() -> None:
    assert {row.mark for row in THRESHOLDS if row.judged}.isdisjoint({"from memory", "second-hand"})


def test_errors_of_reading_follow_from_published_sd_and_icc() -> None:
    items = {item.key: item for item in EXAM_TABLES.items}
    # SD 10.9 and 9.1 (Schilling et al. 2019); ICC .93 within, .68 and .774 between raters (PMC4208868).
    internal, external = items["shoulder_internal_rotation"], items["shoulder_external_rotation"]
    assert internal.same_rater_standard == pytest.approx(10.9 * (1 - 0.93) ** 0.5, abs=0.05)
    assert internal.other_rater_standard == pytest.approx(10.9 * (1 - 0.68) ** 0.5, abs=0.05)
    assert external.same_rater_standard == pytest.approx(9.1 * (1 - 0.93) ** 0.5, abs=0.05)
    assert external.other_rater_standard == pytest.approx(9.1 * (1 - 0.774) ** 0.5, abs=0.05)


def make_threshold(lower: float, upper: float) -> Threshold:
    return Threshold(
        quantity="total_arc_deficit",
        lower=lower,
        upper=upper,
        unit="deg",
        ages_years=(0, 120),
        judged=True,
        meaning="-",
        source="JCGM 106:2012",
        mark="from memory, recomputed",
        version="1",
    )


@pytest.mark.parametrize(
    ("value", "standard", "lower", "upper", "conformity", "kind"),
    [
        pytest.param(-5.47, 0.05, -inf, -5.40, 0.9192, Within, id="diode, one upper limit"),
        pytest.param(509.7, 8.6, 490.0, inf, 0.9890, Within, id="burst pressure, one lower limit"),
        pytest.param(13.6, 1.8, 12.5, 16.3, 0.6626, TooCloseToCall, id="viscosity, two limits"),
        pytest.param(-5.33, 0.05, -inf, -5.40, 0.0808, Beyond, id="diode mirrored"),
    ],
)
def test_worked_cases(value: float, standard: float, lower: float, upper: float, conformity: float, kind: type) -> None:
    reading = build_uncertain(value, "deg", {Source.RATER: standard})
    verdict = judge_threshold(reading, make_threshold(lower, upper), DecisionRule())
    assert isinstance(verdict, kind)
    assert 1 - verdict.probability_beyond == pytest.approx(conformity, abs=5e-5)
