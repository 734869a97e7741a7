"""The judge: a measure's throws held against a tolerance, by the conformity probability of JCGM 106."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from elbowroom.core.findings.phrases import phrase_verdict
from elbowroom.core.findings.types import (
    Beyond,
    DecisionRule,
    Finding,
    NotMeasured,
    Tolerance,
    TooCloseToCall,
    Verdict,
    Within,
)
from elbowroom.core.measures.types import MeasureDefinition
from elbowroom.core.quantities.budget import combine_throws
from elbowroom.core.quantities.conformity import estimate_probability_beyond
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain


def judge_measure(
    definition: MeasureDefinition,
    throws: Sequence[Obtained],
    tolerance: Tolerance | Absent,
    rule: DecisionRule,
) -> Finding:
    """Return the finding of one measure over the throws of a visit.

    The typical throw is the mean of the throws that gave a value. Throws without one are kept in the finding with
    their reasons and leave the verdict to the others.
    """
    typical = _find_typical(throws)
    return Finding(
        definition=definition,
        typical=typical,
        throws=tuple(throws),
        tolerance=tolerance,
        verdict=judge_typical(typical, tolerance, rule, _count_measured(throws)),
    )


def judge_typical(typical: Obtained, tolerance: Tolerance | Absent, rule: DecisionRule, throw_count: int) -> Verdict:
    """Return the verdict on a typical throw (JCGM 106:2012, 7 and 8.2, with the clinic's decision rule)."""
    if isinstance(typical, Absent):
        return NotMeasured(absent=typical)
    if isinstance(tolerance, Absent):
        return NotMeasured(absent=tolerance)
    hindrance = _find_hindrance(typical, tolerance)
    if isinstance(hindrance, Absent):
        return NotMeasured(absent=hindrance)
    probability = estimate_probability_beyond(
        typical.value, typical.standard, tolerance.lower, tolerance.upper, typical.degrees_of_freedom
    )
    reason = phrase_verdict(typical, tolerance, probability, rule, throw_count=throw_count)
    if probability >= rule.beyond_from_probability:
        return Beyond(probability_beyond=probability, reason=reason)
    if probability <= rule.within_to_probability:
        return Within(probability_beyond=probability, reason=reason)
    return TooCloseToCall(probability_beyond=probability, reason=reason)


def _find_typical(throws: Sequence[Obtained]) -> Obtained:
    """Return the typical throw; where no throw gave a value, the first throw's reason."""
    measured = [item for item in throws if isinstance(item, Uncertain)]
    absent = [item for item in throws if isinstance(item, Absent)]
    return absent[0] if absent and not measured else combine_throws(measured)


def _count_measured(throws: Sequence[Obtained]) -> int:
    return sum(isinstance(item, Uncertain) for item in throws)


def _find_hindrance(typical: Uncertain, tolerance: Tolerance) -> Absent | None:
    """Return why a value must not be judged by a row, None where nothing hinders."""
    if not tolerance.judged:
        return Absent(reason="The limits for this measure are from memory alone: shown beside, never judged.")
    if typical.unit != tolerance.unit:
        return Absent(
            reason=f"The value is in {typical.unit} but the limits are in {tolerance.unit}.",
            advice="Correct the unit in the tolerance table.",
        )
    if not (isfinite(typical.value) and isfinite(typical.standard)):
        return Absent(reason="The value or its uncertainty is not a finite number.")
    if typical.standard == 0:
        return Absent(reason="The value has no stated uncertainty, so no verdict can be given.")
    return None
