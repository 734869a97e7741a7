"""Times of the lists of a large record: invented athletes with visits over five years."""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from uuid import uuid4

from benchmarks.machine import describe_machine, render_machine, render_table
from elbowroom import bootstrap
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import (
    AthleteEntry,
    AthleteVersion,
    Entry,
    FileEntry,
    FileKind,
    FindingEntry,
    ScreeningEntry,
    VisitEntry,
)
from elbowroom.settings import RecordSettings
from tests.makers.record import ADULT, PASSPHRASE, PERSON_ID, START, begin_clinic

REPEATS = 7


def main() -> None:
    """Fill a record and print the times."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--athletes", type=int, default=500)
    parser.add_argument("--visits", type=int, default=20, help="visits of each athlete, over five years")
    parser.add_argument("--measures", type=int, default=40)
    parser.add_argument("--address", default="", help="an empty PostgreSQL database, instead of a sealed file")
    given = parser.parse_args()
    print(render_machine(describe_machine()))
    with tempfile.TemporaryDirectory() as folder:
        settings = RecordSettings(folder=Path(folder) / "record", address=given.address, passphrase_file=None)
        tools = bootstrap.begin_record(settings, PASSPHRASE)
        begin_clinic(tools)
        started_s = time.perf_counter()
        athlete_ids = [uuid4().hex for _ in range(given.athletes)]
        for number, athlete_id in enumerate(athlete_ids):
            tools.entries.add_entries(list(make_story(athlete_id, number, given.visits, given.measures)))
        filled_s = time.perf_counter() - started_s
        print(f"\n{given.athletes} athletes, {given.visits} visits each, {given.measures} measures a visit; ", end="")
        print(f"filled in {filled_s:.0f} s.\n")
        print(
            render_table(("question", "least, ms", "median, ms"), list_times(tools, athlete_ids[len(athlete_ids) // 2]))
        )


def make_story(athlete_id: str, number: int, visits: int, measures: int) -> Iterator[Entry]:
    """Yield the entries of an athlete whose visits are spread over five years."""
    said = {"recorded_at": START, "recorded_by": PERSON_ID}
    yield AthleteEntry(id=athlete_id, **said)
    facts = replace(ADULT, name=f"Player {number * 7919 % 100_003:06d}")
    yield AthleteVersion(id=uuid4().hex, athlete_id=athlete_id, version=1, **vars(facts), **said)
    for index in range(visits):
        day = date(2021, 3, 1) + timedelta(days=index * 1825 // visits)
        yield from make_visit(athlete_id, day, measures)


def make_visit(athlete_id: str, day: date, measures: int) -> Iterator[Entry]:
    """Yield the entries of one visit; no number in it was measured."""
    said = {"athlete_id": athlete_id, "recorded_at": START, "recorded_by": PERSON_ID}
    visit_id, file_id, screening_id = uuid4().hex, uuid4().hex, uuid4().hex
    yield VisitEntry(id=visit_id, made_on=day, height_m=1.5, kind="pitch", clips_digest=2 * uuid4().hex, **said)
    yield FileEntry(
        id=file_id,
        visit_id=visit_id,
        file_id=f"{athlete_id}/{file_id}",
        kind=FileKind.REPORT,
        name="report.json",
        digest=2 * uuid4().hex,
        size_bytes=1,
        **said,
    )
    yield ScreeningEntry(
        id=screening_id,
        visit_id=visit_id,
        version=1,
        made_on=day,
        report_entry_id=file_id,
        corrections_version=0,
        tool_version="0.1.0",
        tolerances="invented",
        **said,
    )
    for number in range(measures):
        yield FindingEntry(
            id=uuid4().hex,
            athlete_id=athlete_id,
            screening_id=screening_id,
            measure=f"measure_{number}",
            value=float(number),
            standard=2.0,
            unit="deg",
            verdict="within",
            reason="Invented.",
            probability_beyond=ABSENT,
            tolerance_version="1",
        )


def list_times(tools: RecordTools, athlete_id: str) -> list[tuple[str, str, str]]:
    """Return what each list takes: its name, the least and the median of some runs."""
    lists = tools.lists
    questions: dict[str, Callable[[], object]] = {
        "first 50 athletes by name, with visits": lists.list_athletes,
        "athletes whose name holds 07": lambda: lists.list_athletes("07"),
        "50 athletes after 400": lambda: lists.list_athletes("", 50, 400),
        "all athletes": lambda: lists.list_athletes("", 1_000_000),
        "one measure of one athlete over time": lambda: lists.list_values(athlete_id, "measure_3"),
        "athletes due": lambda: lists.list_overdue(date(2020, 1, 1), date(2020, 1, 1)),
        "visits of one athlete": lambda: tools.entries.find_entries(VisitEntry, athlete_id=athlete_id),
    }
    return [(name, *measure_times(ask)) for name, ask in questions.items()]


def measure_times(ask: Callable[[], object]) -> tuple[str, str]:
    """Return the least and the median time of some runs, milliseconds."""
    times = []
    for _ in range(REPEATS):
        started_s = time.perf_counter()
        ask()
        times.append(1000 * (time.perf_counter() - started_s))
    return f"{min(times):.0f}", f"{sorted(times)[REPEATS // 2]:.0f}"


if __name__ == "__main__":
    main()
