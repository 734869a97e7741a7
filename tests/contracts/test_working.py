"""Workers: what becomes of a job whose work ends well, fails, is cancelled, or dies with its worker.

Sides: jobs in memory against what the handler did; a clock that a test turns for the death of workers; real worker
processes that are killed (`benchmarks/kills_of_jobs.py` does that two hundred times).
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from elbowroom.adapters.vault.passing import open_passing_folder, sweep_folders
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ConflictError, StoppedError, VisitError
from elbowroom.service.job_doubles import MemoryJobs
from elbowroom.service.job_types import Job, JobEnd, JobKind, JobProgress, JobState
from elbowroom.service.landmarking import Progress
from elbowroom.service.working import MOST_ATTEMPTS, DeathWatch, Heartbeat, JobWorker
from tests.makers.jobs import make_job, make_pace
from tests.makers.record import START


def run_one(jobs: MemoryJobs, handler: Callable[[Job, Progress], None], name: str = "w1") -> Job | Absent:
    return JobWorker(jobs, {JobKind.SCREEN: handler}, name, make_pace()).run_next()


def fill(count: int = 1) -> MemoryJobs:
    jobs = MemoryJobs()
    for number in range(1, count + 1):
        jobs.add_job(make_job(number))
    return jobs


def test_job_is_done() -> None:
    jobs, done = fill(), []
    run_one(jobs, lambda job, report: done.append(job.id))
    (job,) = jobs.list_jobs()
    assert (job.state, job.error, job.finished_at, done) == (JobState.DONE, "", START, [job.id])


def test_without_a_job_there_is_nothing_to_do() -> None:
    assert isinstance(run_one(MemoryJobs(), lambda job, report: None), Absent)


def test_worker_leaves_kinds_that_are_not_its_own() -> None:
    jobs = fill()
    jobs.add_job(replace(make_job(2), kind=JobKind.CHECK))
    run_one(jobs, lambda job, report: None)
    assert isinstance(run_one(jobs, lambda job, report: None), Absent)
    assert {job.kind: job.state for job in jobs.list_jobs()} == {"screen a visit": "done", "check a clip": "waiting"}


@pytest.mark.parametrize(
    ("error", "state", "words"),
    [
        (VisitError("Add a clip."), JobState.FAILED, "Add a clip."),
        (ZeroDivisionError("oh"), JobState.FAILED, "elbowroom itself failed at this (ZeroDivisionError: oh)"),
        (MemoryError(), JobState.FAILED, "elbowroom itself failed at this (MemoryError"),
        (ConflictError("Somebody else is writing."), JobState.WAITING, "Somebody else is writing."),
    ],
)
def test_error_becomes_a_sentence_and_the_next_job_goes_on(error: Exception, state: JobState, words: str) -> None:
    jobs = fill(2)

    def fail(job: Job, report: Progress) -> None:
        raise error

    run_one(jobs, fail)
    second, first = jobs.list_jobs()
    assert first.state is state
    assert first.error.startswith(words)
    assert second.state is JobState.WAITING


def test_job_that_kills_its_worker_waits_for_a_person() -> None:
    jobs = fill(2)
    for attempt in range(MOST_ATTEMPTS):
        beat = {job.id: job.beat for job in jobs.list_jobs((JobState.RUNNING,))}
        taken = jobs.take_job(f"dies {attempt}", START, beat)
        assert isinstance(taken, Job)
        assert taken.id == make_job(1).id
    clock = iter([0.0, 0.0, 99.0, 99.0, 99.0])
    worker = JobWorker(jobs, {JobKind.SCREEN: lambda job, report: None}, "w", make_pace(monotonic=lambda: next(clock)))
    worker.run_next()
    worker._watch.find_dead(jobs.list_jobs((JobState.RUNNING,)))
    worker.run_next()
    second, first = jobs.list_jobs()
    assert second.state is JobState.DONE
    assert first.state is JobState.HELD
    assert "stopped without a word 3 times" in first.error


def go_on(report: Progress) -> None:
    end_s = time.monotonic() + 5.0
    while time.monotonic() < end_s:
        report("working", 1, 2)
        time.sleep(0.005)


def test_cancelled_job_stops_its_worker() -> None:
    jobs = fill()
    seen: list[str] = []

    def work(job: Job, report: Progress) -> None:
        jobs.finish_job(job.id, "", JobEnd(at=START, state=JobState.CANCELLED))
        with pytest.raises(StoppedError):
            go_on(report)
        seen.append("stopped")
        raise StoppedError("stopped")

    run_one(jobs, work)
    assert seen == ["stopped"]
    assert [job.state for job in jobs.list_jobs()] == [JobState.CANCELLED]


def test_progress_reaches_the_list_while_the_work_goes_on() -> None:
    jobs = fill()

    def work(job: Job, report: Progress) -> None:
        report("measuring throws", 3, 8)
        end_s = time.monotonic() + 5.0
        while jobs.list_jobs()[0].stage != "measuring throws" and time.monotonic() < end_s:
            time.sleep(0.005)

    run_one(jobs, work)
    (job,) = jobs.list_jobs()
    assert (job.stage, job.done, job.total) == ("measuring throws", 3, 8)


def test_heart_goes_on_beating_while_the_database_is_busy() -> None:
    jobs = fill()
    job = jobs.take_job("w1", START, {})
    assert isinstance(job, Job)
    fails = iter([True, False])

    class Busy(MemoryJobs):
        def report_progress(self, job_id: str, worker: str, progress: JobProgress) -> bool:
            if next(fails, False):
                raise ConflictError("Somebody else is writing.")
            beaten.set()
            return True

    beaten = threading.Event()
    with Heartbeat(Busy(), job, make_pace()) as heart:
        assert beaten.wait(5.0)
        heart.report("still here", 1, 1)


class TurnedClock:
    """Seconds that a test turns."""

    def __init__(self) -> None:
        self.seconds = 0.0

    def __call__(self) -> float:
        return self.seconds


def test_death_is_a_beat_that_stands_still() -> None:
    jobs, clock = fill(), TurnedClock()
    job = jobs.take_job("w1", START, {})
    assert isinstance(job, Job)
    watch = DeathWatch(make_pace(dead_after_s=10.0, monotonic=clock))
    for seconds, does_beat, is_dead in (
        (0, False, False),
        (9, True, False),
        (12, False, False),
        (18, False, False),
        (23, False, True),
    ):
        clock.seconds = float(seconds)
        if does_beat:
            jobs.report_progress(job.id, "w1", JobProgress(at=START, stage="", done=0, total=0))
        assert bool(watch.find_dead(jobs.list_jobs((JobState.RUNNING,)))) is is_dead, seconds


def test_death_does_not_depend_on_the_time_of_day() -> None:
    jobs, clock = fill(), TurnedClock()
    job = jobs.take_job("w1", START.replace(year=2099), {})
    assert isinstance(job, Job)
    watch = DeathWatch(make_pace(dead_after_s=10.0, monotonic=clock))
    assert watch.find_dead((job,)) == {}
    clock.seconds = 11.0
    assert watch.find_dead((job,)) == {job.id: job.beat}


def test_passing_folder_is_gone_at_the_end_also_after_an_error(tmp_path: Path) -> None:
    def work() -> None:
        with open_passing_folder(tmp_path) as folder:
            (folder / "sub").mkdir()
            (folder / "sub" / "clip.mp4").write_bytes(b"plain")
            assert folder.stat().st_mode & 0o777 == 0o700
            raise VisitError("no")

    with pytest.raises(VisitError):
        work()
    assert list((tmp_path / "passing").iterdir()) == []


def test_sweep_removes_what_the_dead_left_and_nothing_else(tmp_path: Path) -> None:
    left = tmp_path / "passing" / "left"
    left.mkdir(parents=True)
    (left / "clip.mp4").write_bytes(b"plain")
    with open_passing_folder(tmp_path) as folder:
        (folder / "clip.mp4").write_bytes(b"plain")
        assert sweep_folders(tmp_path) == 1
        assert (folder / "clip.mp4").read_bytes() == b"plain"
    assert list((tmp_path / "passing").iterdir()) == []
