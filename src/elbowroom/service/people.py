"""Use cases: the people who work with the record, their roles and passwords."""

from __future__ import annotations

from dataclasses import replace

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import RecordError
from elbowroom.service.people_ports import PasswordHasher
from elbowroom.service.people_types import PasswordEntry
from elbowroom.service.record_tools import RecordTools, list_people, note_act
from elbowroom.service.record_types import Act, PersonEntry, Role, TrailEntry
from elbowroom.service.record_values import Stamp

SHORTEST_PASSWORD, LONGEST_PASSWORD = 12, 256
"""Length of a password in characters; the lower limit follows common guidance for passwords that people choose."""
COMMON_WORDS = ("password", "elbowroom", "123456", "qwerty", "abcdef", "letmein", "clinic")
"""What no password may consist of, whatever is put around it."""


def get_person(tools: RecordTools, person_id: str) -> PersonEntry:
    """Return the newest version of a person; raises `RecordError` where there is none of that id."""
    person = list_people(tools).get(person_id)
    if person is None:
        raise RecordError("There is nobody of that id in the record: look at the list of people.")
    return person


def add_person(tools: RecordTools, name: str, role: Role, stamp: Stamp) -> str:
    """Add a person and return the id; raises `RecordError` where the name is empty or taken."""
    _check_name(tools, name)
    person = PersonEntry(
        id=tools.make_id(),
        person_id=tools.make_id(),
        version=1,
        name=name.strip(),
        role=role,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    line = note_act(tools, stamp, Act.ADDED, what=f"person {person.person_id}, {role}")
    tools.entries.add_entries([person, line])
    return person.person_id


def change_role(tools: RecordTools, person_id: str, role: Role, known_version: int, stamp: Stamp) -> None:
    """Give a person another role, or retire them, on top of the version that was seen.

    Raises `RecordError` where the last clinician would go, `ConflictError` where somebody changed it meanwhile.
    """
    person = get_person(tools, person_id)
    others = [one for one in list_people(tools).values() if one.person_id != person_id]
    if role is not Role.CLINICIAN and not any(one.role is Role.CLINICIAN for one in others):
        raise RecordError(f"{person.name} is the only clinician: make somebody else a clinician first.")
    entry = replace(
        person,
        id=tools.make_id(),
        version=known_version + 1,
        role=role,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    line = note_act(tools, stamp, Act.CORRECTED, what=f"role of {person_id}: {person.role} to {role}")
    tools.entries.add_entries([entry, line])


def set_password(tools: RecordTools, hasher: PasswordHasher, person_id: str, password: str, stamp: Stamp) -> None:
    """Add a version of a person's password; raises `RecordError` where it is too weak."""
    person = get_person(tools, person_id)
    problem = find_password_problem(password, person.name)
    if problem:
        raise RecordError(problem)
    tools.entries.add_entries(build_password(tools, hasher, person_id, password, stamp))


def build_password(
    tools: RecordTools, hasher: PasswordHasher, person_id: str, password: str, stamp: Stamp
) -> tuple[PasswordEntry, TrailEntry]:
    """Return the next version of a person's password and its line of the trail, to be added."""
    versions = tools.entries.find_entries(PasswordEntry, person_id=person_id)
    entry = PasswordEntry(
        id=tools.make_id(),
        person_id=person_id,
        version=len(versions) + 1,
        hashed=hasher.hash_password(password),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    return entry, note_act(tools, stamp, Act.CORRECTED, what=f"password of {person_id}")


def find_password_problem(password: str, name: str) -> str:
    """Return what is wrong with a new password in a sentence, an empty text where nothing is."""
    plain = password.casefold()
    if len(password) < SHORTEST_PASSWORD:
        return f"The password is too short: take {SHORTEST_PASSWORD} characters or more, such as four unrelated words."
    if len(password) > LONGEST_PASSWORD:
        return f"The password is too long: take at most {LONGEST_PASSWORD} characters."
    if len(set(plain)) < 5:
        return "The password repeats the same few characters: take unrelated words."
    rest = plain
    for word in (*COMMON_WORDS, *name.casefold().split()):
        rest = rest.replace(word, "")
    if len(rest) < SHORTEST_PASSWORD // 2:
        return "The password is made of words that are guessed first: take unrelated words."
    return ""


def has_password(tools: RecordTools, person_id: str) -> bool:
    """Say whether a person can log in."""
    return bool(tools.entries.find_entries(PasswordEntry, person_id=person_id))


def check_log_in(tools: RecordTools) -> None:
    """Raise `RecordError` where nobody could log in for want of a password."""
    people = [one for one in list_people(tools).values() if one.role is not Role.RETIRED]
    if not any(has_password(tools, one.person_id) for one in people):
        name = min((one.name for one in people if one.role is Role.CLINICIAN), default="NAME")
        raise RecordError(f'Nobody can log in yet: run `elbowroom record person password "{name}"` first.')


def has_own_password(tools: RecordTools, person_id: str) -> bool:
    """Say whether a person chose the password that holds, rather than somebody else for them."""
    versions = tools.entries.find_entries(PasswordEntry, person_id=person_id)
    return bool(versions) and versions[-1].recorded_by == person_id


def find_named(tools: RecordTools, name: str) -> PersonEntry | Absent:
    """Find who works here under a name, in any case."""
    key = name.strip().casefold()
    found = [one for one in list_people(tools).values() if one.name.casefold() == key and one.role is not Role.RETIRED]
    return found[0] if len(found) == 1 else Absent(reason="Nobody who works here has that name.")


def _check_name(tools: RecordTools, name: str) -> None:
    if not name.strip() or len(name) > 100 or not name.isprintable():
        raise RecordError("The person needs a name of 1 to 100 letters.")
    if find_named(tools, name):
        raise RecordError(f"Somebody works here as {name.strip()}: add something to tell the two apart.")
