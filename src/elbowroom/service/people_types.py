"""Entries about those who work with the record: passwords, attempts to log in, keys for programs."""

from __future__ import annotations

from dataclasses import dataclass

from elbowroom.service.record_types import RecordedEntry


@dataclass(frozen=True, kw_only=True)
class PasswordEntry(RecordedEntry):
    """A version of a person's password; nobody can read the password from it."""

    person_id: str
    """The person."""
    version: int
    """From 1; the highest holds."""
    hashed: str
    """What argon2id makes of the password, with its salt and cost."""


@dataclass(frozen=True, kw_only=True)
class AttemptEntry(RecordedEntry):
    """An attempt to log in; `recorded_by` is the person named, or empty where nobody has that name."""

    name_digest: str
    """SHA-256 of the name that was given, so that the names of strangers are not kept."""
    address: str
    """Address of the machine from which it was tried."""
    went_well: bool
    """Whether name and password were right."""


@dataclass(frozen=True, kw_only=True)
class ProgramKeyEntry(RecordedEntry):
    """A key with which a program may ask for data in a person's name; the key itself is shown once and not kept."""

    person_id: str
    """The person in whose name the program asks."""
    name: str
    """What the key is for, in the person's words."""
    scopes: str
    """What it allows, words of `Scope` with blanks between."""
    digest: str
    """SHA-256 of the key."""


@dataclass(frozen=True, kw_only=True)
class ProgramKeyEnd(RecordedEntry):
    """The end of a program's key."""

    program_key_id: str
    """The key that ended; one end a key."""
