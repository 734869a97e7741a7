"""A report in a few lines, for the person at the screen."""

from __future__ import annotations

from elbowroom.core.findings.phrases import name_verdict
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.findings.types import Beyond, Finding
from elbowroom.core.quantities.phrases import LengthUnit, phrase_uncertain
from elbowroom.core.quantities.types import Absent

CAUTION = (
    "Screening aid for use by or with licensed clinicians; not a diagnosis. Pain, numbness, locking, swelling, a pop "
    "or lost motion: stop throwing and be examined."
)
"""The caution that goes with findings wherever they are shown (design.md 5, short)."""


def describe_report(report: ScreeningReport, lengths: LengthUnit) -> tuple[str, ...]:
    """Return the headline findings, what to work on first and the caution, a line each."""
    headlines = [finding for finding in report.findings if finding.definition.headline]
    lines = [f"{report.athlete.name}: {_count(len(report.throws), 'throw')} in {_count(_count_clips(report), 'clip')}"]
    lines += [describe_finding(finding, lengths) for finding in headlines]
    return (*lines, describe_first(report), CAUTION)


def describe_first(report: ScreeningReport) -> str:
    """Return what to work on first with its reason, or that nothing is sure enough to be put first."""
    first = report.priorities[0] if report.priorities else None
    if first is None or not isinstance(first.finding.verdict, Beyond):
        return "First: no measure is beyond its limits with enough certainty to be put first."
    return f"First: {first.finding.definition.words}. {first.reason}"


def describe_finding(finding: Finding, lengths: LengthUnit) -> str:
    """Return one finding in a line: its value with give or take, and its verdict, or why there is none."""
    words, verdict = finding.definition.words, name_verdict(finding.verdict)
    if isinstance(finding.typical, Absent):
        return f"  {words}: {verdict}. {finding.typical.reason}"
    return f"  {words}: {phrase_uncertain(finding.typical, lengths)}: {verdict}"


def _count_clips(report: ScreeningReport) -> int:
    return len(report.set_up.clips)


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
