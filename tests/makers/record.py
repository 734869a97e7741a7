"""An invented clinic: people, athletes and screened visits, with ids and times that repeat from run to run."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from itertools import count
from pathlib import Path

from elbowroom.core.cameras.types import View
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.service.athletes import AthleteFacts, add_athlete, add_consent, add_guardian
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import ClinicEntry, FileKind, PersonEntry, Purpose, Role
from elbowroom.service.record_values import KeptFinding, KeptReport, ParcelFile, Stamp, VisitParcel

PASSPHRASE = "three owls on a fence"
START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
PERSON_ID = "c0ffee"
STAMP = Stamp(at=START, by=PERSON_ID)
CHILD = AthleteFacts(name="Zoë Ångström", born_on=date(2013, 2, 28), hand=ThrowingHand.LEFT)
ADULT = AthleteFacts(name="Quill Adeyemi", born_on=date(1999, 7, 1), hand=ThrowingHand.RIGHT)
MEASURE = "elbow_to_shoulder_line_at_layback"


def make_ids(first: int = 1) -> Callable[[], str]:
    """Return a maker of ids in a row."""
    numbers = count(first)
    return lambda: f"{next(numbers):032x}"


def make_stamp(days: float) -> Stamp:
    """Return a stamp some days after the start."""
    return Stamp(at=START + timedelta(days=days), by=PERSON_ID)


def begin_clinic(tools: RecordTools, keep_years: int = 0, until_age: int = 0) -> None:
    """Add the clinic and its first person."""
    clinic = ClinicEntry(
        id=tools.make_id(),
        version=1,
        name="An invented clinic",
        keep_years=keep_years,
        keep_until_age_years=until_age,
        recorded_at=START,
        recorded_by=PERSON_ID,
    )
    person = PersonEntry(
        id=tools.make_id(),
        person_id=PERSON_ID,
        version=1,
        name="Rowan",
        role=Role.CLINICIAN,
        recorded_at=START,
        recorded_by=PERSON_ID,
    )
    tools.entries.add_entries([clinic, person])


def add_child(tools: RecordTools, facts: AthleteFacts = CHILD, stamp: Stamp = STAMP) -> str:
    """Add a minor whose guardian consents to care, and return the id."""
    athlete_id = add_athlete(tools, facts, stamp)
    guardian_id = add_guardian(tools, athlete_id, "Ines Ångström", "mother", stamp)
    add_consent(tools, athlete_id, guardian_id, Purpose.CARE, stamp.at.date(), stamp)
    return athlete_id


def make_parcel(
    folder: Path, value_deg: float = -7.0, made_on: date = date(2026, 3, 1), size: int = 4000
) -> VisitParcel:
    """Write the files of a screened visit to a folder and return the parcel."""
    folder.mkdir(parents=True, exist_ok=True)
    clips = {"behind.mp4": View.BEHIND, "side.mp4": View.OPEN_SIDE}
    for number, name in enumerate(clips):
        (folder / name).write_bytes(f"{made_on} clip {number} ".encode() * (size // 8))
    (folder / "visit.toml").write_text(f"# {made_on}", encoding="utf-8")
    (folder / "report.json").write_text(f'{{"value": {value_deg}}}', encoding="utf-8")
    files = [ParcelFile(path=folder / name, kind=FileKind.CLIP, view=view) for name, view in clips.items()]
    others = {"visit.toml": FileKind.VISIT_FILE, "report.json": FileKind.REPORT}
    files += [ParcelFile(path=folder / name, kind=kind, view=ABSENT) for name, kind in others.items()]
    digests = {name: hashlib.sha256((folder / name).read_bytes()).hexdigest() for name in clips}
    return VisitParcel(
        made_on=made_on,
        height_m=1.5,
        kind="pitch from a mound",
        files=tuple(files),
        report=make_report(digests, value_deg, made_on),
    )


def make_report(digests: dict[str, str], value_deg: float, made_on: date) -> KeptReport:
    """Return what a report would say; no number in it was measured."""
    measured = KeptFinding(
        measure=MEASURE,
        value=value_deg,
        standard=2.0,
        unit="deg",
        verdict="beyond",
        reason="Invented.",
        probability_beyond=0.95,
        tolerance_version="3",
    )
    missing = KeptFinding(
        measure="stride_offset",
        value=ABSENT,
        standard=ABSENT,
        unit="",
        verdict="not measured",
        reason="The foot was not seen.",
        probability_beyond=ABSENT,
        tolerance_version="",
    )
    return KeptReport(
        made_on=made_on,
        tool_version="0.1.0",
        tolerances="tolerances.csv 0123",
        clip_digests=digests,
        throws={1: tuple(digests), 2: tuple(digests)[:1]},
        findings=(measured, missing),
    )
