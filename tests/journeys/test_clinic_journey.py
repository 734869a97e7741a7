"""From the day to an athlete, a finding and why, in a real browser; a limit changed with both verdicts kept.

Sides: what a person reads on the pages; axe-core on every page at desk and tablet size; the trail afterwards.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from elbowroom import bootstrap_pages
from elbowroom.service.record_types import Act, TrailEntry
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
from tests.makers.record import STAMP
from tests.makers.web import Clinic, make_clinic

ELBOW = "elbow_to_shoulder_line_at_foot_contact"
SIZES = pytest.mark.parametrize("size", [DESK, TABLET], ids=["desk", "tablet"])


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with start_browser() as started:
        yield started


@pytest.fixture
def club() -> Clinic:
    clinic = make_clinic()
    bootstrap_pages.add_demo_club(clinic.record, STAMP, lambda _done, _count: None, 5)
    return clinic


@pytest.fixture
def address(club: Clinic) -> Iterator[str]:
    with serve_app(club.app) as served:
        yield served


def open_as(browser: Browser, address: str, size: tuple[int, int], name: str = "Rowan") -> tuple[Page, list[str]]:
    page, said = open_page(browser, f"{address}/log-in", size), []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    log_in(page, address, name)
    return page, said


@SIZES
def test_from_the_day_to_why(browser: Browser, address: str, club: Clinic, size: tuple[int, int]) -> None:
    page, said = open_as(browser, address, size)
    waiting = page.get_by_role("region", name="Waits to be looked through")
    name = waiting.get_by_role("link").first.inner_text()
    page.get_by_role("region", name="Here today").get_by_role("link", name=name, exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_have_text(name)
    page.get_by_role("region", name="Measures over time").get_by_role("link", name="Stride offset").click()
    expect(page.get_by_role("heading", name="Did it change?")).to_be_visible()
    page.get_by_role("row").nth(1).get_by_role("link").first.click()
    expect(page.get_by_role("heading", name="In the order of work")).to_be_visible()
    expect(page.get_by_text("not a diagnosis").first).to_be_visible()
    page.get_by_role("link", name="Why").first.click()
    expect(page.get_by_role("heading", name="What makes the interval")).to_be_visible()
    expect(page.get_by_text("Source of the definition")).to_be_visible()
    athlete_id = club.record.lists.list_athletes(name)[0].athlete_id
    looks = club.record.entries.find_entries(TrailEntry, athlete_id=athlete_id, act=Act.LOOKED)
    assert len(looks) == 4
    assert said == []


def test_changed_limit_shows_both_verdicts(browser: Browser, address: str) -> None:
    page, said = open_as(browser, address, DESK)
    page.get_by_role("region", name="Waits to be looked through").get_by_role("link").first.click()
    findings = page.url
    page.goto(f"{findings}/why/{ELBOW}")
    before = page.locator("main .verdict").first.inner_text()
    assert before != "beyond"
    page.goto(f"{address}/settings/limits")
    page.get_by_role("link", name="Change elbow to shoulder line at foot contact").click()
    page.get_by_label("Lower limit").fill("60")
    page.get_by_label("Aim").fill("70")
    page.get_by_label("Why").fill("to see both verdicts")
    page.get_by_role("button", name="Keep as version 1").click()
    expect(page.get_by_text("to see both verdicts").first).to_be_visible()
    page.goto(findings)
    page.get_by_role("button", name="Judge again").click()
    expect(page.get_by_text("2 of 2")).to_be_visible()
    page.goto(f"{findings}/why/{ELBOW}")
    expect(page.locator("main .verdict").first).to_have_text("beyond")
    history = page.get_by_role("region", name="This finding in every version").get_by_role("listitem")
    texts = history.all_inner_texts()
    assert [text.partition(":")[0] for text in texts] == ["Version 2", "Version 1"]
    assert f": {before}" in texts[1]
    page.goto(f"{findings}?version=1")
    expect(page.get_by_text("This is an older version")).to_be_visible()
    assert said == []


def test_keyboard_alone_puts_an_athlete_on_the_list(browser: Browser, address: str) -> None:
    page, _ = open_as(browser, address, DESK, "Sam")
    page.goto(f"{address}/athletes/add")
    page.get_by_label("Name or code").focus()
    page.keyboard.type("Player 12")
    page.keyboard.press("Tab")
    page.keyboard.type("05062014")
    page.get_by_label("Note").focus()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Player 12")
    page.get_by_label("at", exact=True).focus()
    page.keyboard.type("9:15")
    page.keyboard.press("Enter")
    expect(
        page.get_by_role("region", name="Expected").get_by_role("link", name="Player 12", exact=True)
    ).to_be_visible()


@SIZES
def test_no_page_has_a_barrier_or_runs_over(
    browser: Browser, address: str, club: Clinic, size: tuple[int, int]
) -> None:
    page, said = open_as(browser, address, size)
    athlete_id = club.record.lists.list_athletes()[0].athlete_id
    visit_id = club.record.days.list_athlete_visits(athlete_id)[0].visit_id
    addresses = (
        *("/", "/athletes", "/athletes/add", f"/athletes/{athlete_id}", f"/athletes/{athlete_id}/measures/{ELBOW}"),
        *(f"/visits/{visit_id}", f"/visits/{visit_id}/why/{ELBOW}", f"/visits/{visit_id}/papers"),
        *("/settings", "/settings/limits"),
        *("/settings/limits/4", "/settings/judging", "/settings/retention"),
    )
    for one in addresses:
        page.goto(address + one)
        for summary in page.locator("main summary").all():
            summary.click()
        assert find_violations(page) == [], one
        assert measure_overflow_px(page) <= 0, one
    assert said == []
