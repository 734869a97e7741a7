"""Workers: take jobs one after another, show that they are alive, and bring each to an end."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import TracebackType

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ConflictError, ElbowroomError, RecordError, StoppedError
from elbowroom.service.job_ports import JobQueue
from elbowroom.service.job_types import Job, JobEnd, JobKind, JobProgress, JobState
from elbowroom.service.landmarking import Progress

MOST_ATTEMPTS = 3
"""A job that stopped its worker this often waits for a person: a fourth try would stop it again."""

Handler = Callable[[Job, Progress], None]
"""Does a job; what it makes is there whole or not at all, and doing it twice changes nothing."""


@dataclass(frozen=True, kw_only=True)
class WorkPace:
    """The clocks of a worker."""

    now: Callable[[], datetime]
    """Gives the time of day, UTC; it may jump."""
    monotonic: Callable[[], float]
    """Gives seconds that only grow; by them it is judged whether another worker is dead."""
    beat_s: float = 1.0
    """How often a worker shows that it is alive."""
    dead_after_s: float = 15.0
    """A job whose beat stood still for so long has lost its worker."""


class DeathWatch:
    """Notices running jobs whose beat stands still, by a clock that nobody can set."""

    def __init__(self, pace: WorkPace) -> None:
        self._pace = pace
        self._seen: dict[str, tuple[int, float]] = {}

    def find_dead(self, running: Sequence[Job]) -> dict[str, int]:
        """Return the beats of the jobs whose worker is dead, by id; call it again and again."""
        now_s = self._pace.monotonic()
        before, self._seen = self._seen, {}
        for job in running:
            beat, since_s = before.get(job.id, (job.beat, now_s))
            self._seen[job.id] = (job.beat, since_s if beat == job.beat else now_s)
        dead_after_s = self._pace.dead_after_s
        return {name: beat for name, (beat, since_s) in self._seen.items() if now_s - since_s >= dead_after_s}


class Heartbeat:
    """Shows from a thread of its own that a job is alive, and how far it is; knows when the job was taken away."""

    def __init__(self, jobs: JobQueue, job: Job, pace: WorkPace) -> None:
        self._jobs, self._job, self._pace = jobs, job, pace
        self._latest = ("beginning", 0, 0)
        self._ended, self._lost = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def report(self, stage: str, done: int, total: int) -> None:
        """Take in how far the work is; raises `StoppedError` where the job is no longer this worker's."""
        self._latest = (stage, done, total)
        if self._lost.is_set():
            raise StoppedError("The job was cancelled, or another worker has it: nothing of it was kept.")

    def __enter__(self) -> Heartbeat:
        self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, _: TracebackType | None) -> None:
        self._ended.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._lost.is_set():
            self._beat()
            if self._ended.wait(self._pace.beat_s):
                return

    def _beat(self) -> None:
        stage, done, total = self._latest
        progress = JobProgress(at=self._pace.now(), stage=stage, done=done, total=total)
        try:
            is_ours = self._jobs.report_progress(self._job.id, self._job.worker, progress)
        except RecordError:
            # The database is busy or away for a moment: the next beat tries again.
            return
        if not is_ours:
            self._lost.set()


class JobWorker:
    """Does jobs one after another."""

    def __init__(self, jobs: JobQueue, handlers: Mapping[JobKind, Handler], name: str, pace: WorkPace) -> None:
        """`name` is that of no other worker."""
        self._jobs, self._handlers, self._name, self._pace = jobs, dict(handlers), name, pace
        self._watch = DeathWatch(pace)
        self._present: Job | None = None

    def run_next(self) -> Job | Absent:
        """Do the next job to its end and return it as it was taken, or why there is none."""
        dead = self._watch.find_dead(self._jobs.list_jobs((JobState.RUNNING,)))
        job = self._jobs.take_job(self._name, self._pace.now(), dead, tuple(self._handlers))
        if isinstance(job, Absent):
            return job
        self._present = job
        end = self._refuse_job(job) if job.attempt > MOST_ATTEMPTS else self._run_job(job)
        self._present = None
        self._jobs.finish_job(job.id, self._name, end)
        return job

    def close(self) -> None:
        """Put the present job back, so that another worker takes it at once; the attempt does not count."""
        if self._present is not None:
            end = JobEnd(at=self._pace.now(), state=JobState.WAITING, is_counted=False)
            self._jobs.finish_job(self._present.id, self._name, end)

    def _run_job(self, job: Job) -> JobEnd:
        try:
            with Heartbeat(self._jobs, job, self._pace) as heart:
                self._handlers[job.kind](job, heart.report)
        except ConflictError as e:
            return self._build_end(JobState.WAITING, str(e))
        except ElbowroomError as e:
            return self._build_end(JobState.FAILED, str(e))
        except Exception as e:  # noqa: BLE001
            sentence = f"elbowroom itself failed at this ({type(e).__name__}: {e}): report it, and try it once more."
            return self._build_end(JobState.FAILED, sentence)
        return self._build_end(JobState.DONE, "")

    def _refuse_job(self, job: Job) -> JobEnd:
        sentence = (
            f"The work stopped without a word {MOST_ATTEMPTS} times, so it waits for you: look whether a clip is "
            "damaged or the memory too small, then try it once more or cancel it."
        )
        return self._build_end(JobState.HELD, sentence)

    def _build_end(self, state: JobState, error: str) -> JobEnd:
        return JobEnd(at=self._pace.now(), state=state, error=error)
