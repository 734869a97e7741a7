"""What the use cases need of a queue of jobs."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Protocol

from elbowroom.core.quantities.types import Absent
from elbowroom.service.job_types import Job, JobEnd, JobKind, JobProgress, JobState


class JobQueue(Protocol):
    """Keeps jobs, also across kills, and hands each to one worker at a time, whatever process asks."""

    def add_job(self, job: Job) -> Job:
        """Add a waiting job, or return the one of its kind and input that is waiting, running or done.

        Raises `RecordError` where it cannot be kept.
        """
        ...

    def take_job(
        self, worker: str, at: datetime, dead: Mapping[str, int], kinds: tuple[JobKind, ...] = tuple(JobKind)
    ) -> Job | Absent:
        """Give the oldest waiting job of some kinds to a worker, or a running one whose beat is still that in `dead`.

        A job goes to one worker, whatever processes ask at once.
        """
        ...

    def report_progress(self, job_id: str, worker: str, progress: JobProgress) -> bool:
        """Note how far a worker is; false where the job is no longer that worker's, who has to stop then."""
        ...

    def finish_job(self, job_id: str, worker: str, end: JobEnd) -> bool:
        """Bring a running job of a worker to an end, or any unfinished job where no worker is named.

        Returns whether there was such a job.
        """
        ...

    def list_jobs(self, states: tuple[JobState, ...] = (), visit_id: str = "", count: int = 200) -> tuple[Job, ...]:
        """Jobs in some states or in any, of a visit or of all, the newest first."""
        ...
