"""Use case: a screening as plain text, to paste into a chart."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from datetime import date

from elbowroom.core.findings.phrases import name_verdict, phrase_limits
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.findings.types import Beyond, Finding, NotMeasured, TooCloseToCall, Within
from elbowroom.core.quantities.phrases import LengthUnit, phrase_number, phrase_uncertain
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.service.paper_values import NextSteps
from elbowroom.service.summary import CAUTION
from elbowroom.service.wording_ports import Wording

WIDTH = 88
"""Letters a line; charts cut what is longer."""
NUMBER_AND_UNIT = re.compile(r"(\d) (?=[^\W\d]|%|°)")
"""A number and what follows it stay on one line."""
LOADS_LEAD = "Loads, estimated by a model; there is no safe or unsafe value:"
HELD = "On hold by a warning sign: no throwing and no drills until a clinician releases it."
RULES_LEAD = "Local rules and the treating clinician come first."


def write_chart_note(report: ScreeningReport, steps: NextSteps, lengths: LengthUnit, wording: Wording) -> str:
    """Return the note, lines of at most `WIDTH` letters, in the reader's language; it ends with a line break."""
    say = wording.translate_text
    lines = [say("Throwing screening"), *_list_facts(report, lengths, wording)]
    lines += _list_verdicts(report, lengths, wording)
    lines += _list_loads(report, lengths, wording)
    lines += _list_steps(steps, wording)
    lines += ["", say(CAUTION), say(RULES_LEAD), f"{say('Made with')} elbowroom {find_version(report)}."]
    wrapped = [part for line in lines for part in wrap_line(line)]
    return "\n".join(wrapped) + "\n"


def wrap_line(line: str) -> list[str]:
    """Return a line in pieces of at most `WIDTH` letters, the later ones set in."""
    inset = "  " if line.startswith("- ") else ""
    held = NUMBER_AND_UNIT.sub("\\1\N{NO-BREAK SPACE}", line)
    pieces = textwrap.wrap(held, WIDTH, subsequent_indent=inset, break_on_hyphens=False) or [""]
    return [piece.replace("\N{NO-BREAK SPACE}", " ") for piece in pieces]


def find_version(report: ScreeningReport) -> str:
    """Return the version of the package that made the report, or an empty text."""
    return next((item.version for item in report.made_with if item.name == "elbowroom"), "")


def describe_value(finding: Finding, lengths: LengthUnit) -> str:
    """Return a measure with its value and limits in words, without its verdict."""
    typical, tolerance = finding.typical, finding.tolerance
    value = phrase_uncertain(typical, lengths) if isinstance(typical, Uncertain) else "not measured"
    if isinstance(tolerance, Absent) or isinstance(typical, Absent):
        return f"{finding.definition.words}: {value}"
    return f"{finding.definition.words}: {value}, accepted {phrase_limits(tolerance, lengths)}"


def _list_facts(report: ScreeningReport, lengths: LengthUnit, wording: Wording) -> list[str]:
    say, athlete = wording.translate_text, report.athlete
    views = ", ".join(say(str(clip.view)) for clip in report.set_up.clips)
    facts = [
        ("Athlete", " ".join(athlete.name.split())),
        ("Screened on", wording.phrase_day(report.made_on)),
        ("Age", say(f"{athlete.age_years:.4g} years")),
        ("Height", say(phrase_number(athlete.height_m, "m", lengths))),
        ("Throwing hand", say(str(athlete.hand))),
        ("Kind of throw", say(str(athlete.kind))),
        ("Throws measured", str(len(report.throws))),
        ("Phones", f"{len(report.set_up.clips)} ({views})"),
    ]
    return [f"{say(name)}: {value}" for name, value in facts]


def _list_verdicts(report: ScreeningReport, lengths: LengthUnit, wording: Wording) -> list[str]:
    """Return the findings, what is beyond first in the order of work, and what could not be measured as a count."""
    order = {id(item.finding): place for place, item in enumerate(report.priorities)}
    lines: list[str] = []
    for kind in (Beyond, TooCloseToCall, Within):
        found = [finding for finding in report.findings if isinstance(finding.verdict, kind)]
        found.sort(key=lambda finding: order.get(id(finding), len(order)))
        lines += _list_group(found, lengths, wording)
    missing = sum(isinstance(finding.verdict, NotMeasured) for finding in report.findings)
    if not lines:
        lines = ["", wording.translate_text("No measure could be held against its limits.")]
    return [*lines, "", wording.translate_text(f"Measures without a verdict: {missing}, see the clinical report.")]


def _list_group(found: Sequence[Finding], lengths: LengthUnit, wording: Wording) -> list[str]:
    if not found:
        return []
    say = wording.translate_text
    title = say(str(name_verdict(found[0].verdict)))
    return [
        "",
        f"{title[:1].upper()}{title[1:]}:",
        *(f"- {say(describe_value(finding, lengths))}" for finding in found),
    ]


def _list_loads(report: ScreeningReport, lengths: LengthUnit, wording: Wording) -> list[str]:
    if isinstance(report.loads, Absent):
        return []
    say = wording.translate_text
    known = [item for item in report.loads.findings if isinstance(item.typical, Uncertain)]
    lines = [f"- {say(item.definition.words)}: {say(_phrase(item.typical, lengths))}" for item in known]
    return ["", say(LOADS_LEAD), *lines] if lines else []


def _list_steps(steps: NextSteps, wording: Wording) -> list[str]:
    say = wording.translate_text
    drills = [f"- {say(drill.name)}: {say(drill.dose)}" for drill in steps.drills]
    day = [] if isinstance(steps.retest_on, Absent) else [_phrase_retest(steps.retest_on, wording)]
    held = [say(HELD)] if steps.is_held else []
    plan = [*held, *([say("Drills:")] if drills else []), *drills, *(say(rule) for rule in steps.rules), *day]
    return ["", *plan] if plan else []


def _phrase_retest(day: date, wording: Wording) -> str:
    return f"{wording.translate_text('Retest')}: {wording.phrase_day(day)}"


def _phrase(quantity: Uncertain | Absent, lengths: LengthUnit) -> str:
    return "" if isinstance(quantity, Absent) else phrase_uncertain(quantity, lengths)
