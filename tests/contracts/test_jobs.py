"""One contract for the queue of jobs in memory, in a sealed SQLite file and on a PostgreSQL server.

Sides: the same calls on all three; threads that take at once, each with a connection of its own; what is listed
against what was added; the athlete's jobs after the athlete was forgotten.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from elbowroom.adapters.record.databases import DATABASE_NAME, open_sealed_file, open_server
from elbowroom.adapters.record.jobs import DatabaseJobs
from elbowroom.adapters.record.migrating import apply_migrations
from elbowroom.core.quantities.types import Absent
from elbowroom.service.forgetting import forget_athlete
from elbowroom.service.job_doubles import MemoryJobs
from elbowroom.service.job_ports import JobQueue
from elbowroom.service.job_types import Job, JobEnd, JobProgress, JobState
from tests.makers.jobs import make_job
from tests.makers.record import STAMP, START, add_child, begin_clinic
from tests.makers.record_places import make_database, make_sealed_record, make_server_record

KEY = b"1" * 32
LATER = START + timedelta(hours=1)
Opener = Callable[[], JobQueue]


@pytest.fixture(params=["memory", "sealed file", "server"])
def open_queue(request: pytest.FixtureRequest, tmp_path: Path) -> Opener:
    """Give a way to open one and the same queue again, as another process would."""
    if request.param == "memory":
        queue = MemoryJobs()
        return lambda: queue
    return make_opener(request, tmp_path)


@pytest.fixture(params=["sealed file", "server"])
def open_database_queue(request: pytest.FixtureRequest, tmp_path: Path) -> Opener:
    """Give the same for what several processes can see."""
    return make_opener(request, tmp_path)


def make_opener(request: pytest.FixtureRequest, tmp_path: Path) -> Opener:
    if request.param == "sealed file":
        apply_migrations(open_sealed_file(tmp_path / DATABASE_NAME, [KEY]))
        return lambda: DatabaseJobs(open_sealed_file(tmp_path / DATABASE_NAME, [KEY]))
    address = make_database(request.getfixturevalue("postgres_address"))
    apply_migrations(open_server(address))
    return lambda: DatabaseJobs(open_server(address))


def take(queue: JobQueue, worker: str = "w1", dead: dict[str, int] | None = None) -> Job:
    job = queue.take_job(worker, LATER, dead or {})
    assert isinstance(job, Job)
    return job


def test_job_comes_back_as_added(open_queue: Opener) -> None:
    job = make_job()
    assert open_queue().add_job(job) == job
    assert open_queue().list_jobs() == (job,)


def test_oldest_is_taken_first_and_each_once(open_queue: Opener) -> None:
    for number, minutes in ((1, 9), (2, 3), (3, 6)):
        open_queue().add_job(make_job(number, minutes=minutes))
    assert [take(open_queue()).id[-1] for _ in range(3)] == ["2", "3", "1"]
    assert isinstance(open_queue().take_job("w1", LATER, {}), Absent)


def test_taken_job_says_who_has_it(open_queue: Opener) -> None:
    open_queue().add_job(make_job())
    job = take(open_queue(), "w7")
    assert (job.state, job.worker, job.attempt, job.started_at, job.heartbeat_at) == ("running", "w7", 1, LATER, LATER)
    assert open_queue().list_jobs() == (job,)


def test_same_input_is_one_job_until_it_failed(open_queue: Opener) -> None:
    first = open_queue().add_job(make_job(1, digest="ab"))
    assert open_queue().add_job(make_job(2, digest="ab")) == first
    take(open_queue())
    assert open_queue().add_job(make_job(3, digest="ab")).id == first.id
    open_queue().finish_job(first.id, "w1", JobEnd(at=LATER, state=JobState.FAILED, error="It broke."))
    assert open_queue().add_job(make_job(4, digest="ab")).id == make_job(4).id
    assert [job.state for job in open_queue().list_jobs()] == [JobState.WAITING, JobState.FAILED]


def test_done_job_is_not_done_again(open_queue: Opener) -> None:
    first = open_queue().add_job(make_job(1, digest="ab"))
    take(open_queue())
    assert open_queue().finish_job(first.id, "w1", JobEnd(at=LATER, state=JobState.DONE))
    again = open_queue().add_job(make_job(2, digest="ab"))
    assert (again.id, again.state, again.finished_at) == (first.id, JobState.DONE, LATER)


def test_progress_is_noted_for_who_has_the_job(open_queue: Opener) -> None:
    open_queue().add_job(make_job())
    job = take(open_queue())
    step = JobProgress(at=LATER + timedelta(seconds=3), stage="measuring throws", done=2, total=5)
    assert open_queue().report_progress(job.id, "w1", step)
    assert not open_queue().report_progress(job.id, "w2", replace(step, done=5))
    (now,) = open_queue().list_jobs()
    assert (now.stage, now.done, now.total, now.heartbeat_at) == ("measuring throws", 2, 5, step.at)
    assert now.beat == job.beat + 1


def test_job_of_a_dead_worker_is_taken_again(open_queue: Opener) -> None:
    open_queue().add_job(make_job())
    job = take(open_queue(), "w1")
    assert isinstance(open_queue().take_job("w2", LATER, {job.id: job.beat - 1}), Absent)
    again = take(open_queue(), "w2", {job.id: job.beat})
    assert (again.id, again.worker, again.attempt) == (job.id, "w2", 2)
    assert not open_queue().report_progress(job.id, "w1", JobProgress(at=LATER, stage="late", done=1, total=1))
    assert not open_queue().finish_job(job.id, "w1", JobEnd(at=LATER, state=JobState.DONE))
    assert [one.state for one in open_queue().list_jobs()] == [JobState.RUNNING]


def test_worker_that_beat_meanwhile_keeps_its_job(open_queue: Opener) -> None:
    open_queue().add_job(make_job())
    job = take(open_queue(), "w1")
    open_queue().report_progress(job.id, "w1", JobProgress(at=LATER, stage="alive", done=0, total=1))
    assert isinstance(open_queue().take_job("w2", LATER, {job.id: job.beat}), Absent)


def test_job_is_put_back_and_the_attempt_counts_or_not(open_queue: Opener) -> None:
    open_queue().add_job(make_job())
    for is_counted, attempts in ((False, 1), (True, 1), (True, 2)):
        job = take(open_queue())
        assert job.attempt == attempts
        open_queue().finish_job(job.id, "w1", JobEnd(at=LATER, state=JobState.WAITING, is_counted=is_counted))
    assert take(open_queue()).attempt == 3


@pytest.mark.parametrize("state", [JobState.WAITING, JobState.RUNNING, JobState.HELD, JobState.FAILED])
def test_open_job_is_cancelled_and_its_worker_told(open_queue: Opener, state: JobState) -> None:
    open_queue().add_job(make_job())
    if state is not JobState.WAITING:
        take(open_queue())
    if state in (JobState.HELD, JobState.FAILED):
        open_queue().finish_job(make_job().id, "w1", JobEnd(at=LATER, state=state, error="x"))
    assert open_queue().finish_job(make_job().id, "", JobEnd(at=LATER, state=JobState.CANCELLED))
    assert not open_queue().report_progress(make_job().id, "w1", JobProgress(at=LATER, stage="", done=0, total=0))
    assert isinstance(open_queue().take_job("w2", LATER, {}), Absent)
    assert not open_queue().finish_job(make_job().id, "", JobEnd(at=LATER, state=JobState.CANCELLED))


def test_lists_are_by_state_and_visit_newest_first(open_queue: Opener) -> None:
    for number, visit in ((1, "v1"), (2, "v2"), (3, "v1")):
        open_queue().add_job(make_job(number, visit_id=visit))
    take(open_queue())
    assert [job.id[-1] for job in open_queue().list_jobs()] == ["3", "2", "1"]
    assert [job.id[-1] for job in open_queue().list_jobs(visit_id="v1")] == ["3", "1"]
    assert [job.id[-1] for job in open_queue().list_jobs((JobState.RUNNING,))] == ["1"]
    assert [job.id[-1] for job in open_queue().list_jobs(count=1)] == ["3"]


def test_of_many_takers_each_job_goes_to_one(open_database_queue: Opener) -> None:
    open_queue = open_database_queue
    for number in range(1, 13):
        open_queue().add_job(make_job(number))

    def take_all(worker: int) -> list[str]:
        taken = []
        while isinstance(job := open_queue().take_job(f"w{worker}", LATER, {}), Job):
            taken.append(job.id)
        return taken

    with ThreadPoolExecutor(4) as pool:
        counts = Counter(job_id for part in pool.map(take_all, range(4)) for job_id in part)
    assert sorted(counts.values()) == [1] * 12
    assert all(job.attempt == 1 for job in open_queue().list_jobs())


def test_of_many_takers_of_dead_jobs_each_goes_to_one(open_database_queue: Opener) -> None:
    for number in range(1, 25):
        open_database_queue().add_job(make_job(number))
    dead = {job.id: job.beat for job in (take(open_database_queue()) for _ in range(24))}

    def take_all(worker: int) -> list[str]:
        taken, queue = [], open_database_queue()
        while isinstance(job := queue.take_job(f"w{worker}", LATER, dead), Job):
            taken.append(job.id)
        return taken

    with ThreadPoolExecutor(4) as pool:
        counts = Counter(job_id for part in pool.map(take_all, range(10, 14)) for job_id in part)
    assert sorted(counts.values()) == [1] * 24


def test_of_many_who_ask_for_the_same_one_job_is_made(open_database_queue: Opener) -> None:
    open_queue = open_database_queue
    with ThreadPoolExecutor(4) as pool:
        made = list(pool.map(lambda number: open_queue().add_job(make_job(number, digest="ab")), range(1, 9)))
    assert len({job.id for job in made}) == 1
    assert len(open_queue().list_jobs()) == 1


@pytest.mark.parametrize("place", ["sealed file", "server"])
def test_forgotten_athlete_has_no_jobs(place: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    if place == "server":
        tools = make_server_record(tmp_path, request.getfixturevalue("postgres_address"))
    else:
        tools = make_sealed_record(tmp_path)
    begin_clinic(tools)
    athlete_id = add_child(tools)
    tools.jobs.add_job(replace(make_job(1), athlete_id=athlete_id))
    tools.jobs.add_job(make_job(2))
    forget_athlete(tools, athlete_id, STAMP)
    assert [job.id[-1] for job in tools.jobs.list_jobs()] == ["2"]
