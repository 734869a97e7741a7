"""Exam quantities held against published thresholds: a probability (JCGM 106) beside every one that disagrees."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isinf

from elbowroom.core.findings.types import (
    Beyond,
    DecisionRule,
    NotMeasured,
    TooCloseToCall,
    Verdict,
    VerdictWord,
    Within,
)
from elbowroom.core.plan.exam import MeasuredQuantity
from elbowroom.core.quantities.conformity import estimate_probability_beyond
from elbowroom.core.quantities.phrases import LengthUnit, phrase_number, phrase_share, phrase_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain


@dataclass(frozen=True, kw_only=True)
class Threshold:
    """A published limit of one quantity."""

    quantity: str
    """Key of the quantity."""
    lower: float
    """Lowest value inside, or minus infinity."""
    upper: float
    """Highest value inside, or infinity."""
    unit: str
    """Unit of both."""
    ages_years: tuple[float, float]
    """Youngest and oldest age that it is held for, in completed years, inclusive."""
    judged: bool
    """Whether a verdict is given; from memory alone it is shown and never judged."""
    meaning: str
    """What was found beyond it, in a sentence."""
    source: str
    """Where it comes from."""
    mark: str
    """How it is known."""
    version: str
    """Version of the table."""


@dataclass(frozen=True, kw_only=True)
class ExamBand:
    """What a study found of one quantity in a group: shown beside a value, never a limit."""

    quantity: str
    """Key of the quantity."""
    group: str
    """Who was studied, in words."""
    mean: float
    """Mean of the group, in `unit`."""
    sd: float | Absent
    """Standard deviation of the group, in `unit`, or absent where the source does not give it."""
    unit: str
    """Unit of both."""
    source: str
    """Where it comes from."""
    mark: str
    """How it is known."""

    @property
    def words(self) -> str:
        """The band in words: `54° (SD 10.9) in Division III baseball players`."""
        mean = phrase_number(self.mean, self.unit, LengthUnit.CENTIMETRES)
        spread = "" if isinstance(self.sd, Absent) else f" (SD {self.sd:g})"
        return f"{mean}{spread} in {self.group}; {self.source} ({self.mark})"


@dataclass(frozen=True, kw_only=True)
class ThresholdVerdict:
    """One quantity held against one threshold."""

    threshold: Threshold
    """The threshold."""
    verdict: Verdict
    """The verdict with its reason."""

    @property
    def word(self) -> VerdictWord:
        """The word of the glossary."""
        match self.verdict:
            case Within():
                return VerdictWord.WITHIN
            case Beyond():
                return VerdictWord.BEYOND
            case TooCloseToCall():
                return VerdictWord.TOO_CLOSE
            case NotMeasured():
                return VerdictWord.NOT_MEASURED


@dataclass(frozen=True, kw_only=True)
class ExamFinding:
    """A quantity with the verdict of every threshold that holds at the athlete's age."""

    measured: MeasuredQuantity
    """The quantity."""
    verdicts: tuple[ThresholdVerdict, ...]
    """One a threshold, in the order of the table."""
    disagreement: str
    """One sentence where the thresholds disagree on this athlete; empty where they do not."""

    @property
    def word(self) -> VerdictWord:
        """The strongest word that a judged threshold gave: beyond before too close to call before within."""
        words = [item.word for item in self.verdicts]
        order = (VerdictWord.BEYOND, VerdictWord.TOO_CLOSE, VerdictWord.WITHIN)
        return next((word for word in order if word in words), VerdictWord.NOT_MEASURED)


def judge_exam(
    measured: Sequence[MeasuredQuantity], thresholds: Sequence[Threshold], age_years: float, rule: DecisionRule
) -> tuple[ExamFinding, ...]:
    """Return the finding of every quantity, in the order of `measured`."""
    return tuple(_judge_quantity(item, thresholds, age_years, rule) for item in measured)


def judge_threshold(value: Obtained, threshold: Threshold, rule: DecisionRule) -> Verdict:
    """Return the verdict of one threshold (JCGM 106:2012, 7 and 8.2, with the clinic's decision rule)."""
    if isinstance(value, Absent):
        return NotMeasured(absent=value)
    if not threshold.judged:
        return NotMeasured(absent=Absent(reason=f"This limit is known {threshold.mark} only: shown, never judged."))
    if value.unit != threshold.unit:
        return NotMeasured(
            absent=Absent(reason=f"The value is in {value.unit}, the limit in {threshold.unit}: correct the table.")
        )
    if value.standard == 0:
        return NotMeasured(absent=Absent(reason="The value has no stated uncertainty, so no verdict can be given."))
    probability = estimate_probability_beyond(
        value.value, value.standard, threshold.lower, threshold.upper, value.degrees_of_freedom
    )
    reason = phrase_threshold(value, threshold, probability)
    if probability >= rule.beyond_from_probability:
        return Beyond(probability_beyond=probability, reason=reason)
    if probability <= rule.within_to_probability:
        return Within(probability_beyond=probability, reason=reason)
    return TooCloseToCall(
        probability_beyond=probability, reason=f"{reason} Reading it again, several times, settles it."
    )


def phrase_threshold(value: Uncertain, threshold: Threshold, probability: float) -> str:
    """Return the sentence that holds a value against a threshold."""
    share = phrase_share(probability)
    return f"{phrase_uncertain(value)} against {phrase_limits(threshold)}: chance of being beyond it {share}."


def phrase_limits(threshold: Threshold) -> str:
    """Return the limits in words: `at most 20°`, `66 % to 75 %`."""
    low = phrase_number(threshold.lower, threshold.unit, LengthUnit.CENTIMETRES)
    high = phrase_number(threshold.upper, threshold.unit, LengthUnit.CENTIMETRES)
    if isinf(threshold.lower):
        return f"at most {high}"
    return f"at least {low}" if isinf(threshold.upper) else f"{low} to {high}"


def _judge_quantity(
    item: MeasuredQuantity, thresholds: Sequence[Threshold], age_years: float, rule: DecisionRule
) -> ExamFinding:
    held = [
        row
        for row in thresholds
        if row.quantity == item.quantity.key and row.ages_years[0] <= int(age_years) <= row.ages_years[1]
    ]
    verdicts = tuple(ThresholdVerdict(threshold=row, verdict=judge_threshold(item.value, row, rule)) for row in held)
    return ExamFinding(measured=item, verdicts=verdicts, disagreement=_phrase_disagreement(verdicts))


def _phrase_disagreement(verdicts: Sequence[ThresholdVerdict]) -> str:
    judged = [item for item in verdicts if item.word is not VerdictWord.NOT_MEASURED]
    if len({item.word for item in judged}) < 2:
        return ""
    parts = "; ".join(f"{item.word} by {phrase_limits(item.threshold)} ({item.threshold.source})" for item in judged)
    return f"The published limits disagree here: {parts}."
