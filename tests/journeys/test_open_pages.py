"""The pages in a real browser: the first start, logging in, the lock, the roles, and every page under axe-core.

Sides: the program itself in a process of its own over a sealed record; the browser's own layout, console and cookies;
axe-core, with a control page that it must refuse.
"""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from elbowroom.service.record_types import Role
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
from tests.makers.record import add_child
from tests.makers.sealed_clinic import begin_sealed_clinic
from tests.makers.web import NAMES, PASSWORD, Clinic, make_clinic

PHRASE = "seven quiet herons at dusk"
SIZES = pytest.mark.parametrize("size", [DESK, TABLET], ids=["desk", "tablet"])


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with start_browser() as started:
        yield started


@pytest.fixture(scope="module")
def clinic() -> Clinic:
    made = make_clinic()
    add_child(made.record)
    return made


@pytest.fixture(scope="module")
def address(clinic: Clinic) -> Iterator[str]:
    with serve_app(clinic.app) as served:
        yield served


def name_places(folder: Path) -> dict[str, str]:
    """Return the environment of a machine without a record yet."""
    passphrase = folder / "passphrase"
    passphrase.write_text(PHRASE, encoding="utf-8")
    places = {"ELBOWROOM_RECORD": str(folder / "record"), "ELBOWROOM_PASSPHRASE_FILE": str(passphrase)}
    return {**os.environ, **places}


