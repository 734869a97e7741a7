"""What a day asks of the record."""

from __future__ import annotations

from datetime import date
from typing import Protocol

from elbowroom.service.day_values import PlaceLine, VisitLine


class DayLists(Protocol):
    """Answers what a day asks, one query each."""

    def list_places(self, day: date) -> tuple[PlaceLine, ...]:
        """The athletes who are expected on a day, by name."""
        ...

    def list_visits(self, day: date) -> tuple[VisitLine, ...]:
        """The visits of a day, by name."""
        ...

    def list_waiting(self, count: int = 20) -> tuple[VisitLine, ...]:
        """Visits whose newest screening nobody looked through, newest first."""
        ...

    def list_athlete_visits(self, athlete_id: str) -> tuple[VisitLine, ...]:
        """The visits of an athlete, newest first."""
        ...
