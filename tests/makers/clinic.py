"""Entries of an invented clinic, and a record that holds a few athletes of the demo club."""

from __future__ import annotations

from datetime import date

from elbowroom import bootstrap_pages
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.service.clinic_tools import ClinicTools
from elbowroom.service.clinic_types import DayPlaceEntry, ReviewEntry, SettingsEntry, ToleranceEntry
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import ScreeningEntry, VisitEntry
from tests.makers.record import PERSON_ID, STAMP, begin_clinic


def add_clinic_entries(tools: RecordTools, visit: VisitEntry) -> None:
    """Add one entry of each kind that is the clinic's own."""
    common = {"recorded_at": STAMP.at, "recorded_by": PERSON_ID}
    about = {"athlete_id": visit.athlete_id, **common}
    screening = tools.entries.find_entries(ScreeningEntry, visit_id=visit.id)[-1]
    tools.entries.add_entries(
        [
            ToleranceEntry(id=tools.make_id(), version=1, table_text="a,b", changed="a", reason="trial", **common),
            SettingsEntry(
                id=tools.make_id(),
                version=1,
                lengths=LengthUnit.INCHES,
                beyond_from_probability=0.95,
                within_to_probability=0.05,
                reason="",
                **common,
            ),
            DayPlaceEntry(
                id=tools.make_id(), version=1, on_day=date(2026, 3, 9), is_expected=True, note="15:00", **about
            ),
            ReviewEntry(
                id=tools.make_id(), visit_id=visit.id, reviewed_screening_id=screening.id, note="seen", **about
            ),
        ]
    )


def make_small_club(tools: RecordTools, size: int = 4) -> tuple[ClinicTools, tuple[str, ...]]:
    """Begin a clinic with a few athletes of the demo club and return it with their ids."""
    begin_clinic(tools)
    ids = bootstrap_pages.add_demo_club(tools, STAMP, lambda _done, _count: None, size)
    return bootstrap_pages.build_clinic(tools), ids
