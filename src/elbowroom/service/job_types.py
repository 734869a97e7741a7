"""Jobs: work that takes longer than a person waits, done by worker processes one after another."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from elbowroom.core.quantities.types import Absent


class JobKind(StrEnum):
    """What is to be done."""

    SCREEN = "screen a visit"
    CHECK = "check a clip"
    PROXY = "make a proxy"


class JobState(StrEnum):
    """How far a job is."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"
    HELD = "held"

    @property
    def is_in_force(self) -> bool:
        """Whether the job keeps its place: a second one of the same kind and input is not wanted."""
        return self in (JobState.WAITING, JobState.RUNNING, JobState.DONE)

    @property
    def is_open(self) -> bool:
        """Whether a person may still end the job."""
        return self not in (JobState.DONE, JobState.CANCELLED)


@dataclass(frozen=True, kw_only=True)
class Job:
    """A job as it stands; unlike an entry of the record it changes."""

    id: str
    """Random name of the job, which says nothing; what it makes may carry the same name."""
    kind: JobKind
    """What is to be done."""
    athlete_id: str
    """The athlete whom it is about; empty for none."""
    visit_id: str
    """The visit that it is about; empty for none."""
    subject_id: str
    """The entry within the visit that it is about, such as that of a clip's file; empty for none."""
    input_digest: str
    """SHA-256 over everything that the result depends on: one job of a kind for one input."""
    work_bytes: int
    """Size of what is to be worked through, by which earlier jobs tell the time left."""
    made_at: datetime
    """When somebody asked for it, UTC."""
    made_by: str
    """Id of the person who asked for it."""
    tool_version: str
    """Version of elbowroom that asked for it."""
    state: JobState
    """How far it is."""
    attempt: int
    """How often a worker began it."""
    worker: str
    """Name of the worker process that has it; empty where none had it yet."""
    beat: int
    """Grows whenever the worker shows that it is alive."""
    started_at: datetime | Absent
    """When the last attempt began, UTC, or absent before the first."""
    heartbeat_at: datetime | Absent
    """When the worker last showed that it is alive, UTC, or absent before the first attempt."""
    finished_at: datetime | Absent
    """When it came to an end, good or bad, UTC, or absent."""
    stage: str
    """What is being done, in words; empty before it begins."""
    done: int
    """How much of the stage is done."""
    total: int
    """How much the stage holds; 0 before it begins."""
    error: str
    """Why it failed or is held and what to do, in one sentence; empty where all is well."""


@dataclass(frozen=True, kw_only=True)
class JobProgress:
    """How far a worker is."""

    at: datetime
    """Now, UTC."""
    stage: str
    """What is being done, in words."""
    done: int
    """How much of the stage is done."""
    total: int
    """How much the stage holds."""


@dataclass(frozen=True, kw_only=True)
class JobEnd:
    """How a job or an attempt ends."""

    at: datetime
    """Now, UTC."""
    state: JobState
    """The state that it comes to; `waiting` puts it back for another attempt."""
    error: str = ""
    """Why, in one sentence; empty where all is well."""
    is_counted: bool = True
    """Whether the attempt counts; one that was broken off on purpose does not."""
