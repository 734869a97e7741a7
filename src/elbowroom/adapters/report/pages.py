"""From the report tree to what the page shows: every number already in words."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from elbowroom.adapters.report.gauges import Gauge, build_gauge
from elbowroom.adapters.report.words import VERDICT_MARKS, WORDS
from elbowroom.core.findings.order import phrase_priority
from elbowroom.core.findings.phrases import name_verdict, phrase_limits, phrase_verdict
from elbowroom.core.findings.report import KeyPicture, ScreeningReport, ThrowCard
from elbowroom.core.findings.types import DecisionRule, Finding, NotMeasured, PublishedBand, Tolerance
from elbowroom.core.instants.types import InstantName
from elbowroom.core.quantities.phrases import LengthUnit, phrase_number, phrase_share, phrase_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain


class Judged(Protocol):
    """What a finding's row needs of the report that it stands in."""

    @property
    def bands(self) -> tuple[PublishedBand, ...]:
        """Published bands."""
        ...

    @property
    def rule(self) -> DecisionRule:
        """When a probability became a verdict."""
        ...


@dataclass(frozen=True, kw_only=True)
class FindingRow:
    """One finding as the page writes it."""

    key: str
    """Key of the measure."""
    words: str
    """Name of the measure, capitalised."""
    value: str
    """Typical throw in words, or an empty text."""
    limit: str
    """Limits in words, or an empty text."""
    verdict: str
    """Word of the verdict."""
    mark: str
    """Shape of the verdict."""
    chance: str
    """Chance of being outside in words, or an empty text."""
    reason: str
    """Sentence of the verdict."""
    source: str
    """Largest source of doubt, or an empty text."""
    beside: tuple[str, ...]
    """Published bands in words."""
    is_judged: bool
    """Whether the value was held against limits."""
    gauge: Gauge | None
    """Drawing, where there is one."""


@dataclass(frozen=True, kw_only=True)
class MissingRow:
    """What is missing for one reason."""

    what: str
    """Names of what is missing, in one line."""
    reason: str
    """Why it is missing."""
    advice: str
    """What to change next time, or an empty text."""


@dataclass(frozen=True, kw_only=True)
class WorkRow:
    """One place in the order of work."""

    words: str
    """Name of the measure, capitalised."""
    verdict: str
    """Word of the verdict."""
    mark: str
    """Shape of the verdict."""
    reason: str
    """Sentence of reason."""


@dataclass(frozen=True, kw_only=True)
class DefinitionRow:
    """Measures that are defined alike."""

    words: str
    """Their names."""
    definition: str
    """What is measured."""
    sign: str
    """What plus and minus mean."""
    source: str
    """Where the definition comes from."""


def build_finding_row(finding: Finding, report: Judged, lengths: LengthUnit) -> FindingRow:
    """Return a finding in words."""
    bands = tuple(band for band in report.bands if band.measure == finding.definition.key)
    verdict, tolerance, typical = finding.verdict, finding.tolerance, finding.typical
    word = name_verdict(verdict)
    return FindingRow(
        key=finding.definition.key,
        words=capitalise(finding.definition.words),
        value=phrase_obtained(typical, lengths),
        limit=_phrase_limit(tolerance, lengths),
        verdict=str(word),
        mark=VERDICT_MARKS[word],
        chance="" if isinstance(verdict, NotMeasured) else phrase_share(verdict.probability_beyond),
        reason=_phrase_reason(finding, report, lengths),
        source=_phrase_source(typical),
        beside=tuple(phrase_band(band, lengths) for band in bands),
        is_judged=not isinstance(verdict, NotMeasured),
        gauge=build_gauge(finding, bands, lengths),
    )


def build_work_rows(report: ScreeningReport, lengths: LengthUnit) -> tuple[WorkRow, ...]:
    """Return the order of work in words."""
    return tuple(
        WorkRow(
            words=capitalise(priority.finding.definition.words),
            verdict=str(name_verdict(priority.finding.verdict)),
            mark=VERDICT_MARKS[name_verdict(priority.finding.verdict)],
            reason=phrase_priority(priority.finding, lengths),
        )
        for priority in report.priorities
    )


def build_missing_rows(report: ScreeningReport) -> tuple[MissingRow, ...]:
    """Return what could not be measured, grouped by reason; a value without a limit is not missing."""
    named = [(item.what, item.absent) for item in report.missing]
    named += [
        (finding.definition.words, finding.typical)
        for finding in report.findings
        if isinstance(finding.typical, Absent)
    ]
    grouped: dict[Absent, list[str]] = {}
    for what, absent in named:
        grouped.setdefault(absent, []).append(what)
    return tuple(
        MissingRow(what=join_names(what), reason=absent.reason, advice=absent.advice)
        for absent, what in grouped.items()
    )


def build_instants(throw: ThrowCard, lengths: LengthUnit) -> tuple[str, ...]:
    """Return the instants of a throw in words, counted from the first that was found."""
    found = [time.value for time in throw.instants.times.values() if isinstance(time, Uncertain)]
    start = min(found, default=0.0)
    shifted = [shift_time(throw.instants.find(name), start) for name in InstantName]
    return tuple(phrase_obtained(time, lengths) or f"{WORDS['unknown']}: {_find_reason(time)}" for time in shifted)


