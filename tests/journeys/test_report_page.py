"""The report in a real browser, offline, on a desk, on a phone and on paper.

Sides: axe-core (with a control page that it must refuse), the browser's own layout and network log, the printed
file read back by pypdf.
"""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright
from pypdf import PdfReader

from elbowroom.adapters.report.html import render_report_html
from elbowroom.adapters.report.words import CAUTIONS
from tests.makers.axe import provide_axe
from tests.makers.reports import make_report

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
DESK, PHONE, NARROWEST = (1280, 900), (390, 844), (320, 640)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
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


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_text(render_report_html(make_report()), encoding="utf-8")
    return path.as_uri()


def _open(browser: Browser, address: str, size: tuple[int, int]) -> Page:
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, offline=True)
    page = context.new_page()
    page.goto(address)
    return page


def _find_violations(page: Page) -> list[str]:
    page.evaluate(provide_axe())
    found: dict[str, Any] = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    assert len(found["passes"]) > 5
    return [f"{item['id']}: {item['nodes'][0]['html'][:160]}" for item in found["violations"]]


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_axe_finds_nothing(browser: Browser, address: str, size: tuple[int, int]) -> None:
    page = _open(browser, address, size)
    assert _find_violations(page) == []
    page.context.close()


def test_axe_refuses_a_page_that_is_wrong(browser: Browser, tmp_path: Path) -> None:
    broken = render_report_html(make_report()).replace(' lang="en"', "").replace('role="img" aria-label', "data-x")
    path = tmp_path / "broken.html"
    path.write_text(broken.replace("--soft:#4c5564", "--soft:#b9bcc2"), encoding="utf-8")
    page = _open(browser, path.as_uri(), DESK)
    found = " ".join(_find_violations(page))
    assert "html-has-lang" in found
    assert "color-contrast" in found
    page.context.close()


def test_the_page_asks_for_nothing(browser: Browser, address: str) -> None:
    context = browser.new_context(offline=True)
    page = context.new_page()
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.goto(address)
    page.wait_for_load_state("load")
    assert [url for url in asked if not url.startswith("data:")] == [address]
    assert said == []
    assert page.evaluate("[...document.images].every(image => image.complete && image.naturalWidth > 0)")
    context.close()


@pytest.mark.parametrize("size", [DESK, PHONE, NARROWEST], ids=["desk", "phone", "320 px"])
def test_nothing_runs_out_of_the_page(browser: Browser, address: str, size: tuple[int, int]) -> None:
    """Reflow, WCAG 2.2, 1.4.10: only the tables scroll sideways, inside their own box."""
    page = _open(browser, address, size)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    outside = page.evaluate(
        "[...document.querySelectorAll('main p, main h2, main h3, main figure, main dl')]"
        ".filter(e => !e.closest('.scroll') && e.getBoundingClientRect().right > innerWidth + 1).length"
    )
    assert outside == 0
    page.context.close()


def test_the_keyboard_reaches_the_findings_first(browser: Browser, address: str) -> None:
    page = _open(browser, address, DESK)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    assert page.evaluate("document.activeElement.getBoundingClientRect().left") >= 0
    page.keyboard.press("Enter")
    page.wait_for_function("Math.abs(document.getElementById('headlines').getBoundingClientRect().top) < 5")
    assert page.url.endswith("#headlines")
    page.context.close()


def test_instants_and_limits_lie_inside_their_drawings(browser: Browser, address: str) -> None:
    page = _open(browser, address, DESK)
    outside = page.evaluate(
        """[...document.querySelectorAll('svg.gauge text, svg.curve text')].filter(text => {
            const box = text.getBBox(), view = text.ownerSVGElement.viewBox.baseVal;
            return box.x < 0 || box.y < -2 || box.x + box.width > view.width || box.y + box.height > view.height + 2;
        }).map(text => text.textContent)"""
    )
    assert outside == []
    page.context.close()


def test_printed_on_paper_it_is_whole(browser: Browser, address: str) -> None:
    page = _open(browser, address, DESK)
    printed = PdfReader(io.BytesIO(page.pdf(format="A4")))
    text = " ".join(" ".join(sheet.extract_text() for sheet in printed.pages).split())
    report = make_report()
    assert len(printed.pages) <= 20
    assert report.athlete.name in text
    assert CAUTIONS[0] in text
    assert "Skip to the findings" not in text
    last = report.findings[-1].definition.words
    assert last[1:20] in text
    page.context.close()
