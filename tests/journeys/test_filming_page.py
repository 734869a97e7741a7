"""The filming page in a real browser: a clip chosen, paused, sent on, checked and screened; axe-core on every state.

Sides: the browser's own file picker, progress and console against what the record then holds; axe-core; the layout at
the sizes of a desk and a tablet. The landmark stage is a quick double here; `docs/record.md` says what the real one
does.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser

from elbowroom.service.doing_jobs import list_handlers
from elbowroom.service.job_types import Job
from elbowroom.service.record_types import FileEntry, FileKind
from elbowroom.service.working import JobWorker
from tests.makers.browsing import (
    DESK,
    TABLET,
    find_violations,
    log_in,
    measure_overflow_px,
    open_page,
    serve_app,
    start_browser,
)
from tests.makers.filming import begin_filmed, make_work_tools
from tests.makers.jobs import make_pace
from tests.makers.record import add_child
from tests.makers.web import Clinic, make_clinic

LONGEST_MS = 90_000
SIZE = 9_300_000


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with start_browser() as started:
        yield started


@pytest.fixture
def clinic() -> Clinic:
    return make_clinic()


def make_file(folder: Path, name: str, size: int = SIZE) -> Path:
    (folder / name).write_bytes(np.random.default_rng(size).bytes(size))
    return folder / name


def do_all_jobs(clinic: Clinic) -> None:
    worker = JobWorker(clinic.record.jobs, list_handlers(make_work_tools(clinic.record)), "w1", make_pace())
    while isinstance(worker.run_next(), Job):
        pass


def test_clip_is_sent_paused_checked_and_screened(browser: Browser, clinic: Clinic, tmp_path: Path) -> None:
    visit_id = begin_filmed(clinic.record, add_child(clinic.record))
    first, second = make_file(tmp_path, "IMG_0001.MOV"), make_file(tmp_path, "IMG_0002.MOV", 2_000_000)
    with serve_app(clinic.app) as address:
        page = open_page(browser, f"{address}/log-in")
        page.set_default_timeout(LONGEST_MS)
        log_in(page, address)
        page.goto(f"{address}/visits/{visit_id}/film")
        page.get_by_label("Where the phone stands").select_option("front")
        page.locator("#file").set_input_files(str(first))
        page.get_by_role("button", name="Pause: IMG_0001.MOV").click()
        page.get_by_text("paused", exact=True).wait_for()
        assert find_violations(page) == []
        assert clinic.record.entries.find_entries(FileEntry) == ()
        page.get_by_role("button", name="Go on: IMG_0001.MOV").click()
        page.get_by_role("heading", name="IMG_0001.MOV").wait_for()
        page.get_by_label("Where the phone stands").select_option("behind")
        page.locator("#file").set_input_files(str(second))
        page.get_by_role("heading", name="IMG_0002.MOV").wait_for()
        page.get_by_role("button", name="Screen the visit").click()
        page.get_by_text("screen a visit").first.wait_for()
        do_all_jobs(clinic)
        page.get_by_text("Screened, version 1").wait_for()
        page.get_by_text("bytes of light").first.wait_for()
        assert find_violations(page) == []
        page.context.close()
    kept = {
        file.name: file.digest for file in clinic.record.entries.find_entries(FileEntry) if file.kind is FileKind.CLIP
    }
    assert kept == {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in (first, second)}


@pytest.mark.parametrize("size", [DESK, TABLET], ids=["desk", "tablet"])
def test_axe_finds_nothing_on_the_empty_pages(browser: Browser, clinic: Clinic, size: tuple[int, int]) -> None:
    athlete_id = add_child(clinic.record)
    visit_id = begin_filmed(clinic.record, athlete_id)
    with serve_app(clinic.app) as address:
        page = open_page(browser, f"{address}/log-in", size)
        log_in(page, address)
        for path in (f"/athletes/{athlete_id}/film", f"/visits/{visit_id}/film"):
            page.goto(address + path)
            assert find_violations(page) == []
            assert measure_overflow_px(page) <= 0
        page.context.close()
