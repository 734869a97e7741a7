"""Kills the server and the workers of a record at random moments of uploads and jobs, and looks what is left.

A client logs in over HTTP, begins visits, sends clips piece by piece, asks for screenings, and goes on wherever the
server was killed. Server and workers are processes of their own; SIGKILL ends one of them again and again. After each
kill the record has to open, all that the client was told is done has to be there, every screening has to be whole and
no job done twice; at the end every job that was asked for has to be done and no plain file left.

The clips are noise and the landmark stage, the proxy and the check are quick doubles that read the clips and write
results of their size: the real ones take minutes. Queue, vault, uploads, passing folders and pages are the real ones.
"""

from __future__ import annotations

import argparse
import base64
import hashlib
import os
import re
import signal
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from multiprocessing import get_context
from multiprocessing.process import BaseProcess
from pathlib import Path

import httpx
import numpy as np

from benchmarks.machine import describe_machine, render_machine
from elbowroom import bootstrap, bootstrap_jobs, bootstrap_web
from elbowroom.adapters.vault.passing import open_passing_folder, sweep_folders
from elbowroom.core.quantities.types import Absent
from elbowroom.service.backing_up import check_files
from elbowroom.service.doing_jobs import list_handlers
from elbowroom.service.filming_types import ProxyEntry
from elbowroom.service.job_types import JobKind, JobState
from elbowroom.service.people import set_password
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import FileEntry, FindingEntry, ScreeningEntry, ThrowEntry
from elbowroom.service.working import JobWorker, WorkPace
from elbowroom.settings import RecordSettings, read_web_settings
from elbowroom.web.app import build_app
from elbowroom.web.serving import open_door, serve_pages
from tests.makers.filming import make_facts, make_work_tools, split_pieces
from tests.makers.record import PASSPHRASE, PERSON_ID, STAMP, add_child, begin_clinic

PASSWORD = "heron lamp quiet river"
HOST = "127.0.0.1"
WORKERS = 2
PARTS_OF_A_SCREENING, FILES_LOOKED_AT = 2, 8
LONGEST_WAIT_S, SAY_EVERY, LONGEST_END_S = 2.5, 20, 240.0


