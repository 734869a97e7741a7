"""Use cases: whom the rule of retention lets go, and forgetting an athlete for good."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from elbowroom.errors import DamageError, RecordError
from elbowroom.service.record_lines import KINDS
from elbowroom.service.record_tools import RecordTools, note_act
from elbowroom.service.record_types import Act, AthleteEntry, ClinicEntry, Entry, TrailEntry
from elbowroom.service.record_values import AthleteLine, Stamp

LIMITS = (
    "Solid-state disks, snapshots and copy-on-write file systems may keep old blocks of removed files; what they hold "
    "is sealed with the keys of this record.",
    "A PostgreSQL server keeps its write-ahead log and its own archives for as long as it is told to.",
)
"""What removal on this machine cannot reach."""


@dataclass(frozen=True, kw_only=True)
class Certificate:
    """What was removed when an athlete was forgotten; it holds no name."""

    athlete_id: str
    """Id of the athlete, which says nothing."""
    done_at: datetime
    """When, UTC."""
    done_by: str
    """Id of the person who did it."""
    entry_counts: Mapping[str, int]
    """How many entries of each kind were removed."""
    file_count: int
    """How many files of the vault were overwritten and removed."""
    sealed_bytes: int
    """How much they took on the disk."""
    backups: tuple[str, ...]
    """Backups made while the athlete was in the record, with their time: they still hold the athlete."""
    limits: tuple[str, ...]
    """What removal cannot reach."""


def list_overdue(tools: RecordTools, today: date) -> tuple[AthleteLine, ...]:
    """Return the athletes whom the clinic's rule of retention lets go; nobody is removed by this.

    Raises `RecordError` where the clinic states no rule.
    """
    clinic = tools.entries.find_entries(ClinicEntry)[-1]
    if not clinic.keep_years:
        raise RecordError("The clinic states no rule of retention: begin the record with --keep-years.")
    return tools.lists.list_overdue(
        subtract_years(today, clinic.keep_years), subtract_years(today, clinic.keep_until_age_years)
    )


def forget_athlete(tools: RecordTools, athlete_id: str, stamp: Stamp) -> Certificate:
    """Remove an athlete's files, then every entry about the athlete but the trail, and make sure that none is left.

    May be cut off and run again: the certificate then counts what this run removed, and the trail what was there
    when the first began. Raises `RecordError` where nothing of that id is there.
    """
    files = tools.vault.list_files(athlete_id)
    if not files and not tools.entries.find_entries(AthleteEntry, id=athlete_id) and not is_cut_off(tools, athlete_id):
        raise RecordError(f"There is no athlete {athlete_id!r} in the record: `elbowroom record list` names them.")
    backups = list_backups_holding(tools, athlete_id)
    began = note_act(tools, stamp, Act.BEGAN_TO_FORGET, athlete_id, f"{len(files)} files")
    tools.entries.add_entries([began])
    tools.vault.remove_files(tuple(file.file_id for file in files))
    counts = tools.entries.remove_athlete(athlete_id)
    check_forgotten(tools, athlete_id)
    what = f"{sum(counts.values())} entries, {len(files)} files"
    tools.entries.add_entries([note_act(tools, stamp, Act.FORGOT, athlete_id, what)])
    return Certificate(
        athlete_id=athlete_id,
        done_at=stamp.at,
        done_by=stamp.by,
        entry_counts=counts,
        file_count=len(files),
        sealed_bytes=sum(file.sealed_bytes for file in files),
        backups=backups,
        limits=LIMITS,
    )


def is_cut_off(tools: RecordTools, athlete_id: str) -> bool:
    """Say whether somebody began to forget an athlete and never came to the end."""
    trail = tools.entries.find_entries(TrailEntry, athlete_id=athlete_id)
    acts = {entry.act for entry in trail}
    return Act.BEGAN_TO_FORGET in acts and Act.FORGOT not in acts


def describe_certificate(certificate: Certificate) -> dict[str, Any]:
    """Return a certificate as plain values for a file."""
    return {**vars(certificate), "done_at": certificate.done_at.isoformat()}


def list_backups_holding(tools: RecordTools, athlete_id: str) -> tuple[str, ...]:
    """Return the backups that were made since an athlete was added, each with its time."""
    known = tools.entries.find_entries(AthleteEntry, id=athlete_id)
    backups = tools.entries.find_entries(TrailEntry, act=str(Act.BACKED_UP))
    since = [item for item in backups if not known or item.recorded_at >= known[0].recorded_at]
    return tuple(f"{item.what}, {item.recorded_at:%Y-%m-%d %H:%M} UTC" for item in since)


def check_forgotten(tools: RecordTools, athlete_id: str) -> None:
    """Raise `DamageError` where anything of an athlete is still there."""
    left = [kind.__name__ for kind in KINDS if kind is not TrailEntry and _find_of_athlete(tools, kind, athlete_id)]
    left += [file.file_id for file in tools.vault.list_files(athlete_id)]
    if left:
        raise DamageError(f"The athlete is not wholly forgotten ({', '.join(left)}): run the same line again.")


def subtract_years(day: date, years: int) -> date:
    """Return the same day some years earlier; the last of February for one that was not there."""
    try:
        return day.replace(year=day.year - years)
    except ValueError:
        return day.replace(year=day.year - years, day=28)


def _find_of_athlete(tools: RecordTools, kind: type[Entry], athlete_id: str) -> bool:
    name = "id" if kind is AthleteEntry else "athlete_id"
    return name in kind.__dataclass_fields__ and bool(tools.entries.find_entries(kind, **{name: athlete_id}))
