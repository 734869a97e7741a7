"""From the first question to drills in a real browser: by keyboard, and readable at a desk and on a tablet.

Sides: what the record holds after keys were pressed; axe-core on every page at both widths; the order in which Tab
goes; the width of the page against that of the window.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from elbowroom.core.plan.warnings import Hold, Released
from elbowroom.service.holds import find_standing
from elbowroom.service.intake_types import ExamEntry, IntakeEntry
from tests.makers.browsing import DESK, TABLET, find_violations, log_in, open_page, serve_app, start_browser
from tests.makers.plans import find_tables, keep_faulty_visit
from tests.makers.record import STAMP, START, add_child
from tests.makers.web import Clinic, make_clinic

TODAY = START.date()
PICTURES = os.environ.get("ELBOWROOM_TEST_PICTURES", "")
"""Folder for pictures of the pages, to be looked at; none are taken where it is not set."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with start_browser() as started:
        yield started


@pytest.fixture(scope="module")
def clinic(tmp_path_factory: pytest.TempPathFactory) -> Clinic:
    made = make_clinic()
    made.athlete_id = add_child(made.record)  # type: ignore[attr-defined]
    keep_faulty_visit(made.record, made.athlete_id, tmp_path_factory.mktemp("visit") / "v", STAMP)  # type: ignore[attr-defined]
    return made


@pytest.fixture(scope="module")
def address(clinic: Clinic) -> Iterator[str]:
    with serve_app(clinic.app) as served:
        yield served


def look_at(page: Page, name: str) -> None:
    """Check a page at both widths, and take its picture where a folder is named."""
    for size in (DESK, TABLET):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        assert find_violations(page) == [], (name, size)
        assert page.evaluate("document.documentElement.scrollWidth") <= size[0], (name, size)
        if PICTURES:
            page.screenshot(path=Path(PICTURES) / f"{name}-{size[0]}.png", full_page=True)
    page.set_viewport_size({"width": DESK[0], "height": DESK[1]})


def test_from_the_first_question_to_drills(browser: Browser, address: str, clinic: Clinic) -> None:
    athlete_id = clinic.athlete_id  # type: ignore[attr-defined]
    here = f"{address}/athletes/{athlete_id}"
    page = open_page(browser, f"{address}/log-in")
    log_in(page, address)
    take_intake(page, here, clinic, athlete_id)
    release_hold(page, here, clinic, athlete_id)
    take_exam(page, here, clinic)
    choose_drills(page, here)


def take_intake(page: Page, here: str, clinic: Clinic, athlete_id: str) -> None:
    page.goto(f"{here}/intake/new")
    for sign in find_tables().signs:
        if sign.question:
            answer = "yes" if sign.key == "heaviness" else "no"
            page.locator(f"#answers-{sign.key}").get_by_label(answer, exact=True).check()
    page.get_by_label("Height, cm without shoes").fill("1520")
    page.get_by_label("Sex").select_option("female")
    page.get_by_label("Sitting height, cm").fill("79")
    page.get_by_label("Mass, kg").fill("43")
    page.get_by_label("Teams of the last twelve months").fill("River Otters")
    page.keyboard.press("Enter")
    page.get_by_role("alert").wait_for()
    assert clinic.record.entries.find_entries(IntakeEntry) == ()
    assert page.get_by_label("Teams of the last twelve months").input_value() == "River Otters"
    look_at(page, "intake-problem")
    page.get_by_role("alert").get_by_role("link").first.press("Enter")
    assert page.evaluate("document.activeElement.id") in ("height_cm", "")
    page.get_by_label("Height, cm without shoes").fill("152")
    page.get_by_role("button", name="Keep the intake").press("Enter")
    page.get_by_role("heading", name="On hold").wait_for()
    assert isinstance(find_standing(clinic.record, athlete_id, TODAY), Hold)
    look_at(page, "standing")


def release_hold(page: Page, here: str, clinic: Clinic, athlete_id: str) -> None:
    page.goto(f"{here}/intake")
    look_at(page, "hold")
    page.get_by_role("checkbox").first.press("Space")
    page.get_by_label("What was examined").fill("Examined today: full motion, the arm is not heavy any more.")
    page.get_by_role("button", name="Release under my name").press("Enter")
    page.get_by_role("heading", name="Released").wait_for()
    assert isinstance(find_standing(clinic.record, athlete_id, TODAY), Released)
    look_at(page, "released")


def take_exam(page: Page, here: str, clinic: Clinic) -> None:
    page.goto(f"{here}/exam/new")
    page.locator("#shoulder_external_rotation-throwing").focus()
    for keys in ("118 120", "104 106", "40 42 41", "62 61 63"):
        page.keyboard.type(keys)
        page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "shoulder_flexion-throwing"
    page.locator("#hip_internal_rotation-throwing").fill("18")
    page.locator("#hip_internal_rotation-glove").fill("44")
    look_at(page, "exam-form")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="From the exam to the throw").wait_for()
    (entry,) = clinic.record.entries.find_entries(ExamEntry)
    assert '"values": [40.0, 42.0, 41.0]' in entry.content
    look_at(page, "exam")


def choose_drills(page: Page, here: str) -> None:
    page.goto(f"{here}/drills")
    page.get_by_label("Stage of the work").select_option("building")
    page.get_by_role("button", name="Show").press("Enter")
    page.get_by_role("heading", name="1. Step and keep the chest").wait_for()
    page.get_by_text("Why not the others").press("Enter")
    page.get_by_text("Nothing that was found asks for it.").first.wait_for()
    look_at(page, "athlete-drills")
    page.get_by_role("button", name="Keep these drills").press("Enter")
    page.get_by_text("Version 1 was kept").wait_for()


@pytest.mark.parametrize(
    "place", ["drills", "drills/chalk_line_stride", "drills/medicine_ball_turn", "settings/drill-rules"]
)
def test_library_and_rules_are_readable(browser: Browser, address: str, place: str) -> None:
    page = open_page(browser, f"{address}/log-in")
    log_in(page, address)
    page.goto(f"{address}/{place}")
    look_at(page, place.replace("/", "-"))
