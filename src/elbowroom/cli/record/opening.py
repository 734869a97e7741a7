"""What the commands of the record share: the passphrase, the opened record, and who is at work."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import UTC, datetime
from typing import TYPE_CHECKING, TypeVar

import click

from elbowroom.errors import PassphraseError, RecordError
from elbowroom.settings import RecordSettings, read_record_settings

if TYPE_CHECKING:
    from elbowroom.service.record_tools import RecordTools
    from elbowroom.service.record_values import Stamp

Command = TypeVar("Command", bound=Callable[..., object])
DAY = click.DateTime(["%Y-%m-%d"])


def add_person_option(command: Command) -> Command:
    """Add the option that says who is at work."""
    option = click.option(
        "--by", "person", envvar="ELBOWROOM_PERSON", default="", help="Who does it; not needed where one person works."
    )
    return option(command)


def read_place() -> RecordSettings:
    """Read where the record lies."""
    return read_record_settings(os.environ)


def read_passphrase(settings: RecordSettings, words: str = "Passphrase", is_new: bool = False) -> str:
    """Read the passphrase from its file, or ask for it on the terminal, twice where it is new."""
    if settings.passphrase_file is None:
        return str(click.prompt(words, hide_input=True, confirmation_prompt=is_new, err=True))
    try:
        return settings.passphrase_file.read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError) as e:
        raise PassphraseError(f"{settings.passphrase_file} cannot be read: name a text file.") from e


def open_tools() -> RecordTools:
    """Open the record where the settings say it lies."""
    from elbowroom import bootstrap

    settings = read_place()
    return bootstrap.open_record(settings, read_passphrase(settings))


def make_stamp(tools: RecordTools, person: str) -> Stamp:
    """Return who is at work, now; raises `RecordError` where the record does not know the name."""
    from elbowroom.core.quantities.types import Absent
    from elbowroom.service.record_tools import find_person
    from elbowroom.service.record_values import Stamp

    found = find_person(tools, person)
    if isinstance(found, Absent):
        raise RecordError(found.reason)
    return Stamp(at=datetime.now(UTC), by=found.person_id)