def main() -> None:
    """Run the kills and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=6)
    parser.add_argument("--address", default="", help="an empty PostgreSQL database, instead of a sealed file")
    parser.add_argument("--pause-s", type=float, default=0.0, help="how long each job lingers before it keeps anything")
    parser.add_argument("--server-share", type=float, default=0.5, help="share of the kills that meet the server")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        print(render_machine(describe_machine()))
        run = KillRun(Path(folder), given.address, np.random.default_rng(given.seed), given.pause_s)
        print(run.run(given.kills, given.server_share))


class KillRun:
    """One record with its server, its workers, its client, and who kills them."""

    def __init__(self, folder: Path, address: str, generator: np.random.Generator, pause_s: float) -> None:
        self.settings = RecordSettings(folder=folder / "record", address=address, passphrase_file=None)
        self.generator, self.pause_s = generator, pause_s
        tools = bootstrap.begin_record(self.settings, PASSPHRASE)
        begin_clinic(tools)
        set_password(tools, bootstrap_web.build_hasher(), PERSON_ID, PASSWORD, STAMP)
        self.athlete_id = add_child(tools)
        # The door stays open in this process: a server that begins again listens at the same port at once.
        self.door = open_door(HOST, 0)
        self.client = Client(f"http://{HOST}:{self.door.getsockname()[1]}", self.athlete_id, folder)
        self.processes: dict[str, BaseProcess] = {}
        self.counts: Counter[str] = Counter()

    def run(self, kills: int, server_share: float) -> str:
        """Kill as often as asked, let all come to its end and say what was found; raises where anything is lost."""
        for name in self.list_names():
            self.begin(name)
        thread = threading.Thread(target=self.client.work, daemon=True)
        thread.start()
        for number in range(kills):
            time.sleep(float(self.generator.uniform(0.05, LONGEST_WAIT_S)))
            name = str(
                self.generator.choice(self.list_names(), p=[server_share, *[(1.0 - server_share) / WORKERS] * WORKERS])
            )
            self.kill(name, bootstrap.open_record(self.settings, PASSPHRASE))
            self.begin(name)
            if (number + 1) % SAY_EVERY == 0:
                print(f"{number + 1} kills: {self.describe()}", flush=True)
        self.client.is_ending.set()
        thread.join()
        try:
            return self.finish(kills)
        finally:
            for process in self.processes.values():
                process.kill()
                process.join()

    def finish(self, kills: int) -> str:
        """Wait until no job is left, then look at everything."""
        tools = bootstrap.open_record(self.settings, PASSPHRASE)
        end_s = time.monotonic() + LONGEST_END_S
        while tools.jobs.list_jobs((JobState.WAITING, JobState.RUNNING)) and time.monotonic() < end_s:
            time.sleep(0.5)
        states = Counter(str(job.state) for job in tools.jobs.list_jobs(count=1_000_000))
        assert set(states) <= {"done", "held"}, states
        check_record(tools, self.client, has_all=True)
        done = {job.id for job in tools.jobs.list_jobs((JobState.DONE,), count=1_000_000) if job.kind is JobKind.SCREEN}
        assert {item.id for item in tools.entries.find_entries(ScreeningEntry)} == done
        left = sweep_folders(self.settings.folder)
        assert not list((self.settings.folder / "passing").iterdir())
        attempts = Counter(job.attempt for job in tools.jobs.list_jobs(count=1_000_000))
        return (
            f"{kills} kills ({self.describe()}); jobs {dict(states)}, by number of attempts "
            f"{dict(sorted(attempts.items()))}; {len(done)} screenings whole, each once; {left} plain folders of "
            "workers killed last swept; nothing lost."
        )

    def describe(self) -> str:
        """Say what was killed in the middle of what, and how far the client is."""
        return f"{dict(self.counts)}; {len(self.client.clips)} clips, {len(self.client.asked)} screenings asked for"

    def list_names(self) -> list[str]:
        """Return the names of the processes."""
        return ["server", *(f"worker {number}" for number in range(WORKERS))]

    def begin(self, name: str) -> None:
        """Begin the server or a worker."""
        target = (
            partial(serve, self.settings, self.door) if name == "server" else partial(work, self.settings, self.pause_s)
        )
        self.processes[name] = get_context("fork").Process(target=target, daemon=True)
        self.processes[name].start()

    def kill(self, name: str, tools: RecordTools) -> None:
        """Kill a process in the middle of whatever it does, and look what is left."""
        process = self.processes[name]
        os.kill(process.pid or 0, signal.SIGKILL)
        process.join()
        assert process.exitcode == -signal.SIGKILL, f"{name} ended by itself"
        running = tools.jobs.list_jobs((JobState.RUNNING,))
        kinds = [str(job.kind) for job in running if job.worker.startswith(f"{process.pid}-")]
        doing = self.client.doing if name == "server" else kinds[0] if kinds else "no job"
        self.counts[f"{name.split()[0]}, {doing}"] += 1
        check_record(tools, self.client)


def serve(settings: RecordSettings, door: object) -> None:
    """Serve the pages until killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    record = bootstrap.open_record(settings, PASSPHRASE)
    tools = bootstrap_web.build_web_tools(record, read_web_settings({}), (HOST,), is_sealed=False)
    serve_pages(build_app(tools), door)  # type: ignore[arg-type]


