"""Kills a process that works on a record, again and again, and looks each time at what is left.

The worker keeps visits most of the time, and now and then forgets an athlete, writes a backup or changes the keys. It
notes what it was told is done. After each kill the record has to open, everything noted has to be there, every visit
has to be whole and every file as it was kept; what was cut off has to be done by doing it again.
"""

from __future__ import annotations

import argparse
import os
import signal
import tempfile
import time
from collections import Counter
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from benchmarks.machine import describe_machine, render_machine
from elbowroom import bootstrap
from elbowroom.service.backing_up import back_up_record, check_files
from elbowroom.service.forgetting import forget_athlete, is_cut_off
from elbowroom.service.keeping import keep_visit
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import (
    Act,
    Entry,
    FileEntry,
    FindingEntry,
    ScreeningEntry,
    ThrowEntry,
    TrailEntry,
    VisitEntry,
)
from elbowroom.settings import RecordSettings
from tests.makers.record import CHILD, PASSPHRASE, STAMP, add_child, begin_clinic, make_parcel

ACTS = ("keep", "forget", "back up", "change keys")
SHARES = (0.76, 0.08, 0.08, 0.08)
LONGEST_S = 1.2
FILES_OF_A_VISIT, PARTS_OF_A_SCREENING = 4, 2
SAY_EVERY = 20


def main() -> None:
    """Run the kills and print what was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=5)
    parser.add_argument("--address", default="", help="an empty PostgreSQL database, instead of a sealed file")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        print(render_machine(describe_machine()))
        print(run_kills(Path(folder), given.address, given.kills, np.random.default_rng(given.seed)))


def run_kills(folder: Path, address: str, kills: int, generator: np.random.Generator) -> str:
    """Kill as often as asked and return a sentence about what was found; raises where anything was lost."""
    settings = RecordSettings(folder=folder / "record", address=address, passphrase_file=None)
    begin_clinic(bootstrap.begin_record(settings, PASSPHRASE))
    cut_off: Counter[str] = Counter()
    for number in range(kills):
        seed, wait_s = int(generator.integers(1 << 30)), float(generator.uniform(0.0, LONGEST_S))
        worker = get_context("fork").Process(target=work_on, args=(settings, folder, seed))
        (folder / "act").unlink(missing_ok=True)
        worker.start()
        while not (folder / "act").exists():
            time.sleep(0.002)
        time.sleep(wait_s)
        os.kill(worker.pid or 0, signal.SIGKILL)
        worker.join()
        assert worker.exitcode == -signal.SIGKILL, f"the worker ended by itself at kill {number}"
        cut_off[read_act(folder)] += 1
        check_record(bootstrap.open_record(settings, PASSPHRASE), folder)
        if (number + 1) % SAY_EVERY == 0:
            print(f"{number + 1} kills, during {dict(cut_off)}", flush=True)
    visits = len(bootstrap.open_record(settings, PASSPHRASE).entries.find_entries(VisitEntry))
    return f"{kills} kills, during {dict(cut_off)}; {visits} visits whole at the end, nothing lost."


def work_on(settings: RecordSettings, folder: Path, seed: int) -> None:
    """Work on the record until killed."""
    generator = np.random.default_rng(seed)
    tools = bootstrap.open_record(settings, PASSPHRASE)
    while True:
        act = str(generator.choice(ACTS, p=SHARES))
        (folder / "act").write_text(act, encoding="utf-8")
        athletes = tools.lists.list_athletes()
        if act == "forget" and len(athletes) > 3:
            forget_athlete(tools, athletes[0].athlete_id, STAMP)
        elif act == "back up":
            back_up_record(tools, folder / f"backup-{generator.integers(1 << 40)}", STAMP)
        elif act == "change keys":
            bootstrap.change_keys(settings, PASSPHRASE)
            tools = bootstrap.open_record(settings, PASSPHRASE)
        else:
            keep_one(tools, folder, int(generator.integers(1 << 30)))
        (folder / "act").write_text("between", encoding="utf-8")


def keep_one(tools: RecordTools, folder: Path, number: int) -> None:
    """Keep a visit of a new athlete and note that it is done."""
    athlete_id = add_child(tools, replace(CHILD, name=f"Player {number}"))
    size = 1000 + number % 1_500_000
    kept = keep_visit(tools, athlete_id, make_parcel(folder / "visit", -float(number % 90), size=size), STAMP)
    with (folder / "done").open("a", encoding="utf-8") as file:
        file.write(f"{athlete_id} {kept.visit_id}\n")


def read_act(folder: Path) -> str:
    """Read what the worker was doing."""
    return (folder / "act").read_text(encoding="utf-8") or "between"


def check_record(tools: RecordTools, folder: Path) -> None:
    """Raise `AssertionError` where anything noted is missing, half or changed; do again what was cut off."""
    for athlete_id in list_begun(tools):
        forget_athlete(tools, athlete_id, STAMP)
    visits = {visit.id for visit in tools.entries.find_entries(VisitEntry)}
    forgotten = {entry.athlete_id for entry in tools.entries.find_entries(TrailEntry, act=str(Act.FORGOT))}
    done = (folder / "done").read_text(encoding="utf-8").split() if (folder / "done").exists() else []
    noted = {
        visit_id for athlete_id, visit_id in zip(done[::2], done[1::2], strict=True) if athlete_id not in forgotten
    }
    assert noted <= visits, "a visit that was kept is lost"
    screenings = {item.visit_id: item.id for item in tools.entries.find_entries(ScreeningEntry)}
    assert set(screenings) == visits
    assert count_parts(tools, FileEntry, "visit_id") == dict.fromkeys(visits, FILES_OF_A_VISIT)
    for kind in (ThrowEntry, FindingEntry):
        assert count_parts(tools, kind, "screening_id") == dict.fromkeys(screenings.values(), PARTS_OF_A_SCREENING)
    assert check_files(tools, tools.entries.find_entries(FileEntry)) == ()
    assert tools.entries.check_entries() == ()
    for path in folder.glob("backup-*"):
        assert len(list(tools.shelf.read_lines(path))) > 2
        path.unlink()


def list_begun(tools: RecordTools) -> list[str]:
    """Return the athletes whom the worker began to forget without coming to the end."""
    begun = {entry.athlete_id for entry in tools.entries.find_entries(TrailEntry, act=str(Act.BEGAN_TO_FORGET))}
    return sorted(athlete_id for athlete_id in begun if is_cut_off(tools, athlete_id))


def count_parts(tools: RecordTools, kind: type[Entry], name: str) -> dict[str, int]:
    """Count the entries of a kind by what they belong to."""
    return dict(Counter(getattr(entry, name) for entry in tools.entries.find_entries(kind)))


if __name__ == "__main__":
    main()
