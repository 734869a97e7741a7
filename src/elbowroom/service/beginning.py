"""Use case: put the clinic and its first person into an empty record."""

from __future__ import annotations

from elbowroom.service.record_tools import RecordTools, note_act
from elbowroom.service.record_types import Act, ClinicEntry, PersonEntry, Role
from elbowroom.service.record_values import ClinicFacts, Stamp


def begin_clinic(tools: RecordTools, facts: ClinicFacts, stamp: Stamp) -> None:
    """Add the clinic and the clinician who begins the record, whose id the stamp carries."""
    clinic = ClinicEntry(
        id=tools.make_id(),
        version=1,
        name=facts.name,
        keep_years=facts.keep_years,
        keep_until_age_years=facts.keep_until_age_years,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    person = PersonEntry(
        id=tools.make_id(),
        person_id=stamp.by,
        version=1,
        name=facts.person_name,
        role=Role.CLINICIAN,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.entries.add_entries([clinic, person, note_act(tools, stamp, Act.ADDED, what="clinic")])