def work(settings: RecordSettings, pause_s: float) -> None:
    """Do jobs until killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    record = bootstrap.open_record(settings, PASSPHRASE)
    sweep_folders(settings.folder)
    tools = replace(make_work_tools(record), open_folder=partial(open_lingering, settings.folder, pause_s))
    pace = WorkPace(now=bootstrap_jobs.read_clock, monotonic=time.monotonic, beat_s=0.1, dead_after_s=1.5)
    worker = JobWorker(record.jobs, list_handlers(tools), f"{os.getpid()}-{time.monotonic_ns()}", pace)
    while True:
        if isinstance(worker.run_next(), Absent):
            time.sleep(0.05)


@contextmanager
def open_lingering(folder: Path, pause_s: float) -> Iterator[Path]:
    """Give a passing folder after a pause, so that a kill meets a job in its middle more often."""
    with open_passing_folder(folder) as passing:
        time.sleep(pause_s)
        yield passing


class Client:
    """Somebody who films all day, and begins again whenever the line is cut."""

    def __init__(self, address: str, athlete_id: str, folder: Path) -> None:
        self.address, self.athlete_id, self.folder = address, athlete_id, folder
        self.generator = np.random.default_rng(7)
        self.is_ending = threading.Event()
        self.clips: dict[str, str] = {}
        self.asked: list[str] = []
        self.doing = "nothing"
        self.http = httpx.Client(base_url=address, timeout=20.0)
        self.token = ""

    def work(self) -> None:
        """Film until told to end; a visit that was begun comes to its end."""
        while not self.is_ending.is_set():
            visit_id = self.begin_visit()
            for view in ("behind", "open side"):
                self.send_clip(visit_id, view)
            self.doing = "asking"
            self.ask("POST", f"/visits/{visit_id}/film/screen", data={})
            self.asked.append(visit_id)

    def begin_visit(self) -> str:
        """Begin a visit over the form and return its id."""
        self.doing = "beginning a visit"
        form = {"height_cm": "150", "kind": "pitch from a mound", "target_m": "14"}
        answer = self.ask("POST", f"/athletes/{self.athlete_id}/film", data=form)
        return answer.headers["location"].split("/")[2]

    def send_clip(self, visit_id: str, view: str) -> None:
        """Send a clip of noise; where a piece was cut off, ask what arrived and go on there."""
        self.doing = "an upload"
        content = self.generator.bytes(int(self.generator.integers(200_000, 9_000_000)))
        facts = make_facts(content)
        said = {"name": "clip.mp4", "size": len(content), "pieces": list(facts.piece_digests), "view": view}
        state = self.ask("POST", f"/visits/{visit_id}/uploads", json=said).json()
        pieces = split_pieces(content)
        while state["received"] < state["pieces"]:
            number = state["received"]
            headers = {"content-digest": digest_piece(pieces[number])}
            state = self.ask(
                "PUT", f"/uploads/{state['id']}/pieces/{number}", content=pieces[number], headers=headers
            ).json()
        self.ask("POST", f"/uploads/{state['id']}/end")
        self.clips[state["id"]] = make_digest(content)

    def ask(self, method: str, address: str, **values: object) -> httpx.Response:
        """Ask until there is an answer; logs in anew after the server was killed."""
        while True:
            try:
                headers = {
                    "sec-fetch-site": "same-origin",
                    "accept": "application/json",
                    "x-elbowroom-token": self.token,
                    **dict(values.get("headers", {})),  # type: ignore[call-overload]
                }
                answer = self.http.request(method, address, **{**values, "headers": headers})  # type: ignore[arg-type]
                if answer.status_code == 200 or "/film" in answer.headers.get("location", ""):
                    return answer
                assert answer.status_code in (303, 401, 403, 409, 500), (answer.status_code, answer.text[:300])
                self.log_in()
            except httpx.TransportError:
                time.sleep(0.05)

    def log_in(self) -> None:
        """Log in and take the token of the page."""
        self.http.cookies.clear()
        headers = {"sec-fetch-site": "same-origin", "accept": "text/html"}
        page = self.http.get("/log-in", headers=headers).text
        form = {"name": "Rowan", "password": PASSWORD, "token": find_token(page)}
        self.http.post("/log-in", data=form, headers=headers)
        self.token = find_token(self.http.get("/athletes", headers=headers).text)


def find_token(page: str) -> str:
    """Return the token of a page; empty where it has none."""
    found = re.search(r'name="token" value="([^"]+)"', page)
    return found.group(1) if found else ""


def digest_piece(piece: bytes) -> str:
    """Return the digest of a piece as its header says it."""

    return f"sha-256=:{base64.b64encode(hashlib.sha256(piece).digest()).decode()}:"


def make_digest(content: bytes) -> str:
    """Return the SHA-256 of a clip."""

    return hashlib.sha256(content).hexdigest()


def check_record(tools: RecordTools, client: Client, *, has_all: bool = False) -> None:
    """Raise `AssertionError` where anything that the client was told is missing, or anything is half or double."""
    clips = dict(client.clips)
    files = {file.id: file for file in tools.entries.find_entries(FileEntry)}
    assert set(clips) <= set(files), "a clip that had arrived is lost"
    assert all(files[name].digest == digest for name, digest in clips.items()), "a clip is not the one that was sent"
    looked_at = list(files.values()) if has_all else sorted(files.values(), key=lambda one: one.recorded_at)
    assert check_files(tools, looked_at if has_all else looked_at[-FILES_LOOKED_AT:]) == ()
    before = {item.id for item in tools.entries.find_entries(ScreeningEntry)}
    counts = [
        Counter(one.screening_id for one in tools.entries.find_entries(kind)) for kind in (ThrowEntry, FindingEntry)
    ]
    # Other workers go on meanwhile: a screening that comes between two questions may have its parts already.
    after = {item.id for item in tools.entries.find_entries(ScreeningEntry)}
    for parts in counts:
        assert before <= set(parts) <= after, "a screening is not whole"
        assert set(parts.values()) <= {PARTS_OF_A_SCREENING}, "a screening is not whole"
    proxies = Counter(proxy.clip_file_entry_id for proxy in tools.entries.find_entries(ProxyEntry))
    assert all(count == 1 for count in proxies.values())
    if has_all:
        assert tools.entries.check_entries() == ()
        assert set(client.clips) <= set(proxies) | {job.subject_id for job in tools.jobs.list_jobs((JobState.HELD,))}


if __name__ == "__main__":
    main()
