"""The wiring of the jobs: what stands behind workers, and the processes that they are."""

from __future__ import annotations

import os
import time
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from elbowroom import bootstrap
from elbowroom.adapters.landmark_model.model import LandmarkModel
from elbowroom.adapters.processes.pool import WorkerPool
from elbowroom.adapters.vault.passing import open_passing_folder, sweep_folders
from elbowroom.adapters.vault.safe_files import write_safely
from elbowroom.adapters.video.clip_file import read_clip
from elbowroom.adapters.video.proxy import make_proxy
from elbowroom.adapters.visit_files.filmed import render_visit_file
from elbowroom.bootstrap_pages import find_own_limits
from elbowroom.core.chain.workings import Workings
from elbowroom.service.check_types import CheckLine, CheckWish
from elbowroom.service.checking_clips import CheckTools, check_clip
from elbowroom.service.doing_jobs import list_handlers
from elbowroom.service.filming import describe_visit, get_filmed_visit
from elbowroom.service.job_types import JobKind
from elbowroom.service.landmarking import Progress
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_values import VisitParcel
from elbowroom.service.web_tools import FirstTools, WebTools
from elbowroom.service.work_tools import WorkTools
from elbowroom.service.working import JobWorker, WorkPace
from elbowroom.settings import RecordSettings, Settings

REPORT_FOLDER = "report"
QUICK_KINDS = (JobKind.CHECK,)
"""Kinds that a worker of their own does, so that an answer comes while the athlete is still there."""
WORK_WORDS = ("record", "work", "--child")


def build_work_tools(record: RecordTools, folder: Path, settings: Settings) -> WorkTools:
    """Return what workers do their jobs with; `folder` is that of the record's keys and files."""
    detector = LandmarkModel(settings.models_folder, cores=settings.core_count)

    def screen(visit: Path, report: Progress) -> VisitParcel:
        workings: list[Workings] = []
        made = bootstrap.build_screening(settings, lambda line: None, workings.append, find_own_limits(record))(
            visit, report
        )
        bootstrap.write_report(made, visit / REPORT_FOLDER, "cm", may_replace=True)
        bootstrap.write_workings(workings[0], visit / REPORT_FOLDER)
        return bootstrap.read_parcel(visit, visit / REPORT_FOLDER / bootstrap.DATA_NAME)

    def check(wish: CheckWish, report: Progress) -> tuple[CheckLine, ...]:
        return check_clip(CheckTools(open_clip=read_clip, detector=detector), wish, report)

    return WorkTools(
        record=record,
        open_folder=lambda: open_passing_folder(folder),
        write_file=write_safely,
        screen=screen,
        make_proxy=make_proxy,
        check_clip=check,
        write_visit_file=render_filmed_visit,
        now=read_clock,
    )


def render_filmed_visit(record: RecordTools, visit_id: str) -> str:
    """Return the visit file of a visit that is filmed here; raises `RecordError`."""
    return render_visit_file(describe_visit(get_filmed_visit(record, visit_id)))


def build_worker(tools: WorkTools, kinds: tuple[JobKind, ...], pace: WorkPace) -> JobWorker:
    """Return a worker for some kinds of jobs."""
    handlers = {kind: handler for kind, handler in list_handlers(tools).items() if kind in kinds}
    return JobWorker(tools.record.jobs, handlers, f"{os.getpid()}-{uuid4().hex}", pace)


def build_pace() -> WorkPace:
    """Return the clocks of a worker."""
    return WorkPace(now=read_clock, monotonic=time.monotonic)


def read_clock() -> datetime:
    """Return the time, UTC."""
    return datetime.now(UTC)


def sweep_left_over(settings: RecordSettings) -> int:
    """Overwrite and remove what killed workers left in plain; returns how many folders."""
    return sweep_folders(settings.folder)


class WorkerCrew:
    """The workers beside the pages: begun when the record is open, ended with the pages."""

    def __init__(self, count: int, environment: Mapping[str, str]) -> None:
        """`count` workers for every kind of job; none at all for 0."""
        self._count, self._environment = count, environment
        self._pool: WorkerPool | None = None

    def begin(self, passphrase: str) -> None:
        """Begin the workers."""
        self._pool = begin_workers(passphrase, self._count, self._environment, until_idle=False)

    def begin_with(self, first: FirstTools) -> FirstTools:
        """Return the tools of the first start, by which the workers begin as soon as the record is whole."""
        given: list[str] = []

        def begin_record(passphrase: str) -> RecordTools:
            given.append(passphrase)
            return first.begin_record(passphrase)

        def build_tools(record: RecordTools) -> WebTools:
            self.begin(given[-1])
            return first.build_tools(record)

        return replace(first, begin_record=begin_record, build_tools=build_tools)

    def close(self) -> None:
        """End the workers."""
        if self._pool is not None:
            self._pool.close()


def begin_workers(passphrase: str, count: int, environment: Mapping[str, str], *, until_idle: bool) -> WorkerPool:
    """Begin worker processes: `count` for every kind of job, and one for quick ones unless they end when all is done.

    None at all for a count of 0. They open the record that the environment names.
    """
    common = [*WORK_WORDS, "--until-idle"] if until_idle else [*WORK_WORDS]
    commands = [common] * count + ([] if until_idle or not count else [[*common, "--quick"]])
    return WorkerPool(commands, passphrase, environment)
