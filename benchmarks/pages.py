"""Times of the clinic's pages: what the server takes for each, and when a browser first paints it.

A record of many invented athletes with visits over five years; one of them has real kept reports at every visit, since
the page of an athlete reads them.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

import numpy as np
from fastapi.testclient import TestClient
from playwright.sync_api import Browser, Page

from benchmarks.machine import describe_machine, render_machine, render_table
from benchmarks.record_lists import make_story
from elbowroom import bootstrap, bootstrap_pages
from elbowroom.core.findings.report import MadeWith
from elbowroom.service.athletes import AthleteFacts, add_athlete, add_consent, add_guardian
from elbowroom.service.demo_people import DemoAthlete, draw_people
from elbowroom.service.demo_visits import draw_report, draw_traits
from elbowroom.service.keeping import keep_visit
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import Purpose
from elbowroom.settings import RecordSettings
from tests.makers.browsing import DESK, log_in, open_page, serve_app, start_browser
from tests.makers.record import PASSPHRASE, STAMP
from tests.makers.web import Clinic, make_clinic

REPEATS = 7
MEASURE = "elbow_to_shoulder_line_at_foot_contact"


def main() -> None:
    """Fill a record, then time the pages."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--athletes", type=int, default=500)
    parser.add_argument("--visits", type=int, default=20, help="visits of each athlete, over five years")
    parser.add_argument("--measures", type=int, default=40)
    given = parser.parse_args()
    print(render_machine(describe_machine()))
    with tempfile.TemporaryDirectory() as folder:
        settings = RecordSettings(folder=Path(folder) / "record", address="", passphrase_file=None)
        record = bootstrap.begin_record(settings, PASSPHRASE)
        clinic = make_clinic(record)
        for number in range(given.athletes - 1):
            record.entries.add_entries(list(make_story(uuid4().hex, number, given.visits, given.measures)))
        athlete_id = keep_real_athlete(record, given.visits)
        print(f"\n{given.athletes} athletes, {given.visits} visits each, {given.measures} measures a visit.\n")
        print(
            render_table(("page", "server, median ms", "first paint, median ms"), list_page_times(clinic, athlete_id))
        )


def keep_real_athlete(record: RecordTools, visits: int) -> str:
    """Keep an invented athlete whose visits have reports, and return the id."""
    rng = np.random.default_rng(5)
    (person,) = draw_people(1, STAMP.at.date(), rng)
    days = tuple(STAMP.at.date() - timedelta(days=90 * back) for back in reversed(range(visits)))
    person = replace(person, visits=days)
    facts = AthleteFacts(name="A Athlete with reports", born_on=person.born_on, hand=person.hand)
    athlete_id = add_athlete(record, facts, STAMP)
    guardian_id = add_guardian(record, athlete_id, "A. Parent", "mother", STAMP)
    add_consent(record, athlete_id, guardian_id, Purpose.CARE, days[0], STAMP)
    keep_visits(record, athlete_id, person, rng)
    return athlete_id


def keep_visits(record: RecordTools, athlete_id: str, person: DemoAthlete, rng: np.random.Generator) -> None:
    """Keep the visits of an invented athlete."""
    tables = bootstrap_pages.find_judge_tables(record)
    traits = draw_traits(person, tables, rng)
    made_with = (MadeWith(name="tolerances, benchmark", version="0"),)
    for visit in range(len(person.visits)):
        report = draw_report(person, traits, visit, tables, made_with, rng)
        with tempfile.TemporaryDirectory() as folder:
            keep_visit(record, athlete_id, bootstrap_pages.write_invented_visit(report, Path(folder)), STAMP)


def list_page_times(clinic: Clinic, athlete_id: str) -> list[tuple[str, str, str]]:
    """Return each page with the median time of the server and of the first paint."""
    visit_id = clinic.record.days.list_athlete_visits(athlete_id)[0].visit_id
    pages = {
        "day": "/",
        "athletes": "/athletes",
        "athletes whose name holds 07": "/athletes?name=07",
        "last page of athletes": f"/athletes?skipped={max(0, len(clinic.record.lists.list_athletes('', 10**6)) - 50)}",
        "athlete": f"/athletes/{athlete_id}",
        "measure over time": f"/athletes/{athlete_id}/measures/{MEASURE}",
        "findings": f"/visits/{visit_id}",
        "why this number": f"/visits/{visit_id}/why/{MEASURE}",
        "limits": "/settings/limits",
    }
    asked = clinic.log_in()
    with serve_app(clinic.app) as address, start_browser() as browser:
        page = open_first(browser, address)
        return [
            (name, measure_server(asked, path), measure_paint(page, address + path)) for name, path in pages.items()
        ]


def open_first(browser: Browser, address: str) -> Page:
    """Return a page in which somebody is logged in."""
    page = open_page(browser, f"{address}/log-in", DESK)
    log_in(page, address)
    return page


def measure_server(asked: TestClient, path: str) -> str:
    """Return the median time of an answer, milliseconds."""
    times = []
    for _ in range(REPEATS):
        started_s = time.perf_counter()
        assert asked.get(path).status_code == 200
        times.append(1000 * (time.perf_counter() - started_s))
    return f"{sorted(times)[REPEATS // 2]:.0f}"


def measure_paint(page: Page, address: str) -> str:
    """Return the median time from asking to the first paint of content, milliseconds."""
    times = []
    for _ in range(REPEATS):
        page.goto(address, wait_until="load")
        times.append(
            page.evaluate(
                "new Promise(done => new PerformanceObserver(list => done(list.getEntries()[0].startTime))"
                ".observe({type: 'paint', buffered: true}))"
            )
        )
    return f"{sorted(times)[REPEATS // 2]:.0f}"


if __name__ == "__main__":
    main()
