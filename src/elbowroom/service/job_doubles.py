"""In-memory double of the Protocol in `job_ports`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime

from elbowroom.core.quantities.types import Absent
from elbowroom.service.job_types import Job, JobEnd, JobKind, JobProgress, JobState

NONE_WAITS = Absent(reason="No job waits.")
"""Stands for the job that there is not."""


class MemoryJobs:
    """A `JobQueue` in memory."""

    def __init__(self) -> None:
        self._jobs: dict[str, Job] = {}

    def add_job(self, job: Job) -> Job:
        """Add a job, or return the one of the same kind and input."""
        for known in self._jobs.values():
            if (known.kind, known.input_digest) == (job.kind, job.input_digest) and known.state.is_in_force:
                return known
        self._jobs[job.id] = job
        return job

    def take_job(
        self, worker: str, at: datetime, dead: Mapping[str, int], kinds: tuple[JobKind, ...] = tuple(JobKind)
    ) -> Job | Absent:
        """Give the oldest job that may be taken."""
        free = [
            job
            for job in self._jobs.values()
            if job.kind in kinds
            and (job.state is JobState.WAITING or (job.state is JobState.RUNNING and dead.get(job.id) == job.beat))
        ]
        if not free:
            return NONE_WAITS
        job = min(free, key=lambda one: (one.made_at, one.id))
        self._jobs[job.id] = replace(
            job,
            state=JobState.RUNNING,
            worker=worker,
            attempt=job.attempt + 1,
            beat=job.beat + 1,
            started_at=at,
            heartbeat_at=at,
            stage="",
            done=0,
            total=0,
            error="",
        )
        return self._jobs[job.id]

    def report_progress(self, job_id: str, worker: str, progress: JobProgress) -> bool:
        """Note how far a worker is."""
        job = self._jobs.get(job_id)
        if job is None or job.state is not JobState.RUNNING or job.worker != worker:
            return False
        self._jobs[job_id] = replace(
            job,
            beat=job.beat + 1,
            heartbeat_at=progress.at,
            stage=progress.stage,
            done=progress.done,
            total=progress.total,
        )
        return True

    def finish_job(self, job_id: str, worker: str, end: JobEnd) -> bool:
        """Bring a job to an end."""
        job = self._jobs.get(job_id)
        if job is None or not (job.state is JobState.RUNNING if worker else job.state.is_open):
            return False
        if worker and job.worker != worker:
            return False
        finished = job.finished_at if end.state is JobState.WAITING else end.at
        attempt = job.attempt if end.is_counted else job.attempt - 1
        self._jobs[job_id] = replace(
            job, state=end.state, error=end.error, finished_at=finished, attempt=attempt, beat=job.beat + 1
        )
        return True

    def list_jobs(self, states: tuple[JobState, ...] = (), visit_id: str = "", count: int = 200) -> tuple[Job, ...]:
        """Jobs, the newest first."""
        found = [
            job
            for job in self._jobs.values()
            if (not states or job.state in states) and (not visit_id or job.visit_id == visit_id)
        ]
        return tuple(sorted(found, key=lambda job: (job.made_at, job.id), reverse=True)[:count])
