"""Athletes, guardians and consents."""

from __future__ import annotations

from typing import Annotated, TypeVar

from fastapi import APIRouter, Query, Response

from elbowroom.core.quantities.types import Absent
from elbowroom.service import athletes as use_cases
from elbowroom.service.courses import list_courses
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import get_athlete
from elbowroom.service.record_types import AthleteVersion, ConsentEntry, GuardianEntry, WithdrawalEntry
from elbowroom.web.api import models, views
from elbowroom.web.api.asking import AllReaders, Readers, Writers
from elbowroom.web.api.paging import Count, Skipped, build_page
from elbowroom.web.asking import note_look
from elbowroom.web.clinic import find_clinic

Value = TypeVar("Value")
router = APIRouter(prefix="/athletes", tags=["athletes"])


@router.get("")
def list_athletes(
    asker: AllReaders, name: Annotated[str, Query(max_length=100)] = "", count: Count = 50, skipped: Skipped = 0
) -> models.Page[models.AthleteLine]:
    """Athletes whose name holds a text in any case, by name."""
    lines = asker.record.lists.list_athletes(name, count + 1, skipped)
    items = [
        models.AthleteLine(
            id=line.athlete_id,
            name=line.name,
            born_on=line.born_on,
            visit_count=line.visit_count,
            last_visit=find_present(line.last_visit),
        )
        for line in lines
    ]
    return build_page(items, count, skipped)


@router.post("", status_code=201)
def add_athlete(asker: Writers, new: models.NewAthlete, response: Response) -> models.Added:
    """Add an athlete."""
    facts = use_cases.build_facts(new.name, new.born_on, new.hand, new.note)
    athlete_id = use_cases.add_athlete(asker.record, facts, asker.stamp)
    response.headers["location"] = f"/api/v1/athletes/{athlete_id}"
    return models.Added(id=athlete_id)


@router.get("/{athlete_id}")
def show_athlete(asker: Readers, athlete_id: models.Id) -> models.Athlete:
    """An athlete in the newest version."""
    athlete = get_athlete(asker.record, athlete_id)
    note_look(asker, athlete_id, "athlete")
    return view_athlete(athlete)


@router.post("/{athlete_id}/versions", status_code=201)
def add_version(asker: Writers, athlete_id: models.Id, change: models.AthleteChange) -> models.Athlete:
    """Add a version of an athlete on top of the one that was read; 409 where somebody else added one since."""
    get_athlete(asker.record, athlete_id)
    facts = use_cases.build_facts(change.name, change.born_on, change.hand, change.note)
    use_cases.add_athlete_version(asker.record, athlete_id, facts, change.known_version, asker.stamp)
    return view_athlete(get_athlete(asker.record, athlete_id))


@router.get("/{athlete_id}/guardians")
def list_guardians(asker: AllReaders, athlete_id: models.Id) -> list[models.Guardian]:
    """The guardians of an athlete."""
    get_athlete(asker.record, athlete_id)
    note_look(asker, athlete_id, "guardians")
    found = asker.record.entries.find_entries(GuardianEntry, athlete_id=athlete_id)
    return [models.Guardian(id=item.id, name=item.name, relation=item.relation) for item in found]


@router.post("/{athlete_id}/guardians", status_code=201)
def add_guardian(asker: Writers, athlete_id: models.Id, new: models.NewGuardian) -> models.Added:
    """Add a guardian, or find the one of that name."""
    guardian_id = use_cases.add_guardian(asker.record, athlete_id, new.name.strip(), new.relation.strip(), asker.stamp)
    return models.Added(id=guardian_id)


@router.get("/{athlete_id}/consents")
def list_consents(asker: AllReaders, athlete_id: models.Id) -> list[models.Consent]:
    """Every consent of an athlete, also those withdrawn."""
    get_athlete(asker.record, athlete_id)
    note_look(asker, athlete_id, "consents")
    find = asker.record.entries.find_entries
    ends = {item.consent_id: item.withdrawn_on for item in find(WithdrawalEntry, athlete_id=athlete_id)}
    return [
        models.Consent(
            id=item.id,
            purpose=item.purpose,
            given_on=item.given_on,
            guardian_id=find_present(item.guardian_id),
            withdrawn_on=ends.get(item.id),
        )
        for item in find(ConsentEntry, athlete_id=athlete_id)
    ]


@router.post("/{athlete_id}/consents", status_code=201)
def add_consent(asker: Writers, athlete_id: models.Id, new: models.NewConsent) -> models.Added:
    """Record a consent for one purpose."""
    guardian = new.guardian_id or ABSENT
    consent_id = use_cases.add_consent(asker.record, athlete_id, guardian, new.purpose, new.given_on, asker.stamp)
    return models.Added(id=consent_id)


@router.post("/{athlete_id}/withdrawals", status_code=201)
def add_withdrawal(asker: Writers, athlete_id: models.Id, new: models.NewWithdrawal) -> models.Withdrawn:
    """Withdraw every consent for a purpose that still holds, from today on."""
    get_athlete(asker.record, athlete_id)
    day = asker.stamp.at.date()
    return models.Withdrawn(count=use_cases.withdraw_consent(asker.record, athlete_id, new.purpose, day, asker.stamp))


@router.get("/{athlete_id}/visits")
def list_visits(asker: Readers, athlete_id: models.Id) -> list[models.Visit]:
    """The visits of an athlete, newest first."""
    get_athlete(asker.record, athlete_id)
    note_look(asker, athlete_id, "visits")
    return [views.view_visit(line) for line in asker.record.days.list_athlete_visits(athlete_id)]


@router.get("/{athlete_id}/measures")
def list_measures(asker: Readers, athlete_id: models.Id) -> list[models.Course]:
    """Every measure of an athlete over time, each with whether it changed."""
    return [views.view_course(course) for course in list_courses(find_clinic(asker), athlete_id, asker.stamp)]


def find_present(value: Value | Absent) -> Value | None:
    """Return a value, None where it is absent: what JSON calls null."""
    return None if isinstance(value, Absent) else value


def view_athlete(athlete: AthleteVersion) -> models.Athlete:
    """Return an athlete."""
    return models.Athlete(
        id=athlete.athlete_id,
        version=athlete.version,
        name=athlete.name,
        born_on=athlete.born_on,
        hand=athlete.hand.value,
        note=athlete.note,
        recorded_at=athlete.recorded_at,
    )
