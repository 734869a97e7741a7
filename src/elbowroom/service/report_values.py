"""A report as the record keeps it, read back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from elbowroom.core.findings.report import AthleteCard, MadeWith, MethodPart, Missing
from elbowroom.core.findings.types import DecisionRule, Finding, PublishedBand
from elbowroom.core.quantities.types import Obtained


@dataclass(frozen=True, kw_only=True)
class StoredPriority:
    """A finding's place in the order of work."""

    measure: str
    """Key of the measure."""
    weight: float
    """Severity x certainty x consequence."""
    reason: str
    """Why it stands at this place."""


@dataclass(frozen=True, kw_only=True)
class StoredClip:
    """A clip that a screening used."""

    name: str
    """Name of the file."""
    view: str
    """Where the camera stood."""
    rate_hz: float
    """Capture rate, pictures a second."""
    picture_count: int
    """Number of pictures."""
    digest: str
    """SHA-256 of the file."""
    notes: tuple[str, ...]
    """What was noticed in it."""


@dataclass(frozen=True, kw_only=True)
class StoredThrow:
    """A throw that a screening found."""

    number: int
    """Number of the throw, from 1."""
    clips: tuple[str, ...]
    """Names of the clips that show it."""
    instants: Mapping[str, Obtained]
    """Time of each instant by its name, seconds on the clock of the visit, or why it was not found."""
    notes: tuple[str, ...]
    """What was noticed in it."""


@dataclass(frozen=True, kw_only=True)
class StoredPicture:
    """What a key picture of a report shows; the picture itself is in the report's page."""

    throw: int
    """Number of the throw."""
    instant: str
    """The instant that it shows."""
    view: str
    """Where the camera stood."""
    caption: str
    """What it shows, in a sentence."""
    digest: str
    """SHA-256 of the picture."""


@dataclass(frozen=True, kw_only=True)
class StoredReport:
    """A report read back; its curves and loads stay in `content`."""

    made_on: date
    """Day of the screening."""
    athlete: AthleteCard
    """Who was screened."""
    how: str
    """How the cameras were found."""
    clips: tuple[StoredClip, ...]
    """The clips."""
    throws: tuple[StoredThrow, ...]
    """The throws."""
    findings: tuple[Finding, ...]
    """Every finding, in the order of the report."""
    bands: tuple[PublishedBand, ...]
    """Published bands beside the findings."""
    rule: DecisionRule
    """When a probability became a verdict."""
    priorities: tuple[StoredPriority, ...]
    """What to work on, most important first."""
    pictures: tuple[StoredPicture, ...]
    """The key pictures."""
    missing: tuple[Missing, ...]
    """What could not be measured."""
    method: tuple[MethodPart, ...]
    """The method in words."""
    made_with: tuple[MadeWith, ...]
    """Versions and digests that the numbers depend on."""
    cautions: tuple[str, ...]
    """What must be read with the findings."""
    content: Mapping[str, Any]
    """The whole report as it was written."""