def shift_time(time: Obtained, start_s: float) -> Obtained:
    """Return a time counted from `start_s`."""
    return replace(time, value=time.value - start_s) if isinstance(time, Uncertain) else time


def build_picture_address(picture: KeyPicture) -> str:
    """Return the picture as a data address, so that the page needs no other file."""
    return f"data:{picture.media_type};base64,{base64.b64encode(picture.encoded).decode()}"


def phrase_obtained(quantity: Obtained, lengths: LengthUnit) -> str:
    """Return a value in words, or an empty text where there is none."""
    return phrase_uncertain(quantity, lengths) if isinstance(quantity, Uncertain) else ""


def phrase_error(quantity: Obtained, lengths: LengthUnit) -> str:
    """Return an error about zero in words: `give or take 0.4 % (95 %)`, or why it is not known."""
    if isinstance(quantity, Absent):
        return f"{WORDS['unknown']}: {quantity.reason}"
    width = replace(quantity, value=quantity.half_width)
    return f"give or take {phrase_uncertain(width, lengths).partition(',')[0]} (95 %)"


def phrase_residual(quantity: Obtained) -> str:
    """Return the camera's residual in words, or why there is none."""
    if isinstance(quantity, Absent):
        return quantity.reason
    return f"off by {quantity.value:.2f} {quantity.unit} (root mean square)"


def phrase_band(band: PublishedBand, lengths: LengthUnit) -> str:
    """Return a published band in words."""
    known = WORDS["published"] if band.is_seen else WORDS["from_memory"]
    mean, sd = (phrase_number(number, band.unit, lengths) for number in (band.mean, band.sd))
    return f"{WORDS['mean']} {mean}, SD {sd} ({band.group}; {known})"


def capitalise(words: str) -> str:
    """Return words with a capital first letter."""
    return words[:1].upper() + words[1:]


def group_definitions(report: ScreeningReport) -> tuple[DefinitionRow, ...]:
    """Return the definitions, measures that are defined alike under one heading."""
    grouped: dict[tuple[str, str, str], list[str]] = {}
    for finding in report.findings:
        item = finding.definition
        grouped.setdefault((item.definition, item.sign, item.source), []).append(item.words)
    return tuple(
        DefinitionRow(words=join_names(names), definition=text, sign=sign, source=source)
        for (text, sign, source), names in grouped.items()
    )


def group_limit_sources(report: ScreeningReport) -> tuple[tuple[str, str], ...]:
    """Return each source of limits, with its note, and the measures that it judges."""
    grouped: dict[str, list[str]] = {}
    for finding in report.findings:
        if isinstance(finding.tolerance, Tolerance):
            grouped.setdefault(_join_source(finding.tolerance), []).append(finding.definition.words)
    return tuple((join_names(names), source) for source, names in grouped.items())


def list_published_sources(report: ScreeningReport) -> tuple[str, ...]:
    """Return every source of published bands once, in order."""
    return tuple(dict.fromkeys(band.source for band in report.bands))


def join_names(names: Sequence[str]) -> str:
    """Return names of measures in one line, the part before `at` once: `Elbow flexion at foot contact, layback`."""
    grouped: dict[str, list[str]] = {}
    for name in names:
        head, _, instant = name.rpartition(" at ")
        grouped.setdefault(head or name, []).extend([instant] if head else [])
    joined = [f"{head} at {', '.join(instants)}" if instants else head for head, instants in grouped.items()]
    return capitalise("; ".join(joined))


def _phrase_limit(tolerance: Tolerance | Absent, lengths: LengthUnit) -> str:
    if isinstance(tolerance, Absent):
        return ""
    aim = "" if tolerance.aim is None else f", {WORDS['aim']} {phrase_number(tolerance.aim, tolerance.unit, lengths)}"
    return f"{phrase_limits(tolerance, lengths)}{aim}"


def _phrase_reason(finding: Finding, report: Judged, lengths: LengthUnit) -> str:
    """Return the verdict's sentence in the units of the page."""
    verdict = finding.verdict
    if isinstance(verdict, NotMeasured):
        return " ".join(part for part in (verdict.reason, verdict.absent.advice) if part)
    if not (isinstance(finding.typical, Uncertain) and isinstance(finding.tolerance, Tolerance)):
        return verdict.reason
    count = sum(isinstance(item, Uncertain) for item in finding.throws)
    return phrase_verdict(
        finding.typical,
        finding.tolerance,
        verdict.probability_beyond,
        report.rule,
        throw_count=count,
        lengths=lengths,
    )


def _phrase_source(typical: Obtained) -> str:
    if isinstance(typical, Absent) or isinstance(typical.dominant, Absent):
        return ""
    share = typical.dominant.standard**2 / typical.standard**2 if typical.standard else 0.0
    return f"{typical.dominant.source}, {100 * share:.0f} %"


def _join_source(tolerance: Tolerance) -> str:
    return f"{capitalise(tolerance.source)}. {tolerance.note}".strip()


def _find_reason(time: Obtained) -> str:
    return time.reason if isinstance(time, Absent) else ""


def find_headlines(rows: Sequence[FindingRow], findings: Sequence[Finding]) -> tuple[FindingRow, ...]:
    """Return the rows of the headline measures, in the order of the registry."""
    keys = {finding.definition.key for finding in findings if finding.definition.headline}
    return tuple(row for row in rows if row.key in keys)
