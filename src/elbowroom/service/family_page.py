"""Use case: a screening in plain words, for one page that a family takes home. Loads are left out on purpose."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from elbowroom.core.findings.phrases import phrase_limits
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.findings.types import Beyond, Finding, Tolerance, TooCloseToCall, Within
from elbowroom.core.instants.types import InstantName
from elbowroom.core.quantities.phrases import LengthUnit, phrase_uncertain
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.service.paper_values import BodyPart, FamilyPage, NextSteps, PlainItem
from elbowroom.service.plain_words import CAUTIONS, SIGNS, find_plain_words, find_when

NO_INSTANT = Absent(reason="It belongs to no single instant.")
"""Stands for the instant of a message about the whole throw."""
MOST = 3
"""Messages of one sort on the page (common practice, no source: few messages are kept in mind)."""


def build_family_page(report: ScreeningReport, steps: NextSteps, lengths: LengthUnit) -> FamilyPage:
    """Return the messages of the family page: at most three of each sort, none of them about loads."""
    work = select_titles(
        build_item(item.finding, lengths) for item in report.priorities if isinstance(item.finding.verdict, Beyond)
    )
    if steps.is_held:
        work = tuple(replace(item, cue="") for item in work)
    taken = {item.title for item in work}
    good = select_titles(
        item
        for item in (build_item(finding, lengths) for finding in order_good(report.findings))
        if item.title not in taken
    )
    taken |= {item.title for item in good}
    unsure = [item.finding for item in report.priorities if isinstance(item.finding.verdict, TooCloseToCall)]
    again = dict.fromkeys(build_item(finding, lengths).title for finding in unsure)
    return FamilyPage(
        name=report.athlete.name,
        made_on=report.made_on,
        opening=phrase_opening(report),
        good=good,
        work=work,
        again=tuple(title for title in again if title not in taken)[:MOST],
        steps=steps,
        signs=SIGNS,
        cautions=CAUTIONS,
        gaps=() if has_result(report) else list_gaps(report),
    )


def select_titles(items: Iterable[PlainItem]) -> tuple[PlainItem, ...]:
    """Return the first items, one a title."""
    kept: dict[str, PlainItem] = {}
    for item in items:
        kept.setdefault(item.title, item)
    return tuple(kept.values())[:MOST]


def order_good(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings within their limits: headlines first, then what matters most."""
    within = [finding for finding in findings if isinstance(finding.verdict, Within)]
    return sorted(within, key=lambda finding: (not finding.definition.headline, -_find_consequence(finding)))


def build_item(finding: Finding, lengths: LengthUnit) -> PlainItem:
    """Return a finding in plain words; a measure without plain words is called by its name."""
    words = find_plain_words(finding.definition.key)
    is_good, is_low = isinstance(finding.verdict, Within), _is_low(finding)
    name = finding.definition.words
    says, cue = f"We looked at your {name}.", ""
    if words is not None:
        says = words.good if is_good else (words.low if is_low else words.high)
        cue = "" if is_good else (words.low_cue if is_low else words.high_cue)
    today, wanted = phrase_values(finding, lengths)
    return PlainItem(
        title=words.title if words else name[:1].upper() + name[1:],
        says=says.replace("{when}", find_when(finding.definition.key)).replace(" .", "."),
        cue=cue,
        today=today,
        wanted=wanted,
        part=words.part if words else BodyPart.WHOLE,
        instant=find_instant(finding.definition.key),
    )


def phrase_values(finding: Finding, lengths: LengthUnit) -> tuple[str, str]:
    """Return the value and its limits in words; empty texts for a bare ratio, which says nothing to a family."""
    typical, tolerance = finding.typical, finding.tolerance
    if not (isinstance(typical, Uncertain) and isinstance(tolerance, Tolerance)) or typical.unit == "1":
        return "", ""
    return phrase_uncertain(typical, lengths), phrase_limits(tolerance, lengths)


def find_instant(key: str) -> InstantName | Absent:
    """Return the instant at the end of a measure's key, foot contact for the stride, or that there is none."""
    named = {name.value.replace(" ", "_"): name for name in InstantName}
    if key.startswith("stride"):
        return InstantName.FOOT_CONTACT
    return named.get(key.partition("_at_")[2], NO_INSTANT)


def phrase_opening(report: ScreeningReport) -> tuple[str, ...]:
    """Return what was done, in plain words."""
    throws, clips = len(report.throws), len(report.set_up.clips)
    filmed = "We filmed one of your throws." if throws == 1 else f"We filmed {throws} of your throws."
    phones = "We used one phone." if clips == 1 else f"We used {clips} phones."
    return filmed, phones, "Then we looked at how you move."


def has_result(report: ScreeningReport) -> bool:
    """Say whether any measure was held against its limits."""
    return any(isinstance(finding.verdict, Within | Beyond | TooCloseToCall) for finding in report.findings)


def list_gaps(report: ScreeningReport) -> tuple[str, ...]:
    """Return, for a page without any result, what happened and what to do."""
    advice = dict.fromkeys(
        finding.typical.advice
        for finding in report.findings
        if isinstance(finding.typical, Absent) and finding.typical.advice
    )
    return ("We could not measure your throw this time. That is not your fault.", *list(advice)[:2])


def _find_consequence(finding: Finding) -> float:
    return finding.tolerance.consequence if isinstance(finding.tolerance, Tolerance) else 0.0


def _is_low(finding: Finding) -> bool:
    """Say whether the typical throw lies on the low side of its limits."""
    if not (isinstance(finding.typical, Uncertain) and isinstance(finding.tolerance, Tolerance)):
        return False
    below, above = finding.tolerance.lower - finding.typical.value, finding.typical.value - finding.tolerance.upper
    return below > above
