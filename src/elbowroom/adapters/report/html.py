"""The report as one HTML file that opens offline and needs no script."""

from __future__ import annotations

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
from elbowroom.adapters.report.spacing import join_units
from elbowroom.adapters.report.words import CAUTIONS, COMPARISON_CAUTION, RULE_SENTENCE, WORDS
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.instants.types import InstantName
from elbowroom.core.quantities.phrases import LengthUnit, phrase_number, phrase_share
from elbowroom.core.quantities.types import Absent
from elbowroom.service.wording_ports import Wording
from elbowroom.service.wording_types import EnglishWording, Verbatim

TEMPLATE = "report.html"


ENGLISH = EnglishWording()


def render_report_html(
    report: ScreeningReport, lengths: LengthUnit = LengthUnit.CENTIMETRES, wording: Wording = ENGLISH
) -> str:
    """Return the report as a self-contained HTML page, lengths in the clinic's unit, in the reader's language.

    Everything that comes from outside (names, notes) is escaped; pictures and drawings are inside the page.
    """
    environment = Environment(
        loader=PackageLoader("elbowroom.adapters.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=lambda shown: join_units(say_shown(shown, wording)),
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["verbatim"] = Verbatim
    return environment.get_template(TEMPLATE).render(
        _build_context(report, lengths), language=wording.language, made_on=Verbatim(wording.phrase_day(report.made_on))
    )


def say_shown(shown: Any, wording: Wording) -> Any:
    """Return what a template shows in the reader's language; names, paths and markup stay as they are."""
    if not isinstance(shown, str) or isinstance(shown, Markup | Verbatim):
        return shown
    return wording.translate_text(shown)


def _build_context(report: ScreeningReport, lengths: LengthUnit) -> dict[str, Any]:
    rows = [build_finding_row(finding, report, lengths) for finding in report.findings]
    zero = find_time_zero(report.throws)
    return {
        "report": report,
        "words": WORDS,
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
        "facts": list_facts(report, lengths),
        "set_up": list_set_up(report, lengths),
        "residuals": [phrase_residual(clip.residual_px) for clip in report.set_up.clips],
        "rule": phrase_rule(report),
        "definitions": group_definitions(report),
        "limit_sources": group_limit_sources(report),
        "published_sources": list_published_sources(report),
        "cautions": (*CAUTIONS, *report.cautions, COMPARISON_CAUTION),
        "standing": CAUTIONS,
        "capitalise": capitalise,
        **build_load_parts(report, zero, lengths),
    }


def build_load_parts(report: ScreeningReport, zero: TimeZero, lengths: LengthUnit) -> dict[str, Any]:
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


def list_facts(report: ScreeningReport, lengths: LengthUnit) -> list[tuple[str, str]]:
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


def list_set_up(report: ScreeningReport, lengths: LengthUnit) -> list[tuple[str, str]]:
    """Return how cameras, scale, direction and clocks are known, in words."""
    set_up = report.set_up
    return [
        (WORDS["how"], set_up.how or WORDS["unknown"]),
        (WORDS["scale"], phrase_error(set_up.scale_share, lengths)),
        (WORDS["target"], phrase_error(set_up.target_error, lengths)),
        (WORDS["clocks"], phrase_error(set_up.clock_error, lengths)),
    ]


def phrase_rule(report: ScreeningReport) -> str:
    """Return the decision rule in a sentence."""
    return RULE_SENTENCE.format(
        beyond=phrase_share(report.rule.beyond_from_probability), within=phrase_share(report.rule.within_to_probability)
    )
