"""The review in a real browser: clips in step, an instant and a joint put right, a throw dropped and put back.

Sides: the number burnt into each picture against the number that the page says; a known joint's pixel against the
canvas on the screen; the page's findings against the record; axe-core; the window's width at desk and tablet size.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from elbowroom.core.landmarks.names import Joint
from elbowroom.service.record_types import CorrectionEntry, ScreeningEntry
from elbowroom.service.review_views import view_review
from elbowroom.service.reviewing import ReviewTools
from elbowroom.web.app import build_app
from tests.makers.browsing import (
    TABLET,
    find_violations,
    log_in,
    measure_overflow_px,
    open_page,
    serve_app,
    start_browser,
)
from tests.makers.kept_review import keep_invented
from tests.makers.web import make_clinic

PATIENCE_MS = 60_000
READ_NUMBER = """(id) => {
  const video = document.getElementById(id), canvas = document.createElement("canvas");
  canvas.width = 320; canvas.height = 180;
  const context = canvas.getContext("2d");
  context.drawImage(video, 0, 0, 320, 180);
  let number = 0;
  for (let bit = 0; bit < 16; bit++) if (context.getImageData(bit * 16 + 8, 8, 1, 1).data[0] > 128) number += 1 << bit;
  return number;
}"""


@dataclass(frozen=True, kw_only=True)
class Review:
    """A review open in a browser."""

    page: Page
    tools: ReviewTools
    visit_id: str
    address: str

    def read_numbers(self) -> tuple[int, int, int, int]:
        """Return what both clips show and what the page says of them."""
        said = [int(self.page.inner_text(f"#picture-{clip}").removeprefix("picture ")) for clip in (0, 1)]
        return (*(self.page.evaluate(READ_NUMBER, f"video-{clip}") for clip in (0, 1)), *said)

    def wait_for_screening(self, version: int) -> None:
        """Wait until the full answer to a correction is kept."""
        expect(self.page.locator(f'#review[data-screening="{version}"]')).to_be_attached(timeout=PATIENCE_MS)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with start_browser() as started:
        yield started


@pytest.fixture
def review(browser: Browser, tmp_path: Path) -> Iterator[Review]:
    clinic = make_clinic()
    tools, visit_id = keep_invented(clinic.record, tmp_path / "visit", has_video=True)
    with serve_app(build_app(replace(clinic.tools, review=tools))) as address:
        page = open_page(browser, address)
        problems: list[str] = []
        page.on("pageerror", lambda error: problems.append(str(error)))
        log_in(page, address)
        page.goto(f"{address}/visits/{visit_id}/review")
        expect(page.locator('#review[data-ready="yes"]')).to_be_attached(timeout=PATIENCE_MS)
        yield Review(page=page, tools=tools, visit_id=visit_id, address=address)
        assert problems == []
        page.context.close()


def wait_for_picture(review: Review, number: int) -> None:
    expect(review.page.locator("#picture-0")).to_have_text(f"picture {number}", timeout=PATIENCE_MS)
    expect(review.page.locator("#picture-1")).to_have_text(f"picture {number}", timeout=PATIENCE_MS)


def test_pictures_step_together_and_are_the_right_ones(review: Review) -> None:
    page = review.page
    page.locator("body").press("3")
    page.wait_for_timeout(1500)
    start = review.read_numbers()
    assert len(set(start)) == 1
    number = start[0]
    for key, by in (
        ("ArrowRight", 1),
        ("ArrowRight", 1),
        ("ArrowLeft", -1),
        ("Shift+ArrowRight", 10),
        ("ArrowLeft", -1),
    ):
        number += by
        page.locator("body").press(key)
        wait_for_picture(review, number)
        assert review.read_numbers() == (number, number, number, number)


def test_the_skeleton_lies_on_the_picture(review: Review) -> None:
    """A known joint's pixel on the canvas is the page's ink, at the place that the box of the video gives it."""
    page = review.page
    page.locator("body").press("5")
    page.wait_for_timeout(1500)
    shown = review.read_numbers()[0]
    throw = view_review(review.tools, review.visit_id).throws[0]
    x, y = throw.members[0].joints_px[shown - throw.members[0].first_picture, Joint.LEFT_HIP]
    found = page.evaluate(
        """([x, y]) => {
          const video = document.getElementById("video-0").getBoundingClientRect();
          const canvas = document.getElementById("overlay-0"), box = canvas.getBoundingClientRect();
          const across = (x + 0.5) / 1280 * video.width + video.left - box.left;
          const down = (y + 0.5) / 720 * video.height + video.top - box.top;
          const ratio = canvas.width / box.width, pixels = canvas.getContext("2d");
          const ink = pixels.getImageData(Math.round(across * ratio), Math.round(down * ratio), 1, 1).data;
          return [...ink, video.width - box.width, video.height - box.height];
        }""",
        [float(x), float(y)],
    )
    assert found[:4] == [255, 255, 255, 255]
    assert abs(found[4]) < 1.5
    assert abs(found[5]) < 1.5


def test_an_instant_is_moved_by_keys_and_the_measures_follow(review: Review) -> None:
    page = review.page
    page.locator("body").press("3")
    for _ in range(3):
        page.locator("body").press("ArrowRight")
    page.locator("body").press("m")
    expect(page.locator("#change")).to_contain_text("foot contact moved", timeout=PATIENCE_MS)
    review.wait_for_screening(2)
    expect(page.locator("#answer-kind")).to_contain_text("Full answer")
    expect(page.locator("#marks")).to_contain_text("foot contact (by hand)")
    expect(page.locator("#change")).to_contain_text("trunk opening at foot contact")
    record = review.tools.record
    assert len(record.entries.find_entries(CorrectionEntry, visit_id=review.visit_id)) == 1
    assert record.entries.find_entries(ScreeningEntry, visit_id=review.visit_id)[-1].corrections_version == 1
    page.locator("body").press("u")
    review.wait_for_screening(3)
    expect(page.locator("#marks")).not_to_contain_text("by hand")


def test_a_joint_is_dragged(review: Review) -> None:
    page = review.page
    page.locator("body").press("3")
    page.wait_for_timeout(1500)
    shown = review.read_numbers()[0]
    member = view_review(review.tools, review.visit_id).throws[0].members[0]
    x, y = member.joints_px[shown - member.first_picture, Joint.RIGHT_ELBOW]
    box = page.locator("#overlay-0").bounding_box()
    assert box
    left, top = (x + 0.5) / 1280 * box["width"] + box["x"], (y + 0.5) / 720 * box["height"] + box["y"]
    page.mouse.move(left, top)
    page.mouse.down()
    page.mouse.move(left, top - 8, steps=4)
    page.mouse.up()
    expect(page.locator("#change")).to_contain_text("right elbow placed", timeout=PATIENCE_MS)
    review.wait_for_screening(2)
    after = view_review(review.tools, review.visit_id).throws[0].members[0]
    assert after.placed == ((shown, int(Joint.RIGHT_ELBOW)),)
    assert after.joints_px[shown - after.first_picture, Joint.RIGHT_ELBOW, 1] < y - 3.0


def test_a_joint_is_moved_by_keys_alone_and_let_go(review: Review) -> None:
    page = review.page
    page.locator("body").press("j")
    page.locator("body").press("j")
    expect(page.locator("#state")).to_contain_text("right shoulder picked")
    page.locator("body").press("Shift+ArrowUp")
    expect(page.locator("#state")).to_contain_text("right shoulder at")
    page.locator("body").press("Escape")
    expect(page.locator("#joint")).to_have_value("")
    assert review.tools.record.entries.find_entries(CorrectionEntry, visit_id=review.visit_id) == ()


def test_a_throw_is_dropped_and_put_back(review: Review) -> None:
    page = review.page
    page.locator("body").press("n")
    expect(page.locator("#state")).to_have_text("Throw 2.", timeout=PATIENCE_MS)
    page.locator("body").press("d")
    review.wait_for_screening(2)
    expect(page.locator("#findings")).to_contain_text("Left out: throw 2")
    expect(page.locator("#findings")).to_contain_text("The typical throw of 2")
    page.get_by_role("button", name="Put throw 2 back").click()
    review.wait_for_screening(3)
    expect(page.locator("#findings")).to_contain_text("The typical throw of 3")


def test_arrow_keys_belong_to_the_control_that_has_the_focus(review: Review) -> None:
    page = review.page
    before = page.inner_text("#picture-0")
    page.locator("#speed").focus()
    page.keyboard.press("ArrowRight")
    page.locator("#reason").fill("d")
    page.wait_for_timeout(300)
    assert page.inner_text("#picture-0") == before
    assert review.tools.record.entries.find_entries(CorrectionEntry, visit_id=review.visit_id) == ()


def test_no_violation_and_no_overflow(review: Review, browser: Browser) -> None:
    page = review.page
    page.locator("body").press("h")
    expect(page.locator("#keys")).to_be_visible()
    assert find_violations(page) == []
    assert measure_overflow_px(page) <= 0
    page.set_viewport_size({"width": TABLET[0], "height": TABLET[1]})
    page.wait_for_timeout(300)
    assert measure_overflow_px(page) <= 0
    assert find_violations(page) == []


def test_a_reader_sees_but_does_not_correct(review: Review, browser: Browser) -> None:
    page = open_page(browser, review.address)
    log_in(page, review.address, "Kit")
    page.goto(f"{review.address}/visits/{review.visit_id}/review")
    expect(page.locator('#review[data-ready="yes"]')).to_be_attached(timeout=PATIENCE_MS)
    expect(page.get_by_role("button", name="Drop this throw")).to_have_count(0)
    page.locator("body").press("d")
    expect(page.locator("#trouble")).to_contain_text("Only a clinician corrects")
    page.context.close()
