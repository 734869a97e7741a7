"""The sentences of findings, in the words of the glossary."""

from __future__ import annotations

from math import isinf, sqrt

from elbowroom.core.findings.types import (
    Beyond,
    DecisionRule,
    NotMeasured,
    Tolerance,
    TooCloseToCall,
    Verdict,
    VerdictWord,
    Within,
)
from elbowroom.core.quantities.phrases import LengthUnit, phrase_number, phrase_share, phrase_uncertain
from elbowroom.core.quantities.types import Absent, Source, Uncertain

SETTLED_BY = {
    Source.THROW_TO_THROW: "film more throws",
    Source.LANDMARKS: "film closer, in better light, or more throws",
    Source.TIMING: "film at a higher picture rate or more throws",
    Source.CLOCKS: "let every phone hear a clap before the first throw",
    Source.CAMERAS: "film the board again, nearer and in more places",
    Source.SCALE: "film the board again, or mark more of the plate",
    Source.TARGET: "mark the direction to the target",
    Source.UPRIGHT: "level the phones by their grid lines, or film the board or the plate",
    Source.OUT_OF_PLANE: "add a second phone from another side",
    Source.BODY: "no filming will help: the body tables differ",
    Source.BALL: "state which ball was thrown",
    Source.SMOOTHING: "film at a higher picture rate",
    Source.RATER: "let the same person measure again, several times",
    Source.REPEATS: "measure more often",
    Source.INSTRUMENT: "measure with a finer instrument",
    Source.EQUATION: "no measuring will help: the equation itself errs that much",
    Source.JOINT_OFFSET: "more throws will not help; keep it in view at the retest",
}
"""What would make the interval narrower, by the source that dominates it."""

UNKNOWN = {
    Source.TARGET: "not knowing the direction to the target",
    Source.SCALE: "not knowing the scale",
    Source.UPRIGHT: "not knowing the vertical",
    Source.CAMERAS: "not knowing the cameras",
    Source.CLOCKS: "not knowing the clocks",
}
"""What the set-up left unknown, by source: the sources that the next filming can mend."""
LEAST_SHARE = 0.4
"""From this share of the interval's width on, one unknown of the set-up is worth a sentence; chosen by this project."""


def name_verdict(verdict: Verdict) -> VerdictWord:
    """Return the glossary's word for a verdict."""
    match verdict:
        case Within():
            return VerdictWord.WITHIN
        case Beyond():
            return VerdictWord.BEYOND
        case TooCloseToCall():
            return VerdictWord.TOO_CLOSE
        case NotMeasured():
            return VerdictWord.NOT_MEASURED


def phrase_limits(tolerance: Tolerance, lengths: LengthUnit = LengthUnit.CENTIMETRES) -> str:
    """Return the limits in words: `−10° or more`, `45° or less`, `−5.1 cm to 5.1 cm`."""
    lower = phrase_number(tolerance.lower, tolerance.unit, lengths)
    upper = phrase_number(tolerance.upper, tolerance.unit, lengths)
    if isinf(tolerance.upper):
        return f"{lower} or more"
    if isinf(tolerance.lower):
        return f"{upper} or less"
    return f"{lower} to {upper}"


def phrase_verdict(
    typical: Uncertain,
    tolerance: Tolerance,
    probability: float,
    rule: DecisionRule,
    *,
    throw_count: int,
    lengths: LengthUnit = LengthUnit.CENTIMETRES,
) -> str:
    """Return one sentence: the value, the limits, how likely it is outside, and what would settle an open
    verdict."""
    start = (
        f"{_name_subject(throw_count)} is at {phrase_uncertain(typical, lengths)}, "
        f"accepted is {phrase_limits(tolerance, lengths)}"
    )
    unknown = phrase_unknown(typical)
    if probability >= rule.beyond_from_probability:
        return f"{start}: outside with a chance of {phrase_share(probability)}.{unknown}"
    if probability <= rule.within_to_probability:
        return f"{start}: the chance that it is outside is {phrase_share(probability)}.{unknown}"
    return (
        f"{start}: outside with a chance of {phrase_share(probability)}, which is too close to call; "
        f"to settle it, {phrase_remedy(typical)}.{unknown}"
    )


def phrase_unknown(typical: Uncertain) -> str:
    """Return a sentence, with a space before it, where one unknown of the set-up makes much of the interval; else "".

    The share is that by which the interval would be narrower if the source were known.
    """
    dominant = typical.dominant
    if isinstance(dominant, Absent) or dominant.source not in UNKNOWN or not typical.standard:
        return ""
    share = 1.0 - sqrt(max(1.0 - (dominant.standard / typical.standard) ** 2, 0.0))
    if share < LEAST_SHARE:
        return ""
    remedy = SETTLED_BY[dominant.source]
    return f" {phrase_share(share)} of this interval comes from {UNKNOWN[dominant.source]}: {remedy} to be rid of it."


def phrase_remedy(typical: Uncertain) -> str:
    """Return what would narrow the interval, from the source that dominates it."""
    dominant = typical.dominant
    return "film more throws" if isinstance(dominant, Absent) else SETTLED_BY[dominant.source]


def _name_subject(throw_count: int) -> str:
    if throw_count == 1:
        return "The only throw measured"
    return f"The typical throw of {throw_count}"
