"""Use case: put the clinic and its first person into an empty record."""

from __future__ import annotations

from elbowroom.errors import RecordError
from elbowroom.service.people import build_password, find_password_problem
from elbowroom.service.people_ports import PasswordHasher
from elbowroom.service.record_tools import RecordTools, note_act
from elbowroom.service.record_types import Act, ClinicEntry, Entry, PersonEntry, Role
from elbowroom.service.record_values import ClinicFacts, Stamp


def begin_clinic(tools: RecordTools, facts: ClinicFacts, stamp: Stamp) -> None:
    """Add the clinic and the clinician who begins the record, whose id the stamp carries."""
    tools.entries.add_entries(_build_entries(tools, facts, stamp))


def begin_clinic_with_password(
    tools: RecordTools, hasher: PasswordHasher, facts: ClinicFacts, password: str, stamp: Stamp
) -> None:
    """Add the clinic and its first clinician with a password, all or nothing; raises `RecordError`."""
    problem = find_password_problem(password, facts.person_name)
    if problem:
        raise RecordError(problem)
    secret = build_password(tools, hasher, stamp.by, password, stamp)
    tools.entries.add_entries([*_build_entries(tools, facts, stamp), *secret])


def _build_entries(tools: RecordTools, facts: ClinicFacts, stamp: Stamp) -> list[Entry]:
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
    return [clinic, person, note_act(tools, stamp, Act.ADDED, what="clinic")]
