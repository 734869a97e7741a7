"""The queue of jobs in a table of the record's database."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import fields
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Engine, and_, insert, or_, select, update

from elbowroom.adapters.record.databases import READS, is_sealed_file, translate_database_errors
from elbowroom.adapters.record.job_models import JOB
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ConflictError
from elbowroom.service.job_types import Job, JobEnd, JobKind, JobProgress, JobState

NONE_WAITS = Absent(reason="No job waits.")
"""Stands for the job that there is not."""


OPEN = [state for state in JobState if state.is_open]


class DatabaseJobs:
    """A `JobQueue` over a database; every change is one transaction and is bound to the state that it saw."""

    def __init__(self, engine: Engine) -> None:
        """`engine` comes from `open_sealed_file` or `open_server`, migrated."""
        self._engine = engine

    def add_job(self, job: Job) -> Job:
        """Add a job, or return the one that has its place."""
        slot = _name_slot(job.kind, job.input_digest)
        values = {item.name: getattr(job, item.name) for item in fields(Job)}
        try:
            with self._writing() as connection:
                connection.execute(insert(JOB).values(**values, slot=slot))
        except ConflictError:
            with self._reading() as connection:
                row = connection.execute(select(JOB).where(JOB.c.slot == slot)).first()
            if row is None:
                raise
            return _build_job(row)
        return job

    def take_job(
        self, worker: str, at: datetime, dead: Mapping[str, int], kinds: tuple[JobKind, ...] = tuple(JobKind)
    ) -> Job | Absent:
        """Give the oldest job that may be taken; of two workers who ask at once each gets another one."""
        is_free = or_(JOB.c.state == JobState.WAITING, and_(JOB.c.state == JobState.RUNNING, JOB.c.id.in_(dead)))
        with self._writing() as connection:
            query = select(JOB).where(is_free, JOB.c.kind.in_(kinds)).order_by(JOB.c.made_at, JOB.c.id)
            rows = connection.execute(query).all()
            free = (row for row in rows if row.state is JobState.WAITING or row.beat == dead.get(row.id))
            taken = (_take_row(connection, row, worker, at) for row in free)
            return next((job for job in taken if job is not None), NONE_WAITS)

    def report_progress(self, job_id: str, worker: str, progress: JobProgress) -> bool:
        """Note how far a worker is."""
        change = (
            update(JOB)
            .where(JOB.c.id == job_id, JOB.c.worker == worker, JOB.c.state == JobState.RUNNING)
            .values(
                beat=JOB.c.beat + 1,
                heartbeat_at=progress.at,
                stage=progress.stage,
                done=progress.done,
                total=progress.total,
            )
        )
        with self._writing() as connection:
            return bool(connection.execute(change).rowcount)

    def finish_job(self, job_id: str, worker: str, end: JobEnd) -> bool:
        """Bring a job to an end; where it no longer counts it gives up its place."""
        place = [JOB.c.worker == worker, JOB.c.state == JobState.RUNNING] if worker else [JOB.c.state.in_(OPEN)]
        values: dict[str, Any] = {"state": end.state, "error": end.error, "beat": JOB.c.beat + 1}
        if end.state is not JobState.WAITING:
            values["finished_at"] = end.at
        if not end.state.is_in_force:
            values["slot"] = job_id
        if not end.is_counted:
            values["attempt"] = JOB.c.attempt - 1
        with self._writing() as connection:
            return bool(connection.execute(update(JOB).where(JOB.c.id == job_id, *place).values(**values)).rowcount)

    def list_jobs(self, states: tuple[JobState, ...] = (), visit_id: str = "", count: int = 200) -> tuple[Job, ...]:
        """Jobs, the newest first."""
        query = select(JOB).order_by(JOB.c.made_at.desc(), JOB.c.id.desc()).limit(count)
        if states:
            query = query.where(JOB.c.state.in_(states))
        if visit_id:
            query = query.where(JOB.c.visit_id == visit_id)
        with self._reading() as connection:
            return tuple(_build_job(row) for row in connection.execute(query))

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        # On a server each statement sees what others have committed meanwhile, so that a change which is bound to
        # the state that was seen finds no row where somebody else was faster.
        options = {} if is_sealed_file(self._engine) else {"isolation_level": "READ COMMITTED"}
        with (
            translate_database_errors(),
            self._engine.connect().execution_options(**options) as connection,
            connection.begin(),
        ):
            yield connection

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with translate_database_errors(), self._engine.connect().execution_options(**READS) as connection:
            yield connection


def _take_row(connection: Connection, row: Any, worker: str, at: datetime) -> Job | None:
    """Give the job of a row to a worker; nothing where it changed since it was read."""
    change = (
        update(JOB)
        .where(JOB.c.id == row.id, JOB.c.state == row.state, JOB.c.beat == row.beat)
        .values(
            state=JobState.RUNNING,
            worker=worker,
            attempt=JOB.c.attempt + 1,
            beat=JOB.c.beat + 1,
            started_at=at,
            heartbeat_at=at,
            stage="",
            done=0,
            total=0,
            error="",
        )
    )
    if not connection.execute(change).rowcount:
        return None
    return _build_job(connection.execute(select(JOB).where(JOB.c.id == row.id)).one())


def _name_slot(kind: JobKind, digest: str) -> str:
    return f"{kind}:{digest}"


def _build_job(row: Any) -> Job:
    return Job(**{item.name: row._mapping[item.name] for item in fields(Job)})
