"""Use cases: ask for a job, cancel one, and say how long it will take."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import median

from elbowroom import __version__
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ConflictError
from elbowroom.service.job_types import Job, JobEnd, JobKind, JobState
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import VisitEntry
from elbowroom.service.record_values import Stamp

EARLIER_COUNT = 12
"""How many earlier jobs of the same kind tell the time left."""


@dataclass(frozen=True, kw_only=True)
class JobWish:
    """What somebody wants done."""

    kind: JobKind
    """What is to be done."""
    visit: VisitEntry
    """The visit that it is about."""
    subject_id: str
    """The entry within the visit; empty for none."""
    inputs: tuple[str, ...]
    """Everything that the result depends on, each as a text."""
    work_bytes: int
    """Size of what is to be worked through."""


def add_job(tools: RecordTools, wish: JobWish, stamp: Stamp) -> Job:
    """Ask for a job, or find the one that does the same already."""
    text = "\n".join((wish.visit.id, wish.subject_id, *wish.inputs, __version__))
    job = Job(
        id=tools.make_id(),
        kind=wish.kind,
        athlete_id=wish.visit.athlete_id,
        visit_id=wish.visit.id,
        subject_id=wish.subject_id,
        input_digest=hashlib.sha256(text.encode()).hexdigest(),
        work_bytes=wish.work_bytes,
        made_at=stamp.at,
        made_by=stamp.by,
        tool_version=__version__,
        state=JobState.WAITING,
        attempt=0,
        worker="",
        beat=0,
        started_at=ABSENT,
        heartbeat_at=ABSENT,
        finished_at=ABSENT,
        stage="",
        done=0,
        total=0,
        error="",
    )
    return tools.jobs.add_job(job)


def cancel_job(tools: RecordTools, job_id: str, stamp: Stamp) -> None:
    """Cancel a job that is not done; raises `ConflictError` where it came to an end meanwhile."""
    if not tools.jobs.finish_job(job_id, "", JobEnd(at=stamp.at, state=JobState.CANCELLED)):
        raise ConflictError("This job has come to its end already: look at what it made.")


def estimate_left_s(job: Job, done: Sequence[Job], now: datetime) -> float | Absent:
    """Return about how long a running job will still take, seconds, by the pace of earlier jobs of its kind.

    `done` are jobs that came to a good end. `Absent` for a job that does not run, or while none of its kind is done.
    """
    if isinstance(job.started_at, Absent) or job.state is not JobState.RUNNING:
        return Absent(reason=f"This job is {job.state}.")
    paces = [pace for one in done if one.kind is job.kind and (pace := _find_pace(one)) > 0][:EARLIER_COUNT]
    if not paces:
        return Absent(reason="None of its kind was done yet, so the time left is not known.")
    # The clock may have been set back since the job began.
    spent_s = max(0.0, (now - job.started_at).total_seconds())
    return max(0.0, median(paces) * max(1, job.work_bytes) - spent_s)


def _find_pace(job: Job) -> float:
    """Return seconds a byte of a job that was done, 0 where its times do not tell."""
    if isinstance(job.started_at, Absent) or isinstance(job.finished_at, Absent):
        return 0.0
    return (job.finished_at - job.started_at).total_seconds() / max(1, job.work_bytes)
