"""Use cases: keys with which programs ask for data in a person's name."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import AccessError, KeyRefusedError, RecordError
from elbowroom.service.people_types import ProgramKeyEnd, ProgramKeyEntry
from elbowroom.service.people_values import NewProgramKey, Scope
from elbowroom.service.record_tools import RecordTools, note_act
from elbowroom.service.record_types import Act
from elbowroom.service.record_values import Stamp

MARK = "elbowroom_"
"""Every key begins with this, so that one left in a file is recognised for what it is."""
LONGEST_NAME = 100


def add_program_key(
    tools: RecordTools, make_secret: Callable[[], str], name: str, scopes: Iterable[Scope], stamp: Stamp
) -> NewProgramKey:
    """Add a key in the name of whoever adds it, and return it this once; raises `RecordError`."""
    words = " ".join(sorted({str(scope) for scope in scopes}))
    if not name.strip() or len(name) > LONGEST_NAME or not name.isprintable():
        raise RecordError(f"Say what the key is for in 1 to {LONGEST_NAME} letters.")
    if not words:
        raise RecordError("Choose what the key allows: reading, writing or both.")
    secret = MARK + make_secret()
    entry = ProgramKeyEntry(
        id=tools.make_id(),
        person_id=stamp.by,
        name=name.strip(),
        scopes=words,
        digest=_digest_secret(secret),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    line = note_act(tools, stamp, Act.ADDED, what=f"key for a program, {words}, {entry.id}")
    tools.entries.add_entries([entry, line])
    return NewProgramKey(program_key_id=entry.id, secret=secret)


def list_program_keys(tools: RecordTools) -> tuple[tuple[ProgramKeyEntry, ProgramKeyEnd | Absent], ...]:
    """Return every key, oldest first, with its end or absent while it holds."""
    ends = {end.program_key_id: end for end in tools.entries.find_entries(ProgramKeyEnd)}
    holds = Absent(reason="The key holds.")
    keys = sorted(tools.entries.find_entries(ProgramKeyEntry), key=lambda key: key.recorded_at)
    return tuple((key, ends.get(key.id, holds)) for key in keys)


def close_program_key(tools: RecordTools, program_key_id: str, stamp: Stamp) -> None:
    """End a key for good; raises `RecordError` where there is none, `ConflictError` where it ended already."""
    if not tools.entries.find_entries(ProgramKeyEntry, id=program_key_id):
        raise RecordError("There is no such key: look at the list of keys.")
    end = ProgramKeyEnd(id=tools.make_id(), program_key_id=program_key_id, recorded_at=stamp.at, recorded_by=stamp.by)
    tools.entries.add_entries([end, note_act(tools, stamp, Act.ENDED, what=f"key for a program, {program_key_id}")])


def get_key_holder(tools: RecordTools, secret: str, scope: Scope) -> str:
    """Return the id of the person in whose name a key asks; raises `AccessError` where it does not allow this."""
    keys = tools.entries.find_entries(ProgramKeyEntry, digest=_digest_secret(secret))
    if not keys or tools.entries.find_entries(ProgramKeyEnd, program_key_id=keys[0].id):
        raise KeyRefusedError("This key does not hold: let a clinician make a new one under Settings.")
    if str(scope) not in keys[0].scopes.split():
        raise AccessError(f"This key does not allow to {scope}: let a clinician make one that does.")
    return keys[0].person_id


def _digest_secret(secret: str) -> str:
    # The key is random and long, so a quick digest is as safe as a slow one.
    return hashlib.sha256(secret.encode()).hexdigest()
