"""Use cases: keep a screened visit, and a correction of it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace

from elbowroom.core.cameras.types import View
from elbowroom.errors import RecordError
from elbowroom.service.athletes import check_consent
from elbowroom.service.holds import check_not_held
from elbowroom.service.record_lines import combine_digests
from elbowroom.service.record_tools import RecordTools, get_athlete, note_act
from elbowroom.service.record_types import (
    Act,
    ClipEntry,
    CorrectionEntry,
    CorrectionKind,
    Entry,
    FileEntry,
    FileKind,
    FindingEntry,
    Purpose,
    ScreeningEntry,
    ThrowEntry,
    VisitEntry,
)
from elbowroom.service.record_values import KeptReport, ParcelFile, Stamp, StoredFile, VisitParcel

Stored = tuple[ParcelFile, StoredFile]
"""A file of a visit, and what the vault says of it."""


@dataclass(frozen=True, kw_only=True)
class KeptVisit:
    """What keeping a visit came to."""

    visit_id: str
    """The visit."""
    version: int
    """Version of the screening that was kept or found."""
    is_new: bool
    """Whether anything was added; a report that is in the record already is not kept twice."""


@dataclass(frozen=True, kw_only=True)
class CorrectionFacts:
    """What a person corrects."""

    kind: CorrectionKind
    """What is corrected."""
    throw_number: int
    """Number of the throw."""
    what: str
    """Which landmark or instant, and where."""
    before: str
    """What was there, as JSON."""
    after: str
    """What holds instead, as JSON."""
    reason: str = ""
    """Why."""


def keep_visit(tools: RecordTools, athlete_id: str, parcel: VisitParcel, stamp: Stamp) -> KeptVisit:
    """Keep a screened visit: files first, then all its entries at once, so that a kill leaves no half visit.

    The same report is kept once. Another report on the same clips is a new version of the screening. Raises
    `ConsentError` without a consent for care, `HoldError` where a warning sign showed on that day, and
    `RecordError` where a file is not the one that was screened.
    """
    get_athlete(tools, athlete_id)
    check_consent(tools, athlete_id, Purpose.CARE)
    check_not_held(tools, athlete_id, "throwing tests", parcel.made_on)
    known = tools.entries.find_entries(VisitEntry, athlete_id=athlete_id, clips_digest=digest_clips(parcel.report))
    visit = known[0] if known else _build_visit(tools, athlete_id, parcel, stamp)
    kinds = (FileKind.REPORT, FileKind.PAGE, FileKind.WORKINGS)
    wanted = [file for file in parcel.files if not known or file.kind in kinds]
    with store_files(tools, wanted, athlete_id) as stored:
        kept = _find_kept_report(tools, visit, stored)
        if kept:
            tools.vault.remove_files(tuple(item.file_id for _, item in stored))
            return KeptVisit(visit_id=visit.id, version=kept.version, is_new=False)
        check_digests(parcel.report, stored)
        entries, version = build_entries(tools, visit, parcel.report, stored, stamp)
        tools.entries.add_entries([*([] if known else [visit]), *entries])
    return KeptVisit(visit_id=visit.id, version=version, is_new=True)


def digest_clips(report: KeptReport) -> str:
    """Return one SHA-256 over those of a report's clips, whatever their names and order."""
    return combine_digests(bytes.fromhex(digest) for digest in report.clip_digests.values())


def check_digests(report: KeptReport, stored: Sequence[Stored]) -> None:
    """Raise `RecordError`, naming every clip that is not the one that was screened."""
    clips = [(file.path.name, item.digest) for file, item in stored if file.kind is FileKind.CLIP]
    strange = [name for name, digest in clips if report.clip_digests.get(name) != digest]
    if strange:
        raise RecordError(f"{', '.join(strange)} changed since the screening: screen the visit again, then keep it.")


def add_correction(tools: RecordTools, visit: VisitEntry, facts: CorrectionFacts, known: int, stamp: Stamp) -> int:
    """Add a correction on top of the last one that the person saw (0 for none) and return its version.

    Raises `ConflictError` where somebody else corrected the visit since.
    """
    entry = CorrectionEntry(
        id=tools.make_id(),
        athlete_id=visit.athlete_id,
        visit_id=visit.id,
        version=known + 1,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
        **vars(facts),
    )
    act = note_act(tools, stamp, Act.CORRECTED, visit.athlete_id, f"visit {visit.id}, correction {entry.version}")
    tools.entries.add_entries([entry, act])
    return entry.version


