"""Worker processes as a person runs them: `elbowroom record work` over a sealed record.

Sides: the program in processes of its own; what the system shows of them (words, environment, children); the record
read by another process. The clips are small and hold no thrower: what they come to is a sentence.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from elbowroom import bootstrap, bootstrap_jobs
from elbowroom.core.cameras.types import View
from elbowroom.service.filming import begin_screening
from elbowroom.service.filming_types import ClipCheckEntry, ProxyEntry
from elbowroom.service.job_types import JobKind, JobState
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import ScreeningEntry
from elbowroom.settings import RecordSettings
from tests.makers.clips import Recipe, make_clip
from tests.makers.filming import begin_filmed, make_facts, send_clip
from tests.makers.record import PASSPHRASE, STAMP, add_child, begin_clinic

LONGEST_S = 240.0


@pytest.fixture
def tools(tmp_path: Path) -> RecordTools:
    settings = RecordSettings(folder=tmp_path / "record", address="", passphrase_file=None)
    made = bootstrap.begin_record(settings, PASSPHRASE)
    begin_clinic(made)
    return made


@pytest.fixture
def environment(tmp_path: Path) -> dict[str, str]:
    return {**os.environ, "ELBOWROOM_RECORD": str(tmp_path / "record")}


def run_work(
    environment: dict[str, str], folder: Path, passphrase: str, *words: str
) -> subprocess.CompletedProcess[str]:
    (folder / "passphrase").write_text(passphrase, encoding="utf-8")
    places = {**environment, "ELBOWROOM_PASSPHRASE_FILE": str(folder / "passphrase")}
    command = [sys.executable, "-m", "elbowroom", "record", "work", *words]
    return subprocess.run(command, env=places, capture_output=True, text=True, timeout=LONGEST_S, check=False)


def test_wrong_passphrase_is_told_once(tools: RecordTools, environment: dict[str, str], tmp_path: Path) -> None:
    done = run_work(environment, tmp_path, "another passphrase", "--workers", "3")
    assert done.returncode == 2
    assert done.stderr == "elbowroom: The passphrase is not the one of this record: type it again.\n"


def test_broken_clip_takes_no_other_with_it(tools: RecordTools, environment: dict[str, str], tmp_path: Path) -> None:
    visit_id = begin_filmed(tools, add_child(tools))
    make_clip(tmp_path / "good.mp4", Recipe(count=60))
    good = (tmp_path / "good.mp4").read_bytes()
    first = send_clip(tools, visit_id, good, make_facts(good, "good.mp4", View.FRONT))
    broken = send_clip(tools, visit_id, good[:-3000], make_facts(good[:-3000], "broken.mp4", View.BEHIND))
    begin_screening(tools, visit_id, STAMP)
    assert run_work(environment, tmp_path, PASSPHRASE, "--until-idle").returncode == 0
    jobs = {(job.kind, job.subject_id): job for job in tools.jobs.list_jobs()}
    assert jobs[JobKind.CHECK, first.id].state is JobState.DONE
    assert jobs[JobKind.PROXY, first.id].state is JobState.DONE
    for kind, subject in ((JobKind.CHECK, broken.id), (JobKind.PROXY, broken.id), (JobKind.SCREEN, "")):
        assert (jobs[kind, subject].state, jobs[kind, subject].attempt) == (JobState.FAILED, 1)
        assert jobs[kind, subject].error.startswith("broken.mp4 is cut off; copy the whole file")
    assert [check.file_entry_id for check in tools.entries.find_entries(ClipCheckEntry)] == [first.id]
    assert [proxy.clip_file_entry_id for proxy in tools.entries.find_entries(ProxyEntry)] == [first.id]
    assert tools.entries.find_entries(ScreeningEntry) == ()
    assert list((tmp_path / "record" / "passing").iterdir()) == []


def wait_for(condition: Callable[[], bool]) -> None:
    end_s = time.monotonic() + LONGEST_S
    while not condition():
        assert time.monotonic() < end_s, "it never came"
        time.sleep(0.1)


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="this system shows processes in another way")
def test_killed_worker_is_replaced_and_no_word_of_the_passphrase_shows(
    tools: RecordTools, environment: dict[str, str], tmp_path: Path
) -> None:
    pool = bootstrap_jobs.begin_workers(PASSPHRASE, 1, environment, until_idle=False)
    try:
        wait_for(lambda: len(pool.list_ids()) == 2)
        first = pool.list_ids()
        for one in first:
            shown = Path(f"/proc/{one}/cmdline").read_bytes() + Path(f"/proc/{one}/environ").read_bytes()
            assert PASSPHRASE.encode() not in shown
        os.kill(first[0], signal.SIGKILL)
        wait_for(lambda: len(pool.list_ids()) == 2 and first[0] not in pool.list_ids())
        visit_id = begin_filmed(tools, add_child(tools))
        make_clip(tmp_path / "good.mp4", Recipe(count=60))
        content = (tmp_path / "good.mp4").read_bytes()
        send_clip(tools, visit_id, content, make_facts(content))
        wait_for(lambda: {job.state for job in tools.jobs.list_jobs()} == {JobState.DONE})
    finally:
        pool.close()
    assert pool.list_ids() == ()


PARENT = """
import os, sys, time
from elbowroom import bootstrap_jobs
pool = bootstrap_jobs.begin_workers(sys.argv[1], 1, os.environ, until_idle=False)
while len(pool.list_ids()) < 2:
    time.sleep(0.05)
print(*pool.list_ids(), flush=True)
time.sleep(600)
"""


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="this system shows processes in another way")
def test_workers_end_when_their_server_is_killed(tools: RecordTools, environment: dict[str, str]) -> None:
    parent = subprocess.Popen(
        [sys.executable, "-c", PARENT, PASSPHRASE], env=environment, stdout=subprocess.PIPE, text=True
    )
    assert parent.stdout is not None
    children = parent.stdout.readline().split()
    parent.kill()
    parent.communicate()
    wait_for(lambda: not any(is_running(child) for child in children))


def is_running(child: str) -> bool:
    try:
        return "(zombie)" not in Path(f"/proc/{child}/status").read_text(encoding="utf-8")
    except (FileNotFoundError, ProcessLookupError):
        return False
