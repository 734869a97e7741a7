"""The clinical report as PDF: everything that the page report.html holds, but for pictures that show a face."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from elbowroom.adapters.report.curves import draw_curve, find_time_zero
from elbowroom.adapters.report.html import (
    build_load_parts,
    list_facts,
    list_set_up,
    phrase_rule,
)
from elbowroom.adapters.report.pages import (
    FindingRow,
    build_finding_row,
    build_instants,
    build_missing_rows,
    build_work_rows,
    capitalise,
    find_headlines,
    group_definitions,
    group_limit_sources,
    list_published_sources,
    phrase_obtained,
    phrase_residual,
)
from elbowroom.adapters.report.papers.budgets import build_budget_rows
from elbowroom.adapters.report.papers.family import draw_moment
from elbowroom.adapters.report.papers.panels import build_curve_panel, build_gauge_panel, build_line_key
from elbowroom.adapters.report.papers.saying import say_all
from elbowroom.adapters.report.papers.typeset import render_pdf
from elbowroom.adapters.report.words import CAUTIONS, COMPARISON_CAUTION, WORDS
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.findings.types import Finding, NotMeasured
from elbowroom.core.instants.types import InstantName
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.core.quantities.types import Absent
from elbowroom.service.paper_values import BodyPart, PaperChoice
from elbowroom.service.wording_ports import Wording
from elbowroom.service.wording_types import Verbatim

TEMPLATE = "clinical.typ"
DOCUMENT_TITLE = "Throwing screening: clinical report"
SHOWN_INSTANTS = (InstantName.FOOT_CONTACT, InstantName.LAYBACK, InstantName.RELEASE)
CLINICAL_WORDS = {
    "figures": "The athlete at the key instants",
    "figures_lead": "Drawn from the measured joints of the first throw, seen from the open side. The throwing arm "
    "stands out. Pictures of the clips are in report.html; this report shows no face.",
    "budgets": "Where the intervals come from",
    "budgets_lead": "Shares of the variance of the typical throw by source; parts below 1 % are left out.",
    "standard": "Standard uncertainty",
    "parts": "Sources, share of variance",
    "throws_values": "Each throw",
    "throws_values_caption": "Judged measures, throw by throw",
    "page": "page",
    "of": "of",
    "throw_word": "throw",
}
"""Words of this paper beside those of the page."""


def render_clinical_report(report: ScreeningReport, choice: PaperChoice, wording: Wording) -> bytes:
    """Return the clinical report as a tagged PDF; raises `ResultError` where it cannot be laid out."""
    return render_pdf(TEMPLATE, build_clinical_data(report, choice, wording))


def build_clinical_data(report: ScreeningReport, choice: PaperChoice, wording: Wording) -> Mapping[str, Any]:
    """Return what the template lays out, in the reader's language."""
    language, _, region = wording.language.partition("-")
    said = {
        "title": DOCUMENT_TITLE,
        "words": {**WORDS, **CLINICAL_WORDS},
        "standing": CAUTIONS,
        "cautions": (*CAUTIONS, *report.cautions, COMPARISON_CAUTION),
        "facts": list_facts(report, choice.lengths),
        **_build_findings(report, choice.lengths),
        **_build_curves(report, choice.lengths),
        **_build_filming(report, choice.lengths),
        **_build_method(report),
        "loads": _build_loads(report, choice.lengths),
    }
    return {
        **say_all(said, wording),
        "paper": "us-letter" if choice.paper == "letter" else "a4",
        "lang": language,
        "region": region or None,
        "name": " ".join(report.athlete.name.split()),
        "day": wording.phrase_day(report.made_on),
    }


def _build_findings(report: ScreeningReport, lengths: LengthUnit) -> dict[str, Any]:
    rows = [build_finding_row(finding, report, lengths) for finding in report.findings]
    judged = [finding for finding in report.findings if not isinstance(finding.verdict, NotMeasured)]
    return {
        "headlines": [_build_card(row) for row in find_headlines(rows, report.findings)],
        "work": [{**asdict(row), "mark": Verbatim(row.mark)} for row in build_work_rows(report, lengths)],
        "judged": [_build_table_row(row) for row in rows if row.is_judged],
        "plain": [_build_table_row(row) for row in rows if row.value and not row.is_judged],
        "missing": [asdict(row) for row in build_missing_rows(report)],
        "budgets": [asdict(row) for row in build_budget_rows(report.findings, lengths)],
        "each_throw": [_build_throws_row(finding, lengths) for finding in judged],
        "throw_numbers": [card.number for card in report.throws],
    }