@contextmanager
def run_open(places: dict[str, str], *words: str) -> Iterator[str]:
    """Run `elbowroom open` as a person does and yield the address that it prints."""
    program = subprocess.Popen(
        [sys.executable, "-u", "-m", "elbowroom", "open", "--no-browser", *words],
        env=places,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    assert program.stdout is not None
    try:
        line = program.stdout.readline()
        found = re.search(r"https?://\S+", line)
        assert found, line + program.stdout.read()
        yield found.group()
    finally:
        program.send_signal(signal.SIGINT)
        rest = program.communicate(timeout=120)[0]
    assert "Traceback" not in rest
    assert "Stopped" in rest


def test_first_start_leads_to_the_day_and_the_record_opens_again(browser: Browser, tmp_path: Path) -> None:
    with run_open(name_places(tmp_path)) as first:
        page = open_page(browser, first)
        assert find_violations(page) == []
        page.get_by_label("Name of the clinic").fill("River Street")
        page.get_by_label("Passphrase", exact=False).first.fill("seven")
        assert page.locator("#passphrase-advice").inner_text() == "7 more characters at least."
        page.get_by_label("Passphrase", exact=False).first.fill(PHRASE)
        assert "Long enough" in page.locator("#passphrase-advice").inner_text()
        page.get_by_label("Passphrase again").fill(PHRASE)
        page.get_by_label("Your name").fill("Rowan")
        page.locator("#password").fill(PASSWORD)
        page.get_by_label("Your password again").fill(PASSWORD)
        page.get_by_label("Load an invented club").check()
        page.get_by_role("button", name="Begin the record").click(no_wait_after=True)
        page.wait_for_url(first.partition("begin")[0], timeout=300_000)
        page.goto(first.partition("begin")[0] + "athletes")
        assert page.get_by_role("row").count() >= 20
        page.context.close()
    sealed = (tmp_path / "record" / "record.db").read_bytes()
    assert not sealed.startswith(b"SQLite format")
    assert b"River Street" not in sealed
    with run_open(name_places(tmp_path)) as again:
        page = open_page(browser, again)
        assert page.url.endswith("/log-in?then=%2F")
        log_in(page, again.rstrip("/"))
        assert page.get_by_text("Rowan, clinician").is_visible()
        page.context.close()


def test_tablet_of_the_network_logs_in_under_tls(browser: Browser, tmp_path: Path) -> None:
    with run_open(begin_sealed_clinic(tmp_path), "--lan", "--host", "127.0.0.1") as address:
        context = browser.new_context(ignore_https_errors=True, viewport={"width": TABLET[0], "height": TABLET[1]})
        page = context.new_page()
        log_in(page, address.rstrip("/"))
        (cookie,) = [item for item in context.cookies() if item["name"] == "__Host-elbowroom"]
        assert cookie["secure"]
        page.get_by_role("button", name="Log out").click()
        page.get_by_role("heading", name="Log in").wait_for()
        assert [item["name"] for item in context.cookies() if item["name"].startswith("__Host")] == []
        context.close()


PAGES = ("/", "/athletes", "/settings", "/settings/password", "/settings/people", "/settings/trail", "/settings/keys")


@SIZES
def test_axe_finds_nothing_on_any_page(browser: Browser, address: str, size: tuple[int, int]) -> None:
    page = open_page(browser, f"{address}/log-in", size)
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    found = {"/log-in": find_violations(page)}
    log_in(page, address)
    for path in PAGES:
        page.goto(address + path)
        found[path] = find_violations(page)
        assert measure_overflow_px(page) <= 0, path
    page.goto(f"{address}/lock?then=/athletes")
    found["/unlock"] = find_violations(page)
    assert found == {key: [] for key in ("/log-in", *PAGES, "/unlock")}
    assert said == []
    page.context.close()


def test_axe_refuses_a_page_that_is_wrong(browser: Browser, address: str) -> None:
    page = open_page(browser, f"{address}/log-in")
    page.evaluate("document.documentElement.removeAttribute('lang'); document.querySelector('label').remove()")
    found = " ".join(find_violations(page))
    assert "html-has-lang" in found
    assert "label" in found
    page.context.close()


def test_log_in_works_from_the_keyboard(browser: Browser, address: str) -> None:
    page = open_page(browser, f"{address}/athletes")
    for text in ("Rowan", PASSWORD):
        page.keyboard.press("Tab")
        page.keyboard.type(text)
    page.keyboard.press("Enter")
    page.wait_for_url(f"{address}/athletes")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    page.context.close()


def test_screen_that_nobody_touches_locks_and_comes_back(browser: Browser) -> None:
    with serve_app(make_clinic(lock_after_s=2.0).app) as address:
        page = open_page(browser, f"{address}/log-in")
        log_in(page, address)
        page.goto(f"{address}/athletes?name=zo")
        page.wait_for_url(f"{address}/unlock?then=%2Fathletes%3Fname%3Dzo", timeout=20_000)
        assert page.get_by_text("Athletes").count() == 0
        page.get_by_label("Password of Rowan").fill(PASSWORD)
        page.get_by_role("button", name="Unlock").click()
        page.wait_for_url(f"{address}/athletes?name=zo")
        page.context.close()


@pytest.mark.parametrize("role", [Role.ASSISTANT, Role.READER])
def test_role_decides_what_there_is(browser: Browser, address: str, role: Role) -> None:
    page = open_page(browser, f"{address}/log-in")
    log_in(page, address, NAMES[role])
    page.get_by_role("link", name="Settings").click()
    assert page.get_by_role("link", name="People").count() == 0
    page.goto(f"{address}/settings/people")
    assert page.get_by_role("alert").inner_text().endswith("ask a clinician.")
    assert find_violations(page) == []
    page.context.close()


def test_script_of_the_page_sends_the_token_and_follows_the_lock(browser: Browser, address: str) -> None:
    page = open_page(browser, f"{address}/log-in")
    log_in(page, address)
    values = "{name: 'from htmx', scopes: 'read'}"
    page.evaluate(f"() => htmx.ajax('POST', '/settings/keys/add', {{target: '#notice', values: {values}}})")
    page.get_by_text("It is shown only now").wait_for()
    other = page.context.new_page()
    other.goto(f"{address}/lock")
    page.evaluate("() => { htmx.ajax('GET', '/settings', {target: '#notice'}); }")
    page.wait_for_url(f"{address}/unlock?then=%2F")
    page.context.close()


def test_cookie_is_out_of_reach_of_scripts(browser: Browser, address: str) -> None:
    page = open_page(browser, f"{address}/log-in")
    log_in(page, address)
    kept = {item["name"]: item for item in page.context.cookies()}
    assert kept["elbowroom"]["httpOnly"]
    assert kept["elbowroom"]["sameSite"] == "Strict"
    assert page.evaluate("document.cookie") == ""
    page.context.close()


def test_script_inside_a_page_does_not_run(browser: Browser, address: str) -> None:
    page = open_page(browser, f"{address}/log-in")
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.evaluate(
        "() => { const made = document.createElement('script'); made.textContent = 'window.ran = true';"
        " document.body.append(made); }"
    )
    assert page.evaluate("window.ran === undefined")
    assert any("Content Security Policy" in text for text in said)
    page.context.close()
