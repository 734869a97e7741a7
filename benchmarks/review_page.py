"""The page of a review in a real browser: first paint, step of a picture, drag of a joint, correction to first answer.

Run from the root, after `python hatch_build.py`:
`python -m benchmarks.review_page --out benchmarks/results/review_page`. The invented visit with its small proxies; the
load of the machine is written beside the figures, since they depend on it.
"""

from __future__ import annotations

import argparse
import os
import tempfile
from dataclasses import replace
from pathlib import Path
from statistics import median

from playwright.sync_api import Page, expect

from benchmarks.machine import describe_machine, render_machine, render_table
from elbowroom.web.app import build_app
from tests.makers.browsing import log_in, open_page, serve_app, start_browser
from tests.makers.kept_review import keep_invented
from tests.makers.web import make_clinic

STEPS = 40
STEP = """async ([count]) => {
  const video = document.getElementById("video-0"), words = document.getElementById("picture-0"), found = [];
  for (let i = 0; i < count; i++) {
    const before = words.textContent, began = performance.now();
    document.body.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowRight", bubbles: true }));
    while (words.textContent === before && performance.now() - began < 3000)
      await new Promise((go) => setTimeout(go, 0));
    found.push(performance.now() - began);
  }
  return found;
}"""
DRAG = """async ([x, y, count]) => {
  const canvas = document.getElementById("overlay-0"), found = [];
  const tell = (kind, dy) => canvas.dispatchEvent(
    new PointerEvent(kind, { clientX: x, clientY: y + dy, pointerId: 1, bubbles: true }));
  canvas.setPointerCapture = () => undefined;
  tell("pointerdown", 0);
  for (let i = 1; i <= count; i++) {
    const began = performance.now();
    tell("pointermove", i % 7);
    await new Promise((go) => requestAnimationFrame(go));
    found.push(performance.now() - began);
  }
  return found;
}"""


def measure_page(page: Page) -> list[list[str]]:
    """Return a row for each figure: what, median, wanted."""
    paint = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    page.locator("body").press("3")
    page.wait_for_timeout(2000)
    steps = page.evaluate(STEP, [STEPS])
    box = page.locator("#overlay-0").bounding_box()
    assert box
    place = [box["x"] + box["width"] / 2, box["y"] + box["height"] / 2, STEPS]
    drags = page.evaluate(DRAG, place)
    page.locator("body").press("Escape")
    page.locator("body").press("m")
    expect(page.locator("#change")).to_be_visible(timeout=120_000)
    answer = page.evaluate("Number(document.getElementById('review').dataset.answer_ms)")
    return [
        ["first paint", f"{paint:.0f}", "1000"],
        ["step of a picture, two clips", f"{median(steps):.0f}", "16"],
        ["drag of a joint, to the next frame", f"{median(drags):.0f}", "50"],
        ["instant moved to first answer", f"{answer:.0f}", "1000"],
    ]


def main() -> None:
    """Run and print, or write the result."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path)
    options = parser.parse_args()
    clinic = make_clinic()
    with tempfile.TemporaryDirectory() as folder:
        tools, visit_id = keep_invented(clinic.record, Path(folder) / "visit", has_video=True)
        app = build_app(replace(clinic.tools, review=tools))
        with start_browser() as browser, serve_app(app) as address:
            page = open_page(browser, address)
            log_in(page, address)
            page.goto(f"{address}/visits/{visit_id}/review")
            expect(page.locator('#review[data-ready="yes"]')).to_be_attached(timeout=120_000)
            rows = measure_page(page)
    load = f"Load of the machine (1, 5, 15 minutes): {', '.join(f'{item:.1f}' for item in os.getloadavg())}."
    head = ["what", "median, ms", "wanted, ms"]
    text = "\n\n".join(("# The page of a review", render_table(head, rows), load, render_machine(describe_machine())))
    print(text)
    if options.out:
        options.out.with_suffix(".md").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
