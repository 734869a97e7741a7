"""A season in a real browser: counts, a link on a phone, four weeks, a return, a visit against another, a team.

Sides: what the record holds after keys were pressed; axe-core at every width that a page is made for; the width of the
page against that of the window.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from elbowroom.bootstrap_pages import add_demo_club
from elbowroom.service.counting import keep_count, list_counts
from elbowroom.service.record_types import AthleteVersion
from elbowroom.service.retesting import list_screened_visits
from elbowroom.service.returning import find_course
from elbowroom.service.teams import keep_team, set_membership
from elbowroom.service.week_types import PlanOutcome, ThrowingPlan
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
from tests.makers.record import STAMP, START
from tests.makers.throwing import make_count, make_week_tools
from tests.makers.web import Clinic, make_clinic

PHONE = (390, 844)
TODAY = START.date()
PICTURES = os.environ.get("ELBOWROOM_TEST_PICTURES", "")
"""Folder for pictures of the pages, to be looked at; none are taken where it is not set."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with start_browser() as started:
        yield started


@pytest.fixture(scope="module")
def clinic() -> Clinic:
    """A clinic with a part of the invented club in one team."""
    made = make_clinic()
    tools = make_week_tools(made.record)
    team_id = keep_team(tools, "Otters", "us-national-newer", STAMP)
    for athlete_id in add_demo_club(made.record, STAMP, lambda *_: None, 7):
        set_membership(made.record, athlete_id, team_id, STAMP, is_member=True)
    return made


@pytest.fixture(scope="module")
def address(clinic: Clinic) -> Iterator[str]:
    with serve_app(clinic.app) as served:
        yield served


@pytest.fixture(scope="module")
def athlete_id(clinic: Clinic) -> str:
    """An athlete of ten to thirteen years with two visits and some counts."""
    tools = make_week_tools(clinic.record)
    young = [
        entry.athlete_id
        for entry in clinic.record.entries.find_entries(AthleteVersion)
        if 10 <= TODAY.year - entry.born_on.year <= 13 and len(list_screened_visits(tools, entry.athlete_id)) > 1
    ]
    for back in range(1, 40, 5):
        keep_count(clinic.record, young[0], make_count(20 + back, back), STAMP)
    keep_count(clinic.record, young[0], make_count(60, 6, team="Herons"), STAMP)
    return young[0]


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    opened = open_page(browser, f"{address}/log-in")
    log_in(opened, address)
    yield opened
    opened.context.close()


def look_at(page: Page, name: str, sizes: tuple[tuple[int, int], ...] = (DESK, TABLET)) -> None:
    for size in sizes:
        page.set_viewport_size({"width": size[0], "height": size[1]})
        assert find_violations(page) == [], (name, size)
        assert measure_overflow_px(page) <= 0, (name, size)
        if PICTURES:
            page.screenshot(path=Path(PICTURES) / f"weeks-{name}-{size[0]}.png", full_page=True)
    page.set_viewport_size({"width": sizes[0][0], "height": sizes[0][1]})


def test_counts_and_a_link_on_a_phone(
    page: Page, browser: Browser, address: str, clinic: Clinic, athlete_id: str
) -> None:
    page.goto(f"{address}/athletes/{athlete_id}/counts")
    look_at(page, "counts")
    page.get_by_label("Name or code to show").fill("Player 12")
    page.get_by_label("Who gets it").fill("coach of the Otters")
    page.get_by_role("button", name="Make a link").press("Enter")
    link = page.get_by_label("Link for the phone").input_value()
    look_at(page, "link")
    phone = open_page(browser, link, PHONE)
    look_at(phone, "phone", (PHONE,))
    phone.get_by_label("Team").fill("Otters")
    phone.get_by_label("Pitches", exact=True).fill("-1")
    # The browser itself refuses a negative number, so nothing is sent.
    phone.get_by_role("button", name="Send").click()
    before = len(list_counts(clinic.record, athlete_id))
    phone.get_by_label("Pitches", exact=True).fill("33")
    phone.get_by_role("button", name="Send").click()
    phone.get_by_role("status").wait_for()
    assert len(list_counts(clinic.record, athlete_id)) == before + 1
    assert "1 day's rest" in phone.get_by_role("heading", name="When to pitch again").locator("..").inner_text()
    look_at(phone, "phone-kept", (PHONE,))
    phone.context.close()


def test_four_weeks(page: Page, address: str, clinic: Clinic, athlete_id: str) -> None:
    page.goto(f"{address}/athletes/{athlete_id}/plan")
    first, game = TODAY + timedelta(days=1), TODAY + timedelta(days=13)
    page.get_by_label("First day", exact=True).fill(first.isoformat())
    page.get_by_label("Games already fixed").fill(f"{game}, Otters, 45")
    page.get_by_label("Time off").fill(f"{TODAY + timedelta(days=20)}, {TODAY + timedelta(days=23)}, school trip")
    page.get_by_role("button", name="Lay it out").press("Enter")
    page.get_by_role("region", name="Day by day").wait_for()
    (plan,) = clinic.record.entries.find_entries(ThrowingPlan)
    assert plan.outcome is PlanOutcome.LAID_OUT
    text = page.get_by_role("region", name="Day by day").inner_text()
    assert "school trip" in text
    assert "owed after 45 pitches" in text
    look_at(page, "plan")
    page.get_by_label("Games already fixed").fill(f"{first}, Otters, 60\n{first + timedelta(days=1)}, Otters, 60")
    page.get_by_role("button", name="Lay it out").press("Enter")
    page.get_by_text("No plan fits").wait_for()
    look_at(page, "no-fit")


def test_return(page: Page, address: str, clinic: Clinic, athlete_id: str) -> None:
    page.goto(f"{address}/athletes/{athlete_id}/return")
    look_at(page, "return-none")
    page.get_by_label("Who released the athlete, and why").fill("released after six weeks of rest")
    page.get_by_role("button", name="Begin").press("Enter")
    page.get_by_role("heading", name="A work-out was done").wait_for()
    look_at(page, "return")
    page.get_by_role("radio", name="no soreness").press("Space")
    page.locator("form", has_text="How was the arm?").get_by_role("button").press("Enter")
    page.get_by_text("1 time more without soreness").first.wait_for()
    course = find_course(make_week_tools(clinic.record), athlete_id)
    assert course
    assert (course.state.step, course.state.done_count) == (1, 1)


def test_visit_against_visit_and_the_team(page: Page, address: str, athlete_id: str) -> None:
    page.goto(f"{address}/athletes/{athlete_id}/retest")
    assert "MDC95" in page.get_by_role("region", name="Headline measures").inner_text()
    look_at(page, "retest")
    page.goto(f"{address}/teams")
    look_at(page, "teams")
    page.get_by_role("link", name="The team at one look").click()
    assert page.get_by_role("list").filter(has=page.locator("a[href^='/athletes/']")).first.inner_text()
    look_at(page, "cohort")
