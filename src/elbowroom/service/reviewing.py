"""Use cases: open a kept visit for review, correct it, and bring its screening up to date."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import RLock

from elbowroom.core.chain.correcting import FIRST_DRAWS
from elbowroom.core.chain.types import Change
from elbowroom.core.chain.workings import Workings
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.errors import ConflictError, RecordError
from elbowroom.service.correcting import (
    CorrectingTools,
    Measured,
    Remembered,
    compare_reports,
    measure_changes,
    remove_oldest,
)
from elbowroom.service.correction_ports import ReviewFiles
from elbowroom.service.correction_values import CorrectionAsked, CorrectionLine, VisitChange
from elbowroom.service.correction_words import describe_change, list_changes, list_versions_in_force, read_change
from elbowroom.service.keeping import CorrectionFacts, KeptVisit, add_correction, keep_visit
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import RecordTools, list_people
from elbowroom.service.record_types import CorrectionEntry, FileEntry, FileKind, ScreeningEntry, VisitEntry
from elbowroom.service.record_values import ParcelFile, Stamp, VisitParcel

MOST_OPEN = 3
"""Visits whose workings are kept in memory."""
REPORT_NAME = "report.json"


@dataclass
class OpenReview:
    """A visit that is open for review in this process."""

    workings: Workings
    """Its workings."""
    remembered: Remembered = field(default_factory=Remembered)
    """What was worked out for it."""
    lock: RLock = field(default_factory=RLock)
    """One computation at a time."""


@dataclass(frozen=True, kw_only=True)
class ReviewTools:
    """What reviewing needs."""

    record: RecordTools
    """The opened record."""
    files: ReviewFiles
    """Workings and reports."""
    correcting: Callable[[], CorrectingTools]
    """Gives the tables that hold now."""
    opened: OrderedDict[str, OpenReview] = field(default_factory=OrderedDict)
    """The visits open in this process, by the id of the workings' file; the longest unused is dropped first."""


@dataclass(frozen=True, kw_only=True)
class Reviewed:
    """A visit as its corrections leave it."""

    visit: VisitEntry
    """The visit."""
    workings: Workings
    """Its workings."""
    measured: Measured
    """Its numbers."""
    version: int
    """The last correction of the visit; 0 for none."""
    change: VisitChange
    """What all of the corrections changed against the screening."""


def get_visit(record: RecordTools, visit_id: str) -> VisitEntry:
    """Return a visit; raises `RecordError` where there is none of that id."""
    found = record.entries.find_entries(VisitEntry, id=visit_id)
    if not found:
        raise RecordError(f"There is no visit {visit_id!r} in the record: `elbowroom record list` names them.")
    return found[0]


def list_corrections(record: RecordTools, visit_id: str) -> tuple[CorrectionEntry, ...]:
    """Return the corrections of a visit, the first one first."""
    return record.entries.find_entries(CorrectionEntry, visit_id=visit_id)


def open_review(tools: ReviewTools, visit: VisitEntry) -> OpenReview:
    """Return a visit open for review, its workings read once; raises `RecordError` where none were kept."""
    files = tools.record.entries.find_entries(FileEntry, visit_id=visit.id, kind=str(FileKind.WORKINGS))
    if not files:
        raise RecordError(
            "This visit was kept without the workings of its screening, so it cannot be corrected: "
            "screen its clips again and keep the visit anew."
        )
    newest = max(files, key=lambda file: (file.recorded_at, file.id))
    if newest.file_id not in tools.opened:
        content = b"".join(tools.record.vault.read_range(newest.file_id))
        tools.opened[newest.file_id] = OpenReview(workings=tools.files.read_workings(content))
        remove_oldest(tools.opened, MOST_OPEN)
    tools.opened.move_to_end(newest.file_id)
    return tools.opened[newest.file_id]


def see_review(tools: ReviewTools, visit_id: str, *, is_first: bool = False) -> Reviewed:
    """Return a visit measured with all corrections in force; `is_first` asks for the quick answer.

    Raises `RecordError` where there is no such visit or no workings, `CorrectionError` where a correction does not fit.
    """
    visit = get_visit(tools.record, visit_id)
    entries = list_corrections(tools.record, visit_id)
    opened = open_review(tools, visit)
    changes = list_changes(entries)
    measured = measure_opened(tools, opened, changes, is_first=is_first)
    draws = FIRST_DRAWS if is_first else opened.workings.draws
    before = measure_opened(tools, opened, (), is_first=False) if changes else measured
    return Reviewed(
        visit=visit,
        workings=opened.workings,
        measured=measured,
        version=len(entries),
        change=compare_reports(before.report, measured.report, draws=draws, is_first=is_first),
    )


def measure_opened(tools: ReviewTools, opened: OpenReview, changes: Sequence[Change], *, is_first: bool) -> Measured:
    """Return an open visit with changes, one computation at a time."""
    with opened.lock:
        return measure_changes(opened.workings, changes, tools.correcting(), opened.remembered, is_first=is_first)


