"""What each kind of job does; doing one twice changes nothing, and what it makes is kept whole or not at all."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path

from elbowroom.core.cameras.types import View
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import RecordError
from elbowroom.service.athletes import check_consent
from elbowroom.service.check_types import CheckWish
from elbowroom.service.filming_types import ClipCheckEntry, FilmedClipEntry, ProxyEntry, SetUpEntry
from elbowroom.service.job_types import Job, JobKind
from elbowroom.service.keeping import Stored, build_entries, store_files
from elbowroom.service.landmarking import Progress
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import get_athlete, note_act
from elbowroom.service.record_types import (
    Act,
    ClipEntry,
    FileEntry,
    FileKind,
    Purpose,
    ScreeningEntry,
    VisitEntry,
)
from elbowroom.service.record_values import ParcelFile, Stamp, VisitParcel
from elbowroom.service.work_tools import WorkTools
from elbowroom.service.working import Handler

VISIT_NAME = "visit.toml"
PLAIN_KINDS = (FileKind.CLIP, FileKind.BOARD_CLIP)


def list_handlers(tools: WorkTools) -> Mapping[JobKind, Handler]:
    """Return what does each kind of job."""
    return {
        JobKind.SCREEN: lambda job, report: screen_kept_visit(tools, job, report),
        JobKind.CHECK: lambda job, report: check_kept_clip(tools, job, report),
        JobKind.PROXY: lambda job, report: make_kept_proxy(tools, job, report),
    }


def screen_kept_visit(tools: WorkTools, job: Job, report: Progress) -> None:
    """Screen the clips of a visit that lie in the vault and keep the result as a version of its screening.

    The screening carries the name of the job, so that it is there once however often the job is done.
    """
    entries = tools.record.entries
    if entries.find_entries(ScreeningEntry, id=job.id):
        return
    visit = _get_visit(tools, job)
    check_consent(tools.record, visit.athlete_id, Purpose.CARE)
    with tools.open_folder() as folder:
        place_visit(tools, visit, folder, report)
        parcel = tools.screen(folder, report)
        report("keeping the report", 0, 1)
        keep_screening(tools, visit, parcel, job)


def place_visit(tools: WorkTools, visit: VisitEntry, folder: Path, report: Progress) -> None:
    """Write the clips of a visit and its visit file to a folder, as a screening reads them."""
    files = tools.record.entries.find_entries(FileEntry, visit_id=visit.id)
    clips = [file for file in files if file.kind in PLAIN_KINDS]
    for number, file in enumerate(clips):
        report("opening the clips", number, len(clips))
        tools.write_file(folder / file.name, tools.record.vault.read_range(file.file_id))
    if tools.record.entries.find_entries(SetUpEntry, visit_id=visit.id):
        text = tools.write_visit_file(tools.record, visit.id)
        tools.write_file(folder / VISIT_NAME, [text.encode()])
        return
    kept = [file for file in files if file.kind is FileKind.VISIT_FILE]
    if not kept:
        raise RecordError("Nothing says how the clips of this visit were filmed: begin the visit anew.")
    newest = max(kept, key=lambda file: file.recorded_at)
    tools.write_file(folder / VISIT_NAME, tools.record.vault.read_range(newest.file_id))


def keep_screening(tools: WorkTools, visit: VisitEntry, parcel: VisitParcel, job: Job) -> None:
    """Keep the files of a screening, then all its entries at once; raises `RecordError` for clips of another visit."""
    known = {file.digest for file in tools.record.entries.find_entries(FileEntry, visit_id=visit.id)}
    if not set(parcel.report.clip_digests.values()) <= known:
        raise RecordError("The clips changed while they were screened: try once more.")
    wanted = [file for file in parcel.files if file.kind not in PLAIN_KINDS]
    stamp = Stamp(at=tools.now(), by=job.made_by)
    with store_files(tools.record, wanted, visit.athlete_id) as stored:
        entries, _ = build_entries(tools.record, visit, parcel.report, stored, stamp, job.id)
        tools.record.entries.add_entries(entries)


def make_kept_proxy(tools: WorkTools, job: Job, report: Progress) -> None:
    """Make the proxy of a clip in the vault, with the table of its picture times, and keep both."""
    if tools.record.entries.find_entries(ProxyEntry, clip_file_entry_id=job.subject_id):
        return
    visit, clip = _get_visit(tools, job), _get_clip(tools, job)
    check_consent(tools.record, visit.athlete_id, Purpose.CARE)
    with tools.open_folder() as folder:
        source = folder / clip.name
        tools.write_file(source, tools.record.vault.read_range(clip.file_id))
        made = {folder / "proxy.mp4": FileKind.PROXY, folder / "picture-times.json": FileKind.PICTURE_TIMES}
        proxy, times = made
        tools.make_proxy(source, proxy, times, report)
        wanted = [ParcelFile(path=path, kind=kind, view=ABSENT) for path, kind in made.items()]
        with store_files(tools.record, wanted, visit.athlete_id) as stored:
            _keep_proxy(tools, clip, stored, job)


def check_kept_clip(tools: WorkTools, job: Job, report: Progress) -> None:
    """Look quickly whether a clip in the vault will do, and keep what was found."""
    visit, clip = _get_visit(tools, job), _get_clip(tools, job)
    known = [
        item
        for item in tools.record.entries.find_entries(FilmedClipEntry, visit_id=visit.id)
        if item.file_entry_id == clip.id
    ]
    with tools.open_folder() as folder:
        path = folder / clip.name
        tools.write_file(path, tools.record.vault.read_range(clip.file_id))
        wish = CheckWish(
            path=path,
            view=known[-1].view if known else _find_view(tools, clip),
            hand=get_athlete(tools.record, visit.athlete_id).hand,
            rate_hz=known[-1].rate_hz if known else ABSENT,
        )
        lines = tools.check_clip(wish, report)
    entry = ClipCheckEntry(
        id=tools.record.make_id(),
        athlete_id=visit.athlete_id,
        visit_id=visit.id,
        file_entry_id=clip.id,
        lines=json.dumps([asdict(line) for line in lines], ensure_ascii=False),
        recorded_at=tools.now(),
        recorded_by=job.made_by,
    )
    tools.record.entries.add_entries([entry])


def _keep_proxy(tools: WorkTools, clip: FileEntry, made: Sequence[Stored], job: Job) -> None:
    stamp = Stamp(at=tools.now(), by=job.made_by)
    files = [
        FileEntry(
            id=tools.record.make_id(),
            athlete_id=clip.athlete_id,
            visit_id=clip.visit_id,
            kind=file.kind,
            name=f"{Path(clip.name).stem} {file.path.name}",
            **vars(item),
            recorded_at=stamp.at,
            recorded_by=stamp.by,
        )
        for file, item in made
    ]
    proxy = ProxyEntry(
        id=tools.record.make_id(),
        athlete_id=clip.athlete_id,
        visit_id=clip.visit_id,
        clip_file_entry_id=clip.id,
        proxy_file_entry_id=files[0].id,
        times_file_entry_id=files[1].id,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    act = note_act(tools.record, stamp, Act.ADDED, clip.athlete_id, f"visit {clip.visit_id}, proxy of {clip.id}")
    tools.record.entries.add_entries([*files, proxy, act])


def _get_visit(tools: WorkTools, job: Job) -> VisitEntry:
    visits = tools.record.entries.find_entries(VisitEntry, id=job.visit_id)
    if not visits:
        raise RecordError("The visit is no longer in the record: there is nothing to do.")
    return visits[0]


def _get_clip(tools: WorkTools, job: Job) -> FileEntry:
    files = tools.record.entries.find_entries(FileEntry, id=job.subject_id)
    if not files:
        raise RecordError("The clip is no longer in the record: there is nothing to do.")
    return files[0]


def _find_view(tools: WorkTools, clip: FileEntry) -> View:
    clips = tools.record.entries.find_entries(ClipEntry, file_entry_id=clip.id)
    found: View | Absent = clips[0].view if clips else ABSENT
    return View.OBLIQUE if isinstance(found, Absent) else found
