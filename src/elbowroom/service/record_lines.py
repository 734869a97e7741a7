"""Entries as lines of text: the form of backups, the same whatever database keeps them."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import fields
from datetime import date, datetime
from enum import StrEnum
from typing import Any, TypeVar, get_args, get_type_hints

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import DamageError
from elbowroom.service import clinic_types as clinic
from elbowroom.service import filming_types as filming
from elbowroom.service import intake_types as plan
from elbowroom.service import people_types as people
from elbowroom.service import record_types as kinds
from elbowroom.service import week_types as weeks
from elbowroom.service.record_types import Entry

SomeEntry = TypeVar("SomeEntry", bound=Entry)
"""One kind of entry."""

KINDS: tuple[type[Entry], ...] = (
    *(kinds.ClinicEntry, kinds.PersonEntry, kinds.AthleteEntry, kinds.AthleteVersion, kinds.GuardianEntry),
    *(kinds.ConsentEntry, kinds.WithdrawalEntry, kinds.VisitEntry, kinds.FileEntry, kinds.ClipEntry),
    *(kinds.CorrectionEntry, kinds.ScreeningEntry, kinds.ThrowEntry, kinds.FindingEntry, kinds.TrailEntry),
    *(people.PasswordEntry, people.AttemptEntry, people.ProgramKeyEntry, people.ProgramKeyEnd),
    *(clinic.ToleranceEntry, clinic.SettingsEntry, clinic.DayPlaceEntry, clinic.ReviewEntry),
    *(plan.IntakeEntry, plan.ReleaseEntry, plan.ExamEntry, plan.DrillRulesEntry, plan.DrillPlanEntry),
    *(weeks.TeamVersion, weeks.MembershipEntry, weeks.CountLink, weeks.CountLinkEnd, weeks.CountVersion),
    *(weeks.ThrowingPlan, weeks.ReturnCourse, weeks.ReturnEvent, weeks.RetestEntry),
    *(filming.SetUpEntry, filming.UploadEntry, filming.FilmedClipEntry, filming.ClipCheckEntry, filming.ProxyEntry),
)
"""Every kind of entry, each after those that it refers to."""
KIND_NAMES = {kind.__name__: kind for kind in KINDS}
ABSENT = Absent(reason="The record holds no value here.")
"""Stands for what an entry leaves out."""


def write_line(entry: Entry) -> str:
    """Return an entry as one line of JSON."""
    values = {item.name: _write_value(getattr(entry, item.name)) for item in fields(entry)}
    return json.dumps({"entry": type(entry).__name__, **values}, ensure_ascii=False, allow_nan=False, sort_keys=True)


def read_line(line: str) -> Entry:
    """Return the entry that a line holds; raises `DamageError` where it is none."""
    try:
        values = json.loads(line)
        kind = KIND_NAMES[values.pop("entry")]
        hints = get_type_hints(kind)
        return kind(**{name: _read_value(hints[name], value) for name, value in values.items()})
    except (ValueError, KeyError, TypeError, AttributeError) as e:
        raise DamageError("A line of the backup is no entry of this version: use the elbowroom that made it.") from e


def digest_line(line: str) -> bytes:
    """Return the SHA-256 of a line."""
    return hashlib.sha256(line.encode()).digest()


def combine_digests(digests: Iterable[bytes]) -> str:
    """Return one SHA-256 over many, the same in whatever order they come."""
    return hashlib.sha256(b"".join(sorted(digests))).hexdigest()


def _write_value(value: Any) -> Any:
    if isinstance(value, Absent):
        return None
    return value.isoformat() if isinstance(value, date) else value


def _read_value(hint: Any, value: Any) -> Any:
    if value is None:
        return ABSENT
    if hint is datetime or hint is date:
        return hint.fromisoformat(value)
    words = [one for one in get_args(hint) or (hint,) if isinstance(one, type) and issubclass(one, StrEnum)]
    return words[0](value) if words else value
