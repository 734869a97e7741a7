"""Entries about invented people who work with the record."""

from __future__ import annotations

from elbowroom.service.people_types import AttemptEntry, PasswordEntry, ProgramKeyEnd, ProgramKeyEntry
from elbowroom.service.record_tools import RecordTools
from tests.makers.record import PERSON_ID, STAMP


def add_people_entries(tools: RecordTools) -> None:
    """Add one entry of each kind about people."""
    common = {"recorded_at": STAMP.at, "recorded_by": PERSON_ID}
    key_id = tools.make_id()
    tools.entries.add_entries(
        [
            PasswordEntry(id=tools.make_id(), person_id=PERSON_ID, version=1, hashed="quick:0", **common),
            AttemptEntry(id=tools.make_id(), name_digest="0" * 64, address="127.0.0.1", went_well=False, **common),
            ProgramKeyEntry(id=key_id, person_id=PERSON_ID, name="a study", scopes="read", digest="1" * 64, **common),
            ProgramKeyEnd(id=tools.make_id(), program_key_id=key_id, **common),
        ]
    )
