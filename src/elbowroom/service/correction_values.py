"""What a correction is, and what it changes, as pages and programs see it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from elbowroom.core.chain.types import Change
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.quantities.types import Obtained
from elbowroom.service.record_types import CorrectionKind


@dataclass(frozen=True, kw_only=True)
class CorrectionAsked:
    """A correction as a person asks for it."""

    kind: CorrectionKind
    """What is corrected."""
    throw_number: int
    """Number of the throw."""
    what: str
    """What exactly: `release`, `throw`, or `right elbow, clip 1, picture 412`."""
    after: str
    """What is to hold, as JSON; see `service.correction_words`."""
    reason: str = ""
    """Why; empty where no reason is given."""


@dataclass(frozen=True, kw_only=True)
class CorrectionLine:
    """A correction that was made, for a list."""

    version: int
    """Its number within the visit, from 1."""
    words: str
    """What was done, in a sentence without its end."""
    throw_number: int
    """Number of the throw."""
    reason: str
    """Why; empty where no reason was given."""
    made_by: str
    """Name of the person."""
    made_at: datetime
    """When, UTC."""
    is_in_force: bool
    """Whether it still holds: a later one on the same thing takes its place."""


@dataclass(frozen=True, kw_only=True)
class MeasureChange:
    """One measure before and after."""

    measure: str
    """Key of the measure."""
    words: str
    """Name on paper."""
    headline: bool
    """Whether it is one of the first measures."""
    before: Obtained
    """The typical throw before."""
    after: Obtained
    """The typical throw after."""
    words_before: str
    """The value before, as people read it."""
    words_after: str
    """The value after, as people read it."""
    verdict_before: str
    """The verdict before, in its word."""
    verdict_after: str
    """The verdict after, in its word."""
    reason_after: str
    """Why the verdict after."""

    @property
    def is_verdict_changed(self) -> bool:
        """Whether another verdict came of it."""
        return self.verdict_before != self.verdict_after


@dataclass(frozen=True, kw_only=True)
class VisitChange:
    """What corrections change in a visit's findings."""

    measures: tuple[MeasureChange, ...]
    """The measures that changed, verdicts first, then by how far they moved in their own uncertainty."""
    unchanged: int
    """How many measures stayed as they were, but for less than a fiftieth of their uncertainty."""
    is_first: bool
    """Whether it is the first, quick answer, with fewer draws and steps; the full one follows."""
    draws: int
    """Draws for each source of uncertainty."""


@dataclass(frozen=True, kw_only=True)
class CorrectedVisit:
    """A visit measured with corrections."""

    report: ScreeningReport
    """The whole report."""
    changes: tuple[Change, ...]
    """The corrections that are in force."""
    version: int
    """The last correction that it takes in; 0 for none."""
    change: VisitChange
    """What differs from the visit as it was before the last correction."""
