"""Use case: somebody logs in, with a waiting time that grows with every wrong attempt."""

from __future__ import annotations

import hashlib
from datetime import datetime, timedelta
from math import ceil

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import AccessError
from elbowroom.service.people import find_named
from elbowroom.service.people_ports import PasswordHasher
from elbowroom.service.people_types import AttemptEntry, PasswordEntry
from elbowroom.service.people_values import Attempt
from elbowroom.service.record_tools import RecordTools, note_act
from elbowroom.service.record_types import Act, PersonEntry
from elbowroom.service.record_values import Stamp

FREE_ATTEMPTS = 4
"""Wrong attempts without any waiting."""
FIRST_WAIT_S, LONGEST_WAIT_S = 15, 900
"""Waiting time after the first attempt beyond the free ones, doubled with each more, and its end."""
FREE_OF_ADDRESS = 20
"""Wrong attempts of one machine, under whatever names, without any waiting."""
FORGIVEN_AFTER = timedelta(hours=12)
"""A wrong attempt counts for this long."""


def log_in(tools: RecordTools, hasher: PasswordHasher, attempt: Attempt) -> PersonEntry:
    """Return who logged in; raises `AccessError` where name or password is wrong, or it is too soon to try again.

    What is wrong is not told apart, neither in words nor in time. The attempts lie in the record, so a restart does
    not make them forgotten.
    """
    wait_s = find_wait_s(tools, attempt)
    if wait_s > 0:
        raise AccessError(f"Too many wrong attempts: wait {_phrase_wait(wait_s)} and try again.")
    person = find_named(tools, attempt.name)
    is_right = _check_password(tools, hasher, person, attempt.password)
    _store_attempt(tools, attempt, person, is_right)
    if not is_right or isinstance(person, Absent):
        raise AccessError("Name or password is wrong: try again, or ask a clinician to set a new password.")
    return person


def find_wait_s(tools: RecordTools, attempt: Attempt) -> int:
    """Return how many seconds have to pass before this name, or this machine, may try again."""
    find = tools.entries.find_entries
    named = _list_wrong(find(AttemptEntry, name_digest=_digest_name(attempt.name)), attempt.at)
    placed = _list_wrong(find(AttemptEntry, address=attempt.address), attempt.at)
    waits = (_compute_wait_s(named, FREE_ATTEMPTS, attempt.at), _compute_wait_s(placed, FREE_OF_ADDRESS, attempt.at))
    return max(waits)


def _list_wrong(attempts: tuple[AttemptEntry, ...], now: datetime) -> list[datetime]:
    """Return when attempts went wrong since the last one that went well, newest last."""
    recent = sorted((item for item in attempts if now - item.recorded_at < FORGIVEN_AFTER), key=_read_time)
    wrong: list[datetime] = []
    for item in recent:
        wrong = [] if item.went_well else [*wrong, item.recorded_at]
    return wrong


def _read_time(attempt: AttemptEntry) -> datetime:
    return attempt.recorded_at


def _compute_wait_s(wrong: list[datetime], free_count: int, now: datetime) -> int:
    if len(wrong) <= free_count:
        return 0
    doublings = min(len(wrong) - free_count - 1, 10)
    wait_s = min(FIRST_WAIT_S << doublings, LONGEST_WAIT_S)
    return max(0, ceil(wait_s - (now - wrong[-1]).total_seconds()))


def _store_attempt(tools: RecordTools, attempt: Attempt, person: PersonEntry | Absent, is_right: bool) -> None:
    by = "" if isinstance(person, Absent) else person.person_id
    entry = AttemptEntry(
        id=tools.make_id(),
        recorded_at=attempt.at,
        recorded_by=by,
        name_digest=_digest_name(attempt.name),
        address=attempt.address,
        went_well=is_right,
    )
    act = Act.LOGGED_IN if is_right else Act.FAILED_TO_LOG_IN
    line = note_act(tools, Stamp(at=attempt.at, by=by), act, what=f"from {attempt.address}")
    tools.entries.add_entries([entry, line])


def _check_password(tools: RecordTools, hasher: PasswordHasher, person: PersonEntry | Absent, password: str) -> bool:
    if not isinstance(person, Absent):
        versions = tools.entries.find_entries(PasswordEntry, person_id=person.person_id)
        if versions:
            return hasher.is_right(versions[-1].hashed, password)
    # A name that nobody has takes as long as one that somebody has.
    hasher.hash_password(password)
    return False


def _digest_name(name: str) -> str:
    return hashlib.sha256(name.strip().casefold().encode()).hexdigest()


def _phrase_wait(wait_s: int) -> str:
    return f"{wait_s} s" if wait_s < 90 else f"{ceil(wait_s / 60)} minutes"