def add_checked_correction(
    tools: ReviewTools, visit_id: str, asked: CorrectionAsked, known: int, stamp: Stamp
) -> tuple[CorrectionEntry, VisitChange]:
    """Keep a correction on top of the last one that the person saw (0 for none), and return it with the first answer.

    The correction is tried before it is kept, so that one that does not fit is never kept. The screening is brought up
    to date by `keep_current`, which has to follow. Raises `CorrectionError` where it does not fit, `ConflictError`
    with whose it is where somebody corrected the visit meanwhile; nothing is kept then.
    """
    visit = get_visit(tools.record, visit_id)
    entries = list_corrections(tools.record, visit_id)
    check_known(tools.record, entries, known)
    opened = open_review(tools, visit)
    before = measure_opened(tools, opened, list_changes(entries), is_first=False)
    facts = CorrectionFacts(
        kind=asked.kind,
        throw_number=asked.throw_number,
        what=asked.what,
        before=find_before(entries, asked),
        after=asked.after,
        reason=asked.reason,
    )
    entry = build_trial(visit, facts, known + 1, stamp)
    after = measure_opened(tools, opened, list_changes([*entries, entry]), is_first=True)
    try:
        add_correction(tools.record, visit, facts, known, stamp)
    except ConflictError:
        check_known(tools.record, list_corrections(tools.record, visit_id), known)
        raise
    change = compare_reports(before.report, after.report, draws=FIRST_DRAWS, is_first=True)
    return list_corrections(tools.record, visit_id)[-1], change


def check_known(record: RecordTools, entries: Sequence[CorrectionEntry], known: int) -> None:
    """Raise `ConflictError`, naming who and what, where there are corrections that the person did not see."""
    newer = [entry for entry in entries if entry.version > known]
    if newer:
        last = newer[-1]
        person = list_people(record).get(last.recorded_by)
        words = describe_change(last.kind, last.throw_number, last.after)
        raise ConflictError(
            f"Correction {last.version} of this visit exists already, by {person.name if person else 'somebody'}: "
            f"throw {last.throw_number}, {words}. Yours is not kept yet: look at it, then make yours again."
        )


def find_before(entries: Sequence[CorrectionEntry], asked: CorrectionAsked) -> str:
    """Return what held before on what a correction is about, as the record writes it: an earlier one, or as found."""
    about, _ = read_change(asked.kind, asked.throw_number, asked.after)
    same = [entry for entry in entries if read_change(entry.kind, entry.throw_number, entry.after)[0] == about]
    return same[-1].after if same else '{"as": "found"}'


def build_trial(visit: VisitEntry, facts: CorrectionFacts, version: int, stamp: Stamp) -> CorrectionEntry:
    """Return a correction as it would be kept, to try it."""
    return CorrectionEntry(
        id="",
        athlete_id=visit.athlete_id,
        visit_id=visit.id,
        version=version,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
        **vars(facts),
    )


def keep_current(tools: ReviewTools, visit_id: str, stamp: Stamp) -> tuple[KeptVisit, VisitChange]:
    """Bring the screening of a visit up to date with its corrections, as a new version beside the old ones.

    Where it is up to date nothing is added. May be cut off and run again. Raises what `see_review` raises.
    """
    reviewed = see_review(tools, visit_id)
    screenings = tools.record.entries.find_entries(ScreeningEntry, visit_id=visit_id)
    newest = screenings[-1] if screenings else None
    if newest and newest.corrections_version == reviewed.version:
        return KeptVisit(visit_id=visit_id, version=newest.version, is_new=False), reviewed.change
    kept = keep_corrected(tools, reviewed, stamp)
    return kept, reviewed.change


def keep_corrected(tools: ReviewTools, reviewed: Reviewed, stamp: Stamp) -> KeptVisit:
    """Keep a corrected report as a new version of the screening.

    Outside the vault it lies only in a folder that this user alone may read, and only for as long as it is sealed.
    """
    visit = reviewed.visit
    content = tools.files.render_report(mark_report(reviewed))
    with TemporaryDirectory(prefix="elbowroom-") as folder:
        path = Path(folder) / REPORT_NAME
        path.write_bytes(content)
        parcel = VisitParcel(
            made_on=visit.made_on,
            height_m=visit.height_m,
            kind=visit.kind,
            files=(ParcelFile(path=path, kind=FileKind.REPORT, view=ABSENT),),
            report=replace(tools.files.read_kept(path), corrections_version=reviewed.version),
        )
        return keep_visit(tools.record, visit.athlete_id, parcel, stamp)


def mark_report(reviewed: Reviewed) -> ScreeningReport:
    """Return the report with a caution that says how many corrections it takes in."""
    report = reviewed.measured.report
    if not reviewed.version:
        return report
    words = "correction was" if reviewed.version == 1 else "corrections were"
    caution = f"{reviewed.version} {words} made by hand after the screening; the throws' notes name them."
    return replace(report, cautions=(*report.cautions, caution))


def see_corrections(record: RecordTools, visit_id: str) -> tuple[CorrectionLine, ...]:
    """Return the corrections of a visit for a list, the newest first."""
    entries, people = list_corrections(record, visit_id), list_people(record)
    in_force = list_versions_in_force(entries)
    return tuple(
        CorrectionLine(
            version=entry.version,
            words=describe_change(entry.kind, entry.throw_number, entry.after),
            throw_number=entry.throw_number,
            reason=entry.reason,
            made_by=people[entry.recorded_by].name if entry.recorded_by in people else "",
            made_at=entry.recorded_at,
            is_in_force=entry.version in in_force,
        )
        for entry in reversed(entries)
    )
