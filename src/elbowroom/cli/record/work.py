"""`elbowroom record work`."""

from __future__ import annotations

import os
import sys
import threading
import time
from typing import TYPE_CHECKING

import click

from elbowroom.cli.record.opening import read_passphrase, read_place
from elbowroom.settings import read_settings

if TYPE_CHECKING:
    from elbowroom.service.working import JobWorker

LOOK_EVERY_S = 0.5


@click.command("work", epilog="Example:  elbowroom record work --until-idle")
@click.option("--workers", type=click.IntRange(1, 64), default=1, help="Processes that do jobs side by side.")
@click.option("--until-idle", is_flag=True, help="End when no job waits or runs any more.")
@click.option("--quick", is_flag=True, hidden=True, help="Do quick jobs only.")
@click.option("--child", is_flag=True, hidden=True, help="Take the passphrase from the standard input; end with it.")
def run_workers(workers: int, until_idle: bool, quick: bool, child: bool) -> None:
    """Do the jobs that wait in the record: checks of clips, proxies, screenings.

    `elbowroom open` does this by itself; this command serves a machine that has no pages open. Jobs survive a kill
    or a power cut: whoever works next goes on with them. Ctrl-C puts the present job back.
    """
    from elbowroom import bootstrap, bootstrap_jobs

    if child:
        _work_as_child(sys.stdin.readline().rstrip("\n"), is_quick=quick, until_idle=until_idle)
        return
    settings = read_place()
    passphrase = read_passphrase(settings)
    # A wrong passphrase is told here, once, and not by every child.
    bootstrap.open_record(settings, passphrase)
    pool = bootstrap_jobs.begin_workers(passphrase, workers, os.environ, until_idle=until_idle)
    try:
        pool.run_out()
    finally:
        pool.close()


def _work_as_child(passphrase: str, *, is_quick: bool, until_idle: bool) -> None:
    from elbowroom import bootstrap, bootstrap_jobs
    from elbowroom.core.quantities.types import Absent
    from elbowroom.service.job_types import JobKind, JobState

    settings = read_place()
    record = bootstrap.open_record(settings, passphrase)
    bootstrap_jobs.sweep_left_over(settings)
    tools = bootstrap_jobs.build_work_tools(record, settings.folder, read_settings(os.environ))
    kinds = bootstrap_jobs.QUICK_KINDS if is_quick else tuple(JobKind)
    worker = bootstrap_jobs.build_worker(tools, kinds, bootstrap_jobs.build_pace())
    threading.Thread(target=_end_with_parent, args=(worker,), daemon=True).start()
    while True:
        if not isinstance(worker.run_next(), Absent):
            continue
        if until_idle and not record.jobs.list_jobs((JobState.WAITING, JobState.RUNNING)):
            return
        time.sleep(LOOK_EVERY_S)


def _end_with_parent(worker: JobWorker) -> None:
    """End this process when the pipe from its parent closes; the job that it does goes back to the others."""
    while sys.stdin.read(1):
        pass
    try:
        worker.close()
    finally:
        # The main thread may be deep in a screening: nothing of that is kept, and the plain files are swept later.
        os._exit(0)
