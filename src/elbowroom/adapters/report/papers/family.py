"""The family page as PDF: plain words, the athlete's own figure, one sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from elbowroom.adapters.report.papers.figure import draw_body
from elbowroom.adapters.report.papers.saying import say_all
from elbowroom.adapters.report.papers.typeset import render_pdf
from elbowroom.core.findings.report import ScreeningReport, ThrowingHand
from elbowroom.core.instants.types import InstantName
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.service.paper_values import BodyPart, FamilyDrill, FamilyPage, PaperChoice, PlainItem
from elbowroom.service.wording_ports import Wording
from elbowroom.service.wording_types import Verbatim

TEMPLATE = "family.typ"
LONGEST_NAME = 60
"""Letters of a name that the page shows; what is longer is cut with an ellipsis."""
MOST_DRILLS = 4
FAMILY_WORDS = {
    "title": "Your throw",
    "good": "What looks good",
    "work": "What to work on",
    "try": "Try this:",
    "today": "Today:",
    "wanted": "Wanted:",
    "drills": "Your drills",
    "drills_empty": "Your clinician writes them here.",
    "held": "No throwing and no drills now. Your clinician will tell you when you can start again.",
    "signs": "Stop throwing if",
    "signs_act": "Then tell a grown-up. Let a doctor look at your arm.",
    "back": "When to come back",
    "back_empty": "Your next visit:",
    "back_why": "Then we film you once more. So we see what has changed.",
    "again": "We will look once more at:",
    "gaps": "No result today",
}
"""Headings and fixed words of the page."""
DOCUMENT_TITLE = "Throwing check: page for the family"
NOTHING = "Nothing stands out today. Keep on throwing the way you do."
SHOWN_AT = (InstantName.LAYBACK, InstantName.FOOT_CONTACT, InstantName.RELEASE)
"""Moments of the large figure: the first that was found."""
FIGURE_WORDS = "Drawing of you at {instant}, made from your own throw."
"""What a figure shows, for those who cannot see it."""


def render_family_page(page: FamilyPage, report: ScreeningReport, choice: PaperChoice, wording: Wording) -> bytes:
    """Return the family page as a tagged PDF of one sheet; raises `ResultError` where it does not fit."""
    return render_pdf(TEMPLATE, build_family_data(page, report, choice, wording))


def build_family_data(
    page: FamilyPage, report: ScreeningReport, choice: PaperChoice, wording: Wording
) -> Mapping[str, Any]:
    """Return what the template lays out, in the reader's language."""
    language, _, region = wording.language.partition("-")
    said = {
        "title": DOCUMENT_TITLE,
        "words": FAMILY_WORDS,
        "opening": page.opening,
        "good": [_build_item(item, report, is_drawn=False) for item in page.good],
        "work": [_build_item(item, report, is_drawn=True) for item in page.work],
        "nothing": NOTHING,
        "again": page.again,
        "signs": page.signs,
        "cautions": page.cautions,
        "gaps": page.gaps,
        "rules": page.steps.rules,
        "is_held": page.steps.is_held,
        "figure": draw_moment(report, BodyPart.WHOLE, SHOWN_AT),
        "drills": [_build_drill(drill) for drill in page.steps.drills[:MOST_DRILLS]],
    }
    back = page.steps.retest_on
    return {
        **say_all(said, wording),
        "paper": "us-letter" if choice.paper == "letter" else "a4",
        "lang": language,
        "region": region or None,
        "clinic": "",
        "name": crop_name(page.name),
        "day": wording.phrase_day(page.made_on),
        "back": "" if isinstance(back, Absent) else wording.phrase_day(back),
    }


def crop_name(name: str) -> str:
    """Return a name of at most `LONGEST_NAME` letters on one line."""
    line = " ".join(name.split())
    return line if len(line) <= LONGEST_NAME else line[: LONGEST_NAME - 1].rstrip() + "…"


def draw_moment(report: ScreeningReport, part: BodyPart, instants: tuple[InstantName, ...]) -> dict[str, Any] | None:
    """Return the figure at the first of the instants that was found, with its words; None without joints."""
    cards = {card.number: card for card in report.throws}
    for motion in report.motions:
        for name in instants if motion.throw in cards else ():
            time = cards[motion.throw].instants.find(name)
            if not isinstance(time, Uncertain):
                continue
            joints = motion.joints_m[int(np.argmin(np.abs(motion.times_s - time.value)))]
            if np.isfinite(joints).all():
                svg = draw_body(joints, report.athlete.hand is ThrowingHand.LEFT, part)
                return {"svg": Verbatim(svg), "alt": FIGURE_WORDS.replace("{instant}", str(name))}
    return None


def _build_item(item: PlainItem, report: ScreeningReport, *, is_drawn: bool) -> dict[str, Any]:
    instants = SHOWN_AT if isinstance(item.instant, Absent) else (item.instant, *SHOWN_AT)
    return {
        "title": item.title,
        "says": item.says,
        "cue": item.cue,
        "today": item.today,
        "wanted": item.wanted,
        "figure": draw_moment(report, item.part, instants) if is_drawn else None,
    }


def _build_drill(drill: FamilyDrill) -> dict[str, Any]:
    figure = {"svg": Verbatim(drill.figure), "alt": drill.name} if drill.figure else None
    return {"name": drill.name, "dose": drill.dose, "figure": figure}
