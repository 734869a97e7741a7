"""A real browser and a real server for the pages, on a port of their own.

`hatch_build.py` has to have made the scripts; a test says so where it has not.
"""

from __future__ import annotations

import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from fastapi import FastAPI
from playwright.sync_api import Browser, Page, sync_playwright

from elbowroom.web.serving import LOOPBACK, open_door
from tests.makers.axe import provide_axe
from tests.makers.web import PASSWORD

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
DESK, TABLET = (1280, 900), (820, 1180)
MADE = Path(__file__).resolve().parents[2] / "src" / "elbowroom" / "web" / "static" / "made"
LONGEST_START_S = 20.0


@contextmanager
def start_browser() -> Iterator[Browser]:
    """Start Debian's Chromium; skips with the reason where there is none."""
    program = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if program is None:
        pytest.skip("no Chromium on this machine (on Debian: apt-get install chromium)")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(
            executable_path=program,
            chromium_sandbox=False,
            args=["--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking"],
        )
        yield started
        started.close()


@contextmanager
def serve_app(app: FastAPI) -> Iterator[str]:
    """Serve an application on a free port of loopback and yield its address, without a slash at the end."""
    assert (MADE / "digest.txt").is_file(), "the scripts are not made: python hatch_build.py"
    door = open_door(LOOPBACK, 0)
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False, ws="none"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [door]}, daemon=True)
    thread.start()
    stop_at = time.monotonic() + LONGEST_START_S
    while not server.started and time.monotonic() < stop_at:
        time.sleep(0.02)
    assert server.started
    yield f"http://{LOOPBACK}:{door.getsockname()[1]}"
    server.should_exit = True
    thread.join(LONGEST_START_S)
    door.close()


def open_page(browser: Browser, address: str, size: tuple[int, int] = DESK) -> Page:
    """Open a page in a browser without any cookie; whatever its console says fails the test at `close_page`."""
    page = browser.new_context(viewport={"width": size[0], "height": size[1]}).new_page()
    page.goto(address)
    return page


def log_in(page: Page, address: str, name: str = "Rowan") -> None:
    """Log somebody in and wait for the first page."""
    page.goto(f"{address}/log-in")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Log in").click()
    page.wait_for_url(f"{address}/")


def find_violations(page: Page) -> list[str]:
    """Return what axe-core says against a page as it stands; empty where nothing."""
    page.evaluate(provide_axe())
    found: dict[str, Any] = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    assert len(found["passes"]) > 5
    return [f"{item['id']}: {item['nodes'][0]['html'][:160]}" for item in found["violations"]]


def measure_overflow_px(page: Page) -> int:
    """Return by how many pixels a page is wider than its window."""
    return int(page.evaluate("document.documentElement.scrollWidth - innerWidth"))
