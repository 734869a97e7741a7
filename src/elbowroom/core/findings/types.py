"""Findings: a measure held against a tolerance, with a verdict that may be `cannot say`."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from elbowroom.core.measures.types import MeasureDefinition, ThrowKind
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain


@dataclass(frozen=True, kw_only=True)
class Tolerance:
    """Accepted limits of one measure for an age or size band; an open side is None in the table and
    infinite here."""

    measure: str
    """Key of the measure."""
    lower: float
    """Lowest accepted value in the measure's unit, or minus infinity."""
    upper: float
    """Highest accepted value in the measure's unit, or infinity."""
    unit: str
    """Unit of the limits, the same as the measure's."""
    aim: float | None
    """Value to work towards, if the source names one."""
    ages_years: tuple[float, float]
    """Youngest and oldest age that the row holds for, in completed years, inclusive."""
    heights_m: tuple[float, float]
    """Smallest and largest height that the row holds for, inclusive."""
    kinds: tuple[ThrowKind, ...]
    """Kinds of throw that the row holds for."""
    source: str
    """Where the limits come from; `common practice, no source` or `chosen by this project` where that is
    so."""
    judged: bool
    """False for rows from memory alone: shown beside the value, never judged."""
    version: str
    """Version of the table."""
    consequence: float
    """0 to 1: how much it matters (sets the order of work)."""
    consequence_reason: str = ""
    """Why it matters that much, a clause that can follow "because"."""
    note: str = ""
    """What to show beside the limits, such as a published mean."""


@dataclass(frozen=True, kw_only=True)
class PublishedBand:
    """What a study found in a group: shown beside a value, never a limit by itself."""

    measure: str
    """Key of the measure."""
    group: str
    """The group in words: `12 to 15 years, n = 32`."""
    ages_years: tuple[float, float]
    """Youngest and oldest age that the band is shown for, in completed years, inclusive."""
    mean: float
    """Mean of the group, in `unit` and in the sign of the measure."""
    sd: float
    """Standard deviation of the group, in `unit`."""
    unit: str
    """Unit of mean and SD, the same as the measure's."""
    source: str
    """Where the numbers come from."""
    is_seen: bool
    """False where the numbers are from memory or second hand, which is then said beside them."""
    note: str = ""
    """What to know before comparing, such as a different definition."""


@dataclass(frozen=True, kw_only=True)
class Within:
    """The typical throw keeps the tolerance, with the stated certainty."""

    probability_beyond: float
    """Probability that the typical throw is outside the limits (JCGM 106)."""
    reason: str
    """One sentence."""


@dataclass(frozen=True, kw_only=True)
class Beyond:
    """The typical throw is outside the tolerance, with the stated certainty."""

    probability_beyond: float
    """Probability that the typical throw is outside the limits (JCGM 106)."""
    reason: str
    """One sentence."""


@dataclass(frozen=True, kw_only=True)
class TooCloseToCall:
    """The uncertainty does not allow a verdict."""

    probability_beyond: float
    """Probability that the typical throw is outside the limits (JCGM 106)."""
    reason: str
    """One sentence that says what would settle it."""


@dataclass(frozen=True, kw_only=True)
class NotMeasured:
    """There is no value to judge, or no tolerance that may judge it."""

    absent: Absent
    """Why, and what to do."""

    @property
    def reason(self) -> str:
        """The reason of what is absent."""
        return self.absent.reason


Verdict = Within | Beyond | TooCloseToCall | NotMeasured


class VerdictWord(StrEnum):
    """The words of the verdicts (glossary)."""

    WITHIN = "within"
    BEYOND = "beyond"
    TOO_CLOSE = "too close to call"
    NOT_MEASURED = "not measured"


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One measure held against its tolerance."""

    definition: MeasureDefinition
    """The measure."""
    typical: Obtained
    """The typical throw's value, or why there is none."""
    throws: tuple[Obtained, ...]
    """Each throw's value."""
    tolerance: Tolerance | Absent
    """The row that judged it, or why there is none."""
    verdict: Verdict
    """The verdict with its reason."""


@dataclass(frozen=True, kw_only=True)
class DecisionRule:
    """When a probability becomes a verdict; the clinic may move these."""

    beyond_from_probability: float = 0.90
    """`beyond` from this probability of being outside."""
    within_to_probability: float = 0.10
    """`within` up to this probability of being outside."""


@dataclass(frozen=True, kw_only=True)
class Priority:
    """A finding's place in the order of work."""

    finding: Finding
    """The finding."""
    weight: float
    """Severity x certainty x consequence, 0 or more."""
    reason: str
    """One sentence that says why it stands at this place."""


__all__ = [
    "Beyond",
    "DecisionRule",
    "Finding",
    "NotMeasured",
    "Priority",
    "PublishedBand",
    "Tolerance",
    "TooCloseToCall",
    "Uncertain",
    "Verdict",
    "VerdictWord",
    "Within",
]
