"""In-memory double of the day's lists."""

from __future__ import annotations

from datetime import date

from elbowroom.service.clinic_types import DayPlaceEntry, ReviewEntry
from elbowroom.service.day_values import PlaceLine, VisitLine
from elbowroom.service.ports import RecordEntries
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_types import AthleteVersion, FindingEntry, ScreeningEntry, VisitEntry


class MemoryDayLists:
    """A `DayLists` over entries."""

    def __init__(self, entries: RecordEntries) -> None:
        self._entries = entries

    def list_places(self, day: date) -> tuple[PlaceLine, ...]:
        """The athletes who are expected on a day."""
        places = [item for item in self._entries.find_entries(DayPlaceEntry) if item.on_day == day]
        newest = {item.athlete_id: item for item in places}
        lines = [self._build_place(item) for item in newest.values() if item.is_expected]
        return tuple(sorted(lines, key=lambda line: (line.name.casefold(), line.athlete_id)))

    def list_visits(self, day: date) -> tuple[VisitLine, ...]:
        """The visits of a day."""
        lines = [line for line in self._build_visits() if line.made_on == day]
        return tuple(sorted(lines, key=lambda line: (line.name.casefold(), line.visit_id)))

    def list_waiting(self, count: int = 20) -> tuple[VisitLine, ...]:
        """Visits that nobody looked through."""
        return tuple([line for line in self._build_visits() if line.version and not line.is_reviewed][:count])

    def list_athlete_visits(self, athlete_id: str) -> tuple[VisitLine, ...]:
        """The visits of an athlete."""
        return tuple(line for line in self._build_visits() if line.athlete_id == athlete_id)

    def _build_place(self, place: DayPlaceEntry) -> PlaceLine:
        version = self._find_name(place.athlete_id)
        visits = self._entries.find_entries(VisitEntry, athlete_id=place.athlete_id)
        before = [visit.made_on for visit in visits if visit.made_on < place.on_day]
        return PlaceLine(
            athlete_id=place.athlete_id,
            name=version.name,
            born_on=version.born_on,
            note=place.note,
            last_visit=max(before) if before else ABSENT,
        )

    def _build_visits(self) -> list[VisitLine]:
        visits = self._entries.find_entries(VisitEntry)
        return sorted(
            (self._build_visit(visit) for visit in visits), key=lambda line: (-line.made_on.toordinal(), line.visit_id)
        )

    def _build_visit(self, visit: VisitEntry) -> VisitLine:
        version = self._find_name(visit.athlete_id)
        screenings = self._entries.find_entries(ScreeningEntry, visit_id=visit.id)
        newest = screenings[-1] if screenings else None
        findings = self._entries.find_entries(FindingEntry, screening_id=newest.id) if newest else ()
        reviews = self._entries.find_entries(ReviewEntry, reviewed_screening_id=newest.id) if newest else ()
        return VisitLine(
            athlete_id=visit.athlete_id,
            name=version.name,
            born_on=version.born_on,
            visit_id=visit.id,
            made_on=visit.made_on,
            kind=visit.kind,
            version=newest.version if newest else 0,
            beyond_count=sum(item.verdict == "beyond" for item in findings),
            open_count=sum(item.verdict == "too close to call" for item in findings),
            is_reviewed=bool(reviews),
        )

    def _find_name(self, athlete_id: str) -> AthleteVersion:
        return self._entries.find_entries(AthleteVersion, athlete_id=athlete_id)[-1]
