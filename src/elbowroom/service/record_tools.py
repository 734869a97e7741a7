"""What the use cases of the record work with, and small steps that they share."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import NotThereError, RecordError
from elbowroom.service.day_ports import DayLists
from elbowroom.service.job_ports import JobQueue
from elbowroom.service.ports import BackupShelf, RecordEntries, RecordLists, Vault
from elbowroom.service.record_types import Act, AthleteVersion, PersonEntry, Role, TrailEntry
from elbowroom.service.record_values import Stamp
from elbowroom.service.upload_ports import UploadStore

ADULT_YEARS = 18
"""Age from which an athlete consents alone (common practice, no source; local law comes first)."""


@dataclass(frozen=True, kw_only=True)
class RecordTools:
    """The opened record."""

    entries: RecordEntries
    """The entries."""
    lists: RecordLists
    """The lists over them."""
    days: DayLists
    """The lists that a day asks for."""
    vault: Vault
    """The files."""
    shelf: BackupShelf
    """Where backups are written and read."""
    jobs: JobQueue
    """The work that workers do."""
    uploads: UploadStore
    """Files on their way into the vault."""
    make_id: Callable[[], str]
    """Gives a new random id of 32 hexadecimal digits."""


def get_athlete(tools: RecordTools, athlete_id: str) -> AthleteVersion:
    """Return the newest version of an athlete; raises `NotThereError` where there is none of that id."""
    versions = tools.entries.find_entries(AthleteVersion, athlete_id=athlete_id)
    if not versions:
        raise NotThereError(f"There is no athlete {athlete_id!r} in the record: `elbowroom record list` names them.")
    return versions[-1]


def list_people(tools: RecordTools) -> dict[str, PersonEntry]:
    """Return the newest version of every person, by id."""
    entries = sorted(tools.entries.find_entries(PersonEntry), key=lambda entry: entry.version)
    return {entry.person_id: entry for entry in entries}


def find_person(tools: RecordTools, name: str) -> PersonEntry | Absent:
    """Find a person of the clinic by name; where no name is given, the only person there is."""
    people = [person for person in list_people(tools).values() if person.role is not Role.RETIRED]
    found = [person for person in people if person.name.casefold() == name.casefold() or not name]
    if len(found) == 1:
        return found[0]
    names = ", ".join(sorted(person.name for person in people))
    return Absent(reason=f"The record does not know who works with it: name one of {names} with --by.")


def note_act(tools: RecordTools, stamp: Stamp, act: Act, athlete_id: str = "", what: str = "") -> TrailEntry:
    """Build a line of the trail; `what` holds no name of an athlete."""
    return TrailEntry(
        id=tools.make_id(), recorded_at=stamp.at, recorded_by=stamp.by, act=act, athlete_id=athlete_id, what=what
    )


def compute_age_years(born_on: date, on: date) -> int:
    """Return whole years of age on a day."""
    return on.year - born_on.year - ((on.month, on.day) < (born_on.month, born_on.day))


def unpack_pieces(pieces: Iterable[bytes], name: str, target: Path) -> None:
    """Write the plain bytes of a file called `name` to a place outside the vault; raises `RecordError`."""
    try:
        with target.open("wb") as plain:
            plain.writelines(pieces)
    except OSError as e:
        raise RecordError(f"{name} cannot be unpacked ({e.strerror}): make room and try again.") from e
