"""Lines of the lists that a day asks for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from elbowroom.core.quantities.types import Absent


@dataclass(frozen=True, kw_only=True)
class PlaceLine:
    """An athlete who is expected on a day."""

    athlete_id: str
    """The athlete."""
    name: str
    """Name in the newest version."""
    born_on: date
    """Day of birth."""
    note: str
    """What to know on that day."""
    last_visit: date | Absent
    """Day of the last visit before that day, or absent where there was none."""


@dataclass(frozen=True, kw_only=True)
class VisitLine:
    """A visit in a list, with what its newest screening came to."""

    athlete_id: str
    """The athlete."""
    name: str
    """Name in the newest version."""
    born_on: date
    """Day of birth."""
    visit_id: str
    """The visit."""
    made_on: date
    """Day of the visit."""
    kind: str
    """Kind of throw in words."""
    version: int
    """Newest version of its screening; 0 where it was not screened."""
    beyond_count: int
    """Number of findings that are beyond."""
    open_count: int
    """Number of findings that are too close to call."""
    is_reviewed: bool
    """Whether a clinician looked through that version."""