@contextmanager
def store_files(tools: RecordTools, files: Sequence[ParcelFile], drawer: str) -> Iterator[list[Stored]]:
    """Store files and give them; where anything then fails, they are removed again."""
    stored: list[Stored] = []
    try:
        for file in files:
            stored.append((file, tools.vault.store_file(file.path, drawer)))
        yield stored
    except RecordError:
        tools.vault.remove_files(tuple(item.file_id for _, item in stored))
        raise


def _find_kept_report(tools: RecordTools, visit: VisitEntry, stored: Sequence[Stored]) -> ScreeningEntry | None:
    digest = next(item.digest for file, item in stored if file.kind is FileKind.REPORT)
    files = tools.entries.find_entries(FileEntry, visit_id=visit.id, kind=str(FileKind.REPORT))
    same = {file.id for file in files if file.digest == digest}
    screenings = tools.entries.find_entries(ScreeningEntry, visit_id=visit.id)
    return next((item for item in screenings if item.report_entry_id in same), None)


def _build_visit(tools: RecordTools, athlete_id: str, parcel: VisitParcel, stamp: Stamp) -> VisitEntry:
    return VisitEntry(
        id=tools.make_id(),
        athlete_id=athlete_id,
        made_on=parcel.made_on,
        height_m=parcel.height_m,
        kind=parcel.kind,
        clips_digest=digest_clips(parcel.report),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )


def build_entries(
    tools: RecordTools,
    visit: VisitEntry,
    report: KeptReport,
    stored: Sequence[Stored],
    stamp: Stamp,
    screening_id: str = "",
) -> tuple[list[Entry], int]:
    """Return the entries of files, clips, screening, throws, findings and trail, and the screening's version.

    The screening gets a new id where none is given.
    """
    files = [_build_file(tools, visit, file, item, stamp) for file, item in stored]
    clips = [
        ClipEntry(
            id=tools.make_id(), athlete_id=visit.athlete_id, visit_id=visit.id, file_entry_id=entry.id, view=file.view
        )
        for (file, _), entry in zip(stored, files, strict=True)
        if isinstance(file.view, View)
    ]
    report_file = next(entry for entry in files if entry.kind is FileKind.REPORT)
    screening = _build_screening(tools, visit, report, report_file, stamp)
    screening = replace(screening, id=screening_id or screening.id)
    act = note_act(tools, stamp, Act.ADDED, visit.athlete_id, f"visit {visit.id}, screening {screening.version}")
    parts = [*_build_throws(tools, screening, report), *_build_findings(tools, screening, report)]
    return [*files, *clips, screening, *parts, act], screening.version


def _build_file(tools: RecordTools, visit: VisitEntry, file: ParcelFile, item: StoredFile, stamp: Stamp) -> FileEntry:
    return FileEntry(
        id=tools.make_id(),
        athlete_id=visit.athlete_id,
        visit_id=visit.id,
        kind=file.kind,
        name=file.path.name,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
        **vars(item),
    )


def _build_screening(
    tools: RecordTools, visit: VisitEntry, report: KeptReport, file: FileEntry, stamp: Stamp
) -> ScreeningEntry:
    earlier = tools.entries.find_entries(ScreeningEntry, visit_id=visit.id)
    corrections = tools.entries.find_entries(CorrectionEntry, visit_id=visit.id)
    return ScreeningEntry(
        id=tools.make_id(),
        athlete_id=visit.athlete_id,
        visit_id=visit.id,
        version=1 + max((item.version for item in earlier), default=0),
        made_on=report.made_on,
        report_entry_id=file.id,
        corrections_version=max((item.version for item in corrections), default=0)
        if report.corrections_version < 0
        else report.corrections_version,
        tool_version=report.tool_version,
        tolerances=report.tolerances,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )


def _build_throws(tools: RecordTools, screening: ScreeningEntry, report: KeptReport) -> list[ThrowEntry]:
    return [
        ThrowEntry(
            id=tools.make_id(),
            athlete_id=screening.athlete_id,
            screening_id=screening.id,
            number=number,
            clips=json.dumps(clips),
        )
        for number, clips in report.throws.items()
    ]


def _build_findings(tools: RecordTools, screening: ScreeningEntry, report: KeptReport) -> list[FindingEntry]:
    return [
        FindingEntry(id=tools.make_id(), athlete_id=screening.athlete_id, screening_id=screening.id, **vars(finding))
        for finding in report.findings
    ]
