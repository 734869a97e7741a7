"""Invented jobs."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import timedelta

from elbowroom.service.job_types import Job, JobKind, JobState
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.working import WorkPace
from tests.makers.record import PERSON_ID, START


def make_job(number: int = 1, digest: str = "", visit_id: str = "v1", minutes: float = 0.0) -> Job:
    """Return a waiting job, asked for some minutes after the start."""
    return Job(
        id=f"{number:032x}",
        kind=JobKind.SCREEN,
        athlete_id="a1",
        visit_id=visit_id,
        subject_id="",
        input_digest=digest or f"{number:064x}",
        work_bytes=1000,
        made_at=START + timedelta(minutes=minutes or number),
        made_by=PERSON_ID,
        tool_version="0.1.0",
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


def make_pace(
    dead_after_s: float = 15.0, beat_s: float = 0.01, monotonic: Callable[[], float] = time.monotonic
) -> WorkPace:
    """Return clocks whose time of day stands still."""
    return WorkPace(now=lambda: START, monotonic=monotonic, beat_s=beat_s, dead_after_s=dead_after_s)
