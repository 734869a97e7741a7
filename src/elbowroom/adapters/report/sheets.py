"""A kept report as the screens show it: every number already in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from elbowroom.adapters.report.pages import (
    FindingRow,
    MissingRow,
    build_finding_row,
    capitalise,
    join_names,
    phrase_band,
    phrase_obtained,
    shift_time,
)
from elbowroom.core.findings.order import phrase_priority
from elbowroom.core.findings.types import Finding, PublishedBand, Tolerance
from elbowroom.core.quantities.phrases import LengthUnit, phrase_number, phrase_share
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain
from elbowroom.service.report_values import StoredReport


@dataclass(frozen=True, kw_only=True)
class SheetRow:
    """A judged finding with its place in the order of work."""

    place: int
    """From 1 in the order of work; 0 for what asks for no work."""
    row: FindingRow
    """The finding in words."""
    why_first: str
    """Why it stands at its place; empty for what asks for no work."""


@dataclass(frozen=True, kw_only=True)
class BudgetRow:
    """One source of an uncertainty."""

    source: str
    """The source."""
    width: str
    """Half of the 95 % interval that it alone would give, in words."""
    share: str
    """Its share of the variance in words."""
    share_px: float
    """The same as a length out of 100."""


@dataclass(frozen=True, kw_only=True)
class WhyView:
    """Everything behind one number in words."""

    row: FindingRow
    """The finding."""
    definition: str
    """What is measured."""
    sign: str
    """What plus and minus mean."""
    definition_source: str
    """Where the definition comes from."""
    throws: tuple[str, ...]
    """Each throw's value in words, or why there is none."""
    budget: tuple[BudgetRow, ...]
    """The uncertainty by source, largest first."""
    limit_facts: tuple[tuple[str, str], ...]
    """Facts about the limits; empty where no limit holds."""
    published: tuple[tuple[str, str, str], ...]
    """Published values, their source and what to know before comparing."""
    instants: tuple[tuple[int, tuple[tuple[str, str], ...]], ...]
    """Time of each instant by throw, counted from the throw's first instant."""


def build_sheet_rows(report: StoredReport, ordered: Sequence[Finding], lengths: LengthUnit) -> tuple[SheetRow, ...]:
    """Return judged findings, in the order in which they come, in words."""
    places = {item.measure: place for place, item in enumerate(report.priorities, start=1)}
    return tuple(
        SheetRow(
            place=places.get(finding.definition.key, 0),
            row=build_finding_row(finding, report, lengths),
            why_first=phrase_priority(finding, lengths) if finding.definition.key in places else "",
        )
        for finding in ordered
    )


def build_plain_rows(report: StoredReport, lengths: LengthUnit) -> tuple[FindingRow, ...]:
    """Return what was measured without a verdict."""
    rows = [build_finding_row(item, report, lengths) for item in report.findings]
    return tuple(row for row in rows if row.value and not row.is_judged)


def build_gap_rows(report: StoredReport) -> tuple[MissingRow, ...]:
    """Return what could not be measured, grouped by reason."""
    named = [(item.what, item.absent) for item in report.missing]
    named += [(item.definition.words, item.typical) for item in report.findings if isinstance(item.typical, Absent)]
    grouped: dict[Absent, list[str]] = {}
    for what, absent in named:
        grouped.setdefault(absent, []).append(what)
    return tuple(
        MissingRow(what=join_names(what), reason=absent.reason, advice=absent.advice)
        for absent, what in grouped.items()
    )


def build_why(report: StoredReport, finding: Finding, bands: Sequence[PublishedBand], lengths: LengthUnit) -> WhyView:
    """Return everything behind one number in words."""
    return WhyView(
        row=build_finding_row(finding, report, lengths),
        definition=finding.definition.definition,
        sign=finding.definition.sign,
        definition_source=finding.definition.source,
        throws=tuple(_phrase_throw(item, lengths) for item in finding.throws),
        budget=build_budget_rows(finding, lengths),
        limit_facts=_list_limit_facts(finding.tolerance, lengths),
        published=tuple((phrase_band(band, lengths), band.source, band.note) for band in bands),
        instants=tuple((throw.number, _list_instants(throw.instants, lengths)) for throw in report.throws),
    )


def build_budget_rows(finding: Finding, lengths: LengthUnit) -> tuple[BudgetRow, ...]:
    """Return the uncertainty of the typical throw by source, largest first."""
    typical = finding.typical
    if isinstance(typical, Absent) or not typical.standard:
        return ()
    factor = typical.half_width / typical.standard
    rows = []
    for part in sorted(typical.parts, key=lambda item: -item.standard):
        share = part.standard**2 / typical.standard**2
        width = phrase_number(factor * part.standard, typical.unit, lengths, None if typical.unit != "m" else 1)
        rows.append(
            BudgetRow(source=str(part.source), width=width, share=phrase_share(share), share_px=round(100 * share, 1))
        )
    return tuple(rows)


def _list_limit_facts(tolerance: Tolerance | Absent, lengths: LengthUnit) -> tuple[tuple[str, str], ...]:
    if isinstance(tolerance, Absent):
        return ()
    ages, heights = tolerance.ages_years, tolerance.heights_m
    facts = [
        ("Where they come from", capitalise(tolerance.source)),
        ("Ages", f"{ages[0]:g} to {ages[1]:g} completed years"),
        ("Heights", f"{phrase_number(heights[0], 'm', lengths)} to {phrase_number(heights[1], 'm', lengths)}"),
        ("Kinds of throw", ", ".join(str(kind) for kind in tolerance.kinds)),
        ("How much it matters", f"{tolerance.consequence:g} of 1, because {tolerance.consequence_reason}"),
        ("To know", tolerance.note),
        ("Version", tolerance.version),
    ]
    return tuple((name, text) for name, text in facts if text)


def _list_instants(instants: Mapping[str, Obtained], lengths: LengthUnit) -> tuple[tuple[str, str], ...]:
    """Return the time of each instant in words, counted from the first that was found."""
    start_s = min((time.value for time in instants.values() if isinstance(time, Uncertain)), default=0.0)
    return tuple(
        (name, phrase_obtained(shift_time(time, start_s), lengths) or f"not found: {_find_reason(time)}")
        for name, time in instants.items()
    )


def _phrase_throw(value: Obtained, lengths: LengthUnit) -> str:
    return f"not measured: {value.reason}" if isinstance(value, Absent) else phrase_obtained(value, lengths)


def _find_reason(value: Obtained) -> str:
    return value.reason if isinstance(value, Absent) else ""
