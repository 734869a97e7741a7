"""What the filming page shows: each clip with its check, and what runs with its progress and time left."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from elbowroom.core.quantities.types import Absent
from elbowroom.service.asking_jobs import estimate_left_s
from elbowroom.service.check_types import CheckLine
from elbowroom.service.filming import FilmedClip, FilmedVisit, get_filmed_visit
from elbowroom.service.filming_types import ClipCheckEntry, UploadEntry
from elbowroom.service.job_types import Job, JobKind, JobState
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import FileEntry, ScreeningEntry
from elbowroom.service.uploading import find_upload

MINUTE_S = 60.0


@dataclass(frozen=True, kw_only=True)
class ClipLine:
    """A clip of the visit."""

    clip: FilmedClip
    """The clip."""
    check: tuple[CheckLine, ...]
    """What the quick check found; empty while there is none."""
    is_checking: bool
    """Whether the quick check is still to come."""


@dataclass(frozen=True, kw_only=True)
class JobLine:
    """A job with its share and the time left in words."""

    job: Job
    """The job."""
    percent: int
    """Share of the present stage, 0 to 100."""
    left: str
    """The time left in words; empty where it is not known."""
    subject: str
    """Name of the clip that it is about; empty for the whole visit."""


@dataclass(frozen=True, kw_only=True)
class FilmingBoard:
    """Everything that the page of a filmed visit shows."""

    filmed: FilmedVisit
    """The visit."""
    clips: tuple[ClipLine, ...]
    """Its clips."""
    jobs: tuple[JobLine, ...]
    """What waits, runs, failed or is held, the oldest first."""
    unfinished: tuple[UploadEntry, ...]
    """Uploads of which some has arrived, but not all."""
    screening: ScreeningEntry | Absent
    """The newest screening, or absent while there is none."""

    @property
    def is_busy(self) -> bool:
        """Whether anything waits or runs."""
        return any(line.job.state in (JobState.WAITING, JobState.RUNNING) for line in self.jobs)


def build_filming_board(tools: RecordTools, visit_id: str, now: datetime) -> FilmingBoard:
    """Return what the page of a filmed visit shows; raises `RecordError` where the visit was not begun here."""
    filmed = get_filmed_visit(tools, visit_id)
    jobs = tools.jobs.list_jobs(visit_id=visit_id)
    screenings = tools.entries.find_entries(ScreeningEntry, visit_id=visit_id)
    arrived = {file.id for file in tools.entries.find_entries(FileEntry, visit_id=visit_id)}
    begun = tools.entries.find_entries(UploadEntry, visit_id=visit_id)
    uploads = [upload for upload in begun if find_upload(tools, upload.id).received_count]
    return FilmingBoard(
        filmed=filmed,
        clips=_list_clips(tools, filmed, jobs),
        jobs=_list_jobs(tools, filmed, jobs, now),
        unfinished=tuple(upload for upload in uploads if upload.id not in arrived),
        screening=screenings[-1] if screenings else Absent(reason="The visit is not screened yet."),
    )


def phrase_left(left_s: float) -> str:
    """Return a time left in words."""
    if left_s < MINUTE_S / 2:
        return "less than half a minute left"
    minutes = max(1, round(left_s / MINUTE_S))
    return f"about {minutes} minute{'' if minutes == 1 else 's'} left"


def _list_clips(tools: RecordTools, filmed: FilmedVisit, jobs: Sequence[Job]) -> tuple[ClipLine, ...]:
    checks = sorted(
        tools.entries.find_entries(ClipCheckEntry, visit_id=filmed.visit.id), key=lambda entry: entry.recorded_at
    )
    newest: Mapping[str, ClipCheckEntry] = {check.file_entry_id: check for check in checks}
    awaited = {
        job.subject_id
        for job in jobs
        if job.kind is JobKind.CHECK and job.state in (JobState.WAITING, JobState.RUNNING)
    }
    return tuple(
        ClipLine(
            clip=clip,
            check=_read_lines(newest[clip.file.id]) if clip.file.id in newest else (),
            is_checking=clip.file.id in awaited,
        )
        for clip in filmed.clips
    )


def _read_lines(check: ClipCheckEntry) -> tuple[CheckLine, ...]:
    return tuple(CheckLine(**line) for line in json.loads(check.lines))


def _list_jobs(tools: RecordTools, filmed: FilmedVisit, jobs: Sequence[Job], now: datetime) -> tuple[JobLine, ...]:
    open_jobs = [job for job in jobs if job.state.is_open]
    done = tools.jobs.list_jobs((JobState.DONE,)) if open_jobs else ()
    names = {clip.file.id: clip.file.name for clip in filmed.clips}
    return tuple(
        JobLine(
            job=job,
            percent=round(100 * job.done / job.total) if job.total else 0,
            left="" if isinstance(left_s := estimate_left_s(job, done, now), Absent) else phrase_left(left_s),
            subject=names.get(job.subject_id, ""),
        )
        for job in reversed(open_jobs)
    )
