"""The order of work: severity times certainty times consequence, each with one sentence of reason."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, isinf

from elbowroom.core.findings.phrases import name_verdict, phrase_remedy
from elbowroom.core.findings.types import Beyond, Finding, Priority, Tolerance, TooCloseToCall
from elbowroom.core.quantities.phrases import (
    LengthUnit,
    choose_decimals,
    convert_shown_value,
    phrase_number,
    phrase_share,
)
from elbowroom.core.quantities.types import Uncertain


def order_findings(findings: Sequence[Finding], lengths: LengthUnit = LengthUnit.CENTIMETRES) -> tuple[Priority, ...]:
    """Return what to work on, most important first.

    Findings that are `beyond` come first, then those `too close to call`; inside each group the weight decides, and
    the key decides between equals, so that the order never depends on the order of the input. A finding without weight
    (its typical throw is inside, or its row has no consequence) is left out.
    """
    ranked = [_rank_finding(finding, lengths) for finding in findings]
    kept = [priority for priority in ranked if priority is not None and priority.weight > 0]
    return tuple(sorted(kept, key=_find_place))


def estimate_severity(value: float, tolerance: Tolerance) -> float:
    """Return the distance outside the nearer limit in units of the tolerance's half band, 0 inside the
    limits.

    The half band is half of the distance between two limits, or the distance from the aim to the only limit.
    """
    outside = max(tolerance.lower - value, value - tolerance.upper, 0.0)
    return outside / find_half_width(tolerance)


def find_half_width(tolerance: Tolerance) -> float:
    """Return half of the distance between the limits, or from the aim to the only limit; infinite without
    either."""
    if not (isinf(tolerance.lower) or isinf(tolerance.upper)):
        return (tolerance.upper - tolerance.lower) / 2
    if tolerance.aim is None:
        return inf
    return min(abs(tolerance.aim - tolerance.lower), abs(tolerance.upper - tolerance.aim))


def _find_place(priority: Priority) -> tuple[bool, float, str]:
    is_open = not isinstance(priority.finding.verdict, Beyond)
    return is_open, -priority.weight, priority.finding.definition.key


def _rank_finding(finding: Finding, lengths: LengthUnit) -> Priority | None:
    """Return the finding's priority, None for verdicts that ask for no work."""
    match finding.verdict, finding.typical, finding.tolerance:
        case (Beyond() | TooCloseToCall()) as verdict, Uncertain() as typical, Tolerance() as tolerance:
            severity = estimate_severity(typical.value, tolerance)
            return Priority(
                finding=finding,
                weight=severity * verdict.probability_beyond * tolerance.consequence,
                reason=phrase_priority(finding, lengths),
            )
        case _:
            return None


def phrase_priority(finding: Finding, lengths: LengthUnit = LengthUnit.CENTIMETRES) -> str:
    """Return the sentence that says why a finding stands at its place: how far, how sure, why it matters."""
    typical, tolerance, verdict = finding.typical, finding.tolerance, finding.verdict
    if not (isinstance(typical, Uncertain) and isinstance(tolerance, Tolerance)):
        return finding.verdict.reason
    outside = max(tolerance.lower - typical.value, typical.value - tolerance.upper)
    share = phrase_share(getattr(verdict, "probability_beyond", 0.0))
    words = finding.definition.words
    decimals = choose_decimals(convert_shown_value(typical.half_width, typical.unit, lengths))
    far = phrase_number(outside, typical.unit, lengths, decimals)
    because = f" It matters because {tolerance.consequence_reason}." if tolerance.consequence_reason else ""
    if isinstance(verdict, Beyond):
        return f"{_capitalise(words)} is {far} past its limit (chance of being outside {share}).{because}"
    return (
        f"{_capitalise(words)} reads {far} past its limit but is {name_verdict(verdict)} ({share}); "
        f"before working on it, {phrase_remedy(typical)}."
    )


def _capitalise(words: str) -> str:
    return words[:1].upper() + words[1:]
