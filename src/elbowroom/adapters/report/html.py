"""The report as one HTML file that opens offline and needs no script."""

from __future__ import annotations

import re
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from elbowroom.adapters.report.curves import TimeZero, draw_curve, find_time_zero
from elbowroom.adapters.report.loads import CAUTIONS as LOAD_CAUTIONS
from elbowroom.adapters.report.loads import LOAD_WORDS, build_band_rows, build_change_rows, build_load_rows
from elbowroom.adapters.report.pages import (
    build_finding_row,
    build_instants,
    build_missing_rows,
    build_picture_address,
    build_work_rows,
    capitalise,
    find_headlines,
    group_definitions,
    group_limit_sources,
    list_published_sources,
    phrase_error,
    phrase_residual,
)
from elbowroom.adapters.report.words import CAUTIONS, COMPARISON_CAUTION, LANGUAGE, RULE_SENTENCE, WORDS
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.instants.types import InstantName
from elbowroom.core.quantities.phrases import LengthUnit, phrase_number, phrase_share
from elbowroom.core.quantities.types import Absent

TEMPLATE = "report.html"
NUMBER_AND_UNIT = re.compile(r"(\d) (%|°/s|cm|in|m|m/s|s|px|N m|N)(?![\w])")


def render_report_html(report: ScreeningReport, lengths: LengthUnit = LengthUnit.CENTIMETRES) -> str:
    """Return the report as a self-contained HTML page, lengths in the clinic's unit.

    Everything that comes from outside (names, notes) is escaped; pictures and drawings are inside the page.
    """
    environment = Environment(
        loader=PackageLoader("elbowroom.adapters.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=join_units,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template(TEMPLATE).render(_build_context(report, lengths))


def join_units(shown: Any) -> Any:
    """Return a text whose numbers cannot be parted from their units at the end of a line."""
    if not isinstance(shown, str) or isinstance(shown, Markup):
        return shown
    return NUMBER_AND_UNIT.sub("\\1\N{NO-BREAK SPACE}\\2", shown)


def _build_context(report: ScreeningReport, lengths: LengthUnit) -> dict[str, Any]:
    rows = [build_finding_row(finding, report, lengths) for finding in report.findings]
    zero = find_time_zero(report.throws)
    return {
        "report": report,
        "words": WORDS,
        "language": LANGUAGE,
        "judged": [row for row in rows if row.is_judged],
        "plain": [row for row in rows if row.value and not row.is_judged],
        "headlines": find_headlines(rows, report.findings),
        "work": build_work_rows(report, lengths),
        "missing": build_missing_rows(report),
        "pictures": [(picture, build_picture_address(picture)) for picture in report.pictures],
        "curves": [draw_curve(curve, report.throws, zero, lengths) for curve in report.curves],
        "zero": zero,
        "throws": [(throw, build_instants(throw, lengths)) for throw in report.throws],
        "instants": [capitalise(name) for name in InstantName],
        "facts": _build_facts(report, lengths),
        "set_up": _build_set_up(report, lengths),
        "residuals": [phrase_residual(clip.residual_px) for clip in report.set_up.clips],
        "rule": _phrase_rule(report),
        "definitions": group_definitions(report),
        "limit_sources": group_limit_sources(report),
        "published_sources": list_published_sources(report),
        "cautions": (*CAUTIONS, *report.cautions, COMPARISON_CAUTION),
        "standing": CAUTIONS,
        "capitalise": capitalise,
        **_build_loads(report, zero, lengths),
    }


def _build_loads(report: ScreeningReport, zero: TimeZero, lengths: LengthUnit) -> dict[str, Any]:
    """Return what the section on loads needs, which without loads is their absence alone."""
    loads = report.loads
    if isinstance(loads, Absent):
        return {"loads": None, "load_words": LOAD_WORDS}
    numbers = {line.throw for line in loads.curves[0].lines}
    throws = [throw for throw in report.throws if throw.number in numbers]
    return {
        "loads": loads,
        "load_words": LOAD_WORDS,
        "load_rows": build_load_rows(loads),
        "load_curves": [draw_curve(curve, throws, zero, lengths) for curve in loads.curves],
        "load_changes": build_change_rows(loads),
        "load_bands": build_band_rows(loads),
        "load_cautions": LOAD_CAUTIONS,
    }


def _build_facts(report: ScreeningReport, lengths: LengthUnit) -> list[tuple[str, str]]:
    """Return the facts of the heading: who, how tall, which hand, how many throws and phones."""
    athlete = report.athlete
    views = ", ".join(str(clip.view) for clip in report.set_up.clips)
    return [
        (WORDS["age"], f"{athlete.age_years:.4g} {WORDS['years']}"),
        (WORDS["height"], phrase_number(athlete.height_m, "m", lengths)),
        (WORDS["hand"], f"{athlete.hand} {WORDS['hand_word']}"),
        (WORDS["kind"], str(athlete.kind)),
        (WORDS["throws"], str(len(report.throws))),
        (WORDS["views"], f"{len(report.set_up.clips)}: {views}"),
    ]


def _build_set_up(report: ScreeningReport, lengths: LengthUnit) -> list[tuple[str, str]]:
    set_up = report.set_up
    return [
        (WORDS["how"], set_up.how or WORDS["unknown"]),
        (WORDS["scale"], phrase_error(set_up.scale_share, lengths)),
        (WORDS["target"], phrase_error(set_up.target_error, lengths)),
        (WORDS["clocks"], phrase_error(set_up.clock_error, lengths)),
    ]


def _phrase_rule(report: ScreeningReport) -> str:
    return RULE_SENTENCE.format(
        beyond=phrase_share(report.rule.beyond_from_probability), within=phrase_share(report.rule.within_to_probability)
    )
