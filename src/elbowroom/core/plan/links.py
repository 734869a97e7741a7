"""From the exam to the throw: stated reasoning, each row with its grade of evidence and its source."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from elbowroom.core.findings.types import VerdictWord
from elbowroom.core.plan.thresholds import ExamFinding


class Grade(StrEnum):
    """How strong the evidence of a link is, the strongest first."""

    COHORT = "athletes followed over time"
    CROSS_SECTION = "seen together at one time"
    SIMULATION = "computed from a model"
    MIXED = "studies disagree"
    REASONING = "reasoning only"


class FaultSide(StrEnum):
    """On which side of its limits a measure of the throw lies."""

    HIGH = "high"
    LOW = "low"
    ANY = "any"


@dataclass(frozen=True, kw_only=True)
class Fault:
    """A measure of the throw that asks for work, as a screening ordered it."""

    measure: str
    """Key of the measure."""
    words: str
    """Name of the measure."""
    side: FaultSide
    """Above or below its limits."""
    word: VerdictWord
    """`beyond` or `too close to call`."""
    place: int
    """Place in the order of work, from 1."""
    reason: str
    """Why it stands there."""


@dataclass(frozen=True, kw_only=True)
class EvidenceLink:
    """One row: what in the exam may stand behind what in the throw."""

    quantity: str
    """Key of the exam's quantity."""
    measures: tuple[str, ...]
    """Keys of measures of the throw."""
    reasoning: str
    """How one may lead to the other, in a sentence."""
    grade: Grade
    """How strong the evidence is."""
    source: str
    """Where it comes from, or `reasoning, no source`."""
    mark: str
    """How the source is known."""


@dataclass(frozen=True, kw_only=True)
class FoundLink:
    """A row of which both ends were found in this athlete."""

    link: EvidenceLink
    """The row."""
    finding: ExamFinding
    """The finding of the exam."""
    faults: tuple[Fault, ...]
    """The faults of the throw."""

    @property
    def words(self) -> str:
        """One sentence, with the grade of evidence."""
        faults = " and ".join(fault.words for fault in self.faults)
        return (
            f"{self.finding.measured.quantity.words} ({self.finding.word}) may stand behind {faults}: "
            f"{self.link.reasoning} Evidence: {self.link.grade} ({self.link.source})."
        )


OPEN_WORDS = (VerdictWord.BEYOND, VerdictWord.TOO_CLOSE)


def link_exam(
    findings: Sequence[ExamFinding], faults: Sequence[Fault], links: Sequence[EvidenceLink]
) -> tuple[FoundLink, ...]:
    """Return every row of which both ends were found, in the order of work of the throw."""
    found = []
    known = {item.measured.quantity.key: item for item in findings if item.word in OPEN_WORDS}
    for link in links:
        hit = tuple(sorted((fault for fault in faults if fault.measure in link.measures), key=lambda item: item.place))
        if link.quantity in known and hit:
            found.append(FoundLink(link=link, finding=known[link.quantity], faults=hit))
    return tuple(sorted(found, key=lambda item: (item.faults[0].place, item.link.quantity)))
