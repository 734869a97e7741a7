"""Words and values of logging in, beside the entries."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Scope(StrEnum):
    """What a program's key may allow."""

    READ = "read"
    WRITE = "write"


@dataclass(frozen=True, kw_only=True)
class Attempt:
    """Who tries to log in, and with what."""

    name: str
    """The name as typed."""
    password: str
    """The password as typed."""
    address: str
    """Address of the machine from which it is tried."""
    at: datetime
    """Now, UTC."""


@dataclass(frozen=True, kw_only=True)
class NewProgramKey:
    """A program's key on the one occasion on which it is shown."""

    program_key_id: str
    """Id of its entry."""
    secret: str
    """The key itself."""
