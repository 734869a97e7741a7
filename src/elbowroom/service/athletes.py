"""Use cases: athletes, guardians, consents, and looking at them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ConsentError, RecordError
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import ADULT_YEARS, RecordTools, compute_age_years, get_athlete, note_act
from elbowroom.service.record_types import (
    Act,
    AthleteEntry,
    AthleteVersion,
    ConsentEntry,
    GuardianEntry,
    Purpose,
    ScreeningEntry,
    TrailEntry,
    VisitEntry,
    WithdrawalEntry,
)
from elbowroom.service.record_values import Stamp


@dataclass(frozen=True, kw_only=True)
class AthleteFacts:
    """What is said of an athlete when adding one or a new version."""

    name: str
    """Name or code."""
    born_on: date
    """Day of birth."""
    hand: ThrowingHand
    """The hand that throws."""
    note: str = ""
    """What else is to be known."""


@dataclass(frozen=True, kw_only=True)
class AthleteStory:
    """Everything about an athlete but the contents of files."""

    versions: tuple[AthleteVersion, ...]
    """What is known of the athlete, oldest first; the last holds."""
    guardians: tuple[GuardianEntry, ...]
    """The guardians."""
    consents: tuple[tuple[ConsentEntry, WithdrawalEntry | Absent], ...]
    """Each consent with its withdrawal, or absent while it holds."""
    visits: tuple[VisitEntry, ...]
    """The visits, oldest first."""
    screenings: tuple[ScreeningEntry, ...]
    """Every version of every screening."""


def build_facts(name: str, born_on: date, hand: str, note: str) -> AthleteFacts:
    """Return what is said of an athlete; `hand` is right or left."""
    return AthleteFacts(name=name, born_on=born_on, hand=ThrowingHand(hand), note=note)


def add_athlete(tools: RecordTools, facts: AthleteFacts, stamp: Stamp) -> str:
    """Add an athlete and return the new id."""
    athlete_id = tools.make_id()
    athlete = AthleteEntry(id=athlete_id, recorded_at=stamp.at, recorded_by=stamp.by)
    first = _build_version(tools, athlete_id, 1, facts, stamp)
    tools.entries.add_entries([athlete, first, note_act(tools, stamp, Act.ADDED, athlete_id, "athlete")])
    return athlete_id


def add_athlete_version(
    tools: RecordTools, athlete_id: str, facts: AthleteFacts, known_version: int, stamp: Stamp
) -> None:
    """Add a version of an athlete on top of the one that the person saw.

    Raises `ConflictError` where somebody else added one since.
    """
    entry = _build_version(tools, athlete_id, known_version + 1, facts, stamp)
    tools.entries.add_entries([entry, note_act(tools, stamp, Act.CORRECTED, athlete_id, f"version {entry.version}")])


def add_guardian(tools: RecordTools, athlete_id: str, name: str, relation: str, stamp: Stamp) -> str:
    """Add a guardian, or find the one of that name, and return the id."""
    get_athlete(tools, athlete_id)
    known = [one for one in tools.entries.find_entries(GuardianEntry, athlete_id=athlete_id) if one.name == name]
    if known:
        return known[0].id
    guardian = GuardianEntry(
        id=tools.make_id(),
        athlete_id=athlete_id,
        name=name,
        relation=relation,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.entries.add_entries([guardian, note_act(tools, stamp, Act.ADDED, athlete_id, "guardian")])
    return guardian.id


def add_consent(
    tools: RecordTools, athlete_id: str, guardian_id: str | Absent, purpose: Purpose, given_on: date, stamp: Stamp
) -> str:
    """Add a consent for one purpose and return its id; raises `ConsentError` where a minor gives it alone."""
    is_minor = compute_age_years(get_athlete(tools, athlete_id).born_on, given_on) < ADULT_YEARS
    if is_minor and isinstance(guardian_id, Absent):
        raise ConsentError("The athlete was a minor on that day: name the guardian who consents.")
    consent = ConsentEntry(
        id=tools.make_id(),
        athlete_id=athlete_id,
        guardian_id=guardian_id,
        purpose=purpose,
        given_on=given_on,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.entries.add_entries([consent, note_act(tools, stamp, Act.ADDED, athlete_id, f"consent, {purpose}")])
    return consent.id


def withdraw_consent(tools: RecordTools, athlete_id: str, purpose: Purpose, on: date, stamp: Stamp) -> int:
    """Withdraw every consent for a purpose that still holds and return how many; raises `ConsentError` for none."""
    holding = list_holding_consents(tools, athlete_id, purpose)
    if not holding:
        raise ConsentError(f"No consent for {purpose} holds, so there is none to withdraw.")
    ends = [
        WithdrawalEntry(
            id=tools.make_id(),
            athlete_id=athlete_id,
            consent_id=consent.id,
            withdrawn_on=on,
            recorded_at=stamp.at,
            recorded_by=stamp.by,
        )
        for consent in holding
    ]
    tools.entries.add_entries([*ends, note_act(tools, stamp, Act.WITHDREW, athlete_id, str(purpose))])
    return len(ends)


def list_holding_consents(tools: RecordTools, athlete_id: str, purpose: Purpose) -> tuple[ConsentEntry, ...]:
    """Return the consents for a purpose that nobody withdrew."""
    ended = {item.consent_id for item in tools.entries.find_entries(WithdrawalEntry, athlete_id=athlete_id)}
    given = tools.entries.find_entries(ConsentEntry, athlete_id=athlete_id, purpose=str(purpose))
    return tuple(consent for consent in given if consent.id not in ended)


def check_consent(tools: RecordTools, athlete_id: str, purpose: Purpose) -> None:
    """Raise `ConsentError` where no consent for a purpose holds."""
    if not list_holding_consents(tools, athlete_id, purpose):
        raise ConsentError(
            f"No consent for {purpose} holds: record who gave it with `elbowroom record consent {athlete_id}`."
        )


def see_athlete(tools: RecordTools, athlete_id: str, stamp: Stamp) -> AthleteStory:
    """Return everything about an athlete, and note in the trail that somebody looked."""
    get_athlete(tools, athlete_id)
    tools.entries.add_entries([note_act(tools, stamp, Act.LOOKED, athlete_id, "athlete")])
    find = tools.entries.find_entries
    ends = {item.consent_id: item for item in find(WithdrawalEntry, athlete_id=athlete_id)}
    consents = find(ConsentEntry, athlete_id=athlete_id)
    return AthleteStory(
        versions=find(AthleteVersion, athlete_id=athlete_id),
        guardians=find(GuardianEntry, athlete_id=athlete_id),
        consents=tuple((consent, ends.get(consent.id, ABSENT)) for consent in consents),
        visits=tuple(sorted(find(VisitEntry, athlete_id=athlete_id), key=lambda visit: visit.made_on)),
        screenings=find(ScreeningEntry, athlete_id=athlete_id),
    )


def list_trail(tools: RecordTools, athlete_id: str) -> tuple[TrailEntry, ...]:
    """Return who did what with an athlete, oldest first; of everybody where no id is given.

    Raises `RecordError` where nothing was ever done with that id.
    """
    matching: dict[str, str | int] = {"athlete_id": athlete_id} if athlete_id else {}
    trail = tools.entries.find_entries(TrailEntry, **matching)
    if not trail:
        raise RecordError(f"Nothing was ever done with {athlete_id!r}: `elbowroom record list` names the athletes.")
    return tuple(sorted(trail, key=lambda entry: entry.recorded_at))


def _build_version(
    tools: RecordTools, athlete_id: str, version: int, facts: AthleteFacts, stamp: Stamp
) -> AthleteVersion:
    if facts.born_on > stamp.at.date():
        raise RecordError(f"The day of birth {facts.born_on} is yet to come: check it.")
    base = AthleteVersion(
        id=tools.make_id(),
        athlete_id=athlete_id,
        version=version,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
        **vars(facts),
    )
    return replace(base, name=facts.name.strip())