def _build_card(row: FindingRow) -> dict[str, Any]:
    gauge = None if row.gauge is None else build_gauge_panel(row.gauge)
    return {**_build_table_row(row), "reason": row.reason, "gauge": gauge}


def _build_table_row(row: FindingRow) -> dict[str, Any]:
    names = ("words", "value", "limit", "verdict", "mark", "chance", "source", "beside")
    return {name: Verbatim(row.mark) if name == "mark" else getattr(row, name) for name in names}


def _build_throws_row(finding: Finding, lengths: LengthUnit) -> dict[str, Any]:
    values = [phrase_obtained(item, lengths) or "—" for item in finding.throws]
    return {"words": capitalise(finding.definition.words), "values": values}


def _build_curves(report: ScreeningReport, lengths: LengthUnit) -> dict[str, Any]:
    zero = find_time_zero(report.throws)
    figures = [(name, draw_moment(report, BodyPart.ARM, (name,))) for name in SHOWN_INSTANTS]
    drawn = [draw_curve(curve, report.throws, zero, lengths) for curve in report.curves]
    lines = drawn[0].lines if drawn else ()
    return {
        "figures": [{**figure, "words": capitalise(name)} for name, figure in figures if figure],
        "curves": [
            {"words": capitalise(curve.words), "unit": curve.unit, "sign": curve.sign, **build_curve_panel(curve)}
            for curve in drawn
        ],
        "line_key": [{"throw": line.throw, "svg": build_line_key(place)} for place, line in enumerate(lines)],
        "time_words": WORDS["time_axis" if zero.is_foot_contact else "time_axis_plain"],
        "curves_lead": WORDS["curves_lead" if zero.is_foot_contact else "curves_lead_plain"],
    }


def _build_filming(report: ScreeningReport, lengths: LengthUnit) -> dict[str, Any]:
    clips = [
        {
            "name": Verbatim(clip.name),
            "cells": [
                str(clip.view),
                f"{clip.rate_hz:.4g}",
                str(clip.picture_count),
                phrase_residual(clip.residual_px),
            ],
            "notes": clip.notes,
        }
        for clip in report.set_up.clips
    ]
    return {
        "set_up": list_set_up(report, lengths),
        "clips": clips,
        "instants": [capitalise(name) for name in InstantName],
        "throws": [
            {"number": card.number, "times": build_instants(card, lengths), "notes": " ".join(card.notes) or "—"}
            for card in report.throws
        ],
    }


def _build_method(report: ScreeningReport) -> dict[str, Any]:
    versions = [(item.name, Verbatim(item.version)) for item in report.made_with]
    digests = [(Verbatim(clip.name), Verbatim(clip.digest)) for clip in report.set_up.clips]
    return {
        "rule": phrase_rule(report),
        "method": [asdict(part) for part in report.method],
        "limit_sources": group_limit_sources(report),
        "published_sources": [Verbatim(source) for source in list_published_sources(report)],
        "definitions": [asdict(row) for row in group_definitions(report)],
        "versions": [*versions, *digests],
    }


def _build_loads(report: ScreeningReport, lengths: LengthUnit) -> dict[str, Any]:
    """Return the section on loads, or why there is none."""
    parts = build_load_parts(report, find_time_zero(report.throws), lengths)
    loads = report.loads
    if isinstance(loads, Absent):
        return {"words": parts["load_words"], "absent": loads.reason, "advice": loads.advice}
    return {
        "words": parts["load_words"],
        "absent": "",
        "body": loads.body,
        "rows": [asdict(row) for row in parts["load_rows"]],
        "changes": [asdict(row) for row in parts["load_changes"]],
        "bands": [
            [load, group, found, method, Verbatim(source)] for load, group, found, method, source in parts["load_bands"]
        ],
        "cautions": parts["load_cautions"],
        "curves": [
            {
                "words": capitalise(curve.words),
                "unit": curve.unit,
                "sign": capitalise(curve.sign),
                **build_curve_panel(curve),
            }
            for curve in parts["load_curves"]
        ],
    }
