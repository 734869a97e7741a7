"""Use case: a screened visit measured again with corrections, only what depends on them anew."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from elbowroom.core.chain.bearing import join_loads
from elbowroom.core.chain.correcting import (
    FIRST_DRAWS,
    PlannedThrow,
    apply_corrections,
    draw_planned,
    measure_planned,
)
from elbowroom.core.chain.judging import (
    JudgeTables,
    choose_shown_bands,
    join_lines,
    judge_throws,
    list_missing,
    order_visit,
)
from elbowroom.core.chain.types import ChainSetting, Change, DrawSeed, FailedThrow, MeasuredVisit
from elbowroom.core.chain.visit import DrawnThrow
from elbowroom.core.chain.workings import ThrowResult, Workings, build_result
from elbowroom.core.findings.phrases import name_verdict
from elbowroom.core.findings.report import Curve, KeyPicture, ScreeningReport, ThrowCard
from elbowroom.core.findings.types import Finding
from elbowroom.core.landmarks.models import LandmarkTables
from elbowroom.core.loads.types import LoadTables
from elbowroom.core.measures.series import SERIES
from elbowroom.core.quantities.phrases import phrase_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain
from elbowroom.errors import CorrectionError
from elbowroom.service.correction_values import MeasureChange, VisitChange
from elbowroom.service.correction_words import name_joint

MOST_DRAWN = 4
"""Throws whose draws are kept in memory; those of one throw take about 60 MB."""
MOST_RESULTS = 400
"""Results of throws that are kept in memory."""
NOTICED_SHARE = 0.02
"""A measure that moved by less than this share of its standard uncertainty counts as unchanged."""
LEAST_STANDARD = 1e-9
"""Stands for a standard uncertainty of nothing."""


@dataclass(frozen=True, kw_only=True)
class CorrectingTools:
    """What a correction needs from outside."""

    landmark_tables: LandmarkTables
    """Errors of the landmark model."""
    load_tables: LoadTables
    """Body segments, balls and published loads."""
    judge_tables: JudgeTables
    """Tolerances, bands and decision rule."""


@dataclass
class Remembered:
    """What was worked out for one visit; the longest unused is dropped first."""

    drawn: OrderedDict[Hashable, DrawnThrow | FailedThrow] = field(default_factory=OrderedDict)
    """Draws by throw, joints placed by hand and number of draws."""
    results: OrderedDict[Hashable, ThrowResult | FailedThrow] = field(default_factory=OrderedDict)
    """Numbers by the same and the instants placed by hand."""


@dataclass(frozen=True, kw_only=True)
class Measured:
    """A visit measured with corrections."""

    report: ScreeningReport
    """The report."""
    results: tuple[ThrowResult, ...]
    """The throws that were measured."""
    planned: tuple[PlannedThrow, ...]
    """All throws as the corrections want them."""


def measure_changes(
    workings: Workings,
    changes: Sequence[Change],
    tools: CorrectingTools,
    remembered: Remembered,
    *,
    is_first: bool = False,
) -> Measured:
    """Return the visit with all of the changes; `is_first` asks for the quick answer, with fewer draws and steps.

    The same workings and changes give the same numbers, whatever was worked out before; without any change they are
    those of the screening. Raises `CorrectionError` where a change does not fit.
    """
    setting = build_setting(workings, tools, FIRST_DRAWS if is_first else workings.draws)
    planned = apply_corrections(workings, changes)
    found = [measure_throw(throw, workings, setting, remembered) for throw in planned]
    results = tuple(item for item in found if isinstance(item, ThrowResult))
    if not results:
        raise CorrectionError("No throw would be left to measure: put one of them back.")
    failed = tuple(item for item in found if isinstance(item, FailedThrow))
    report = build_corrected_report(workings, planned, results, failed, tools)
    return Measured(report=report, results=results, planned=planned)


def build_setting(workings: Workings, tools: CorrectingTools, draws: int) -> ChainSetting:
    """Return what the chain needs besides clips and cameras."""
    return ChainSetting(
        athlete=workings.athlete,
        tables=tools.landmark_tables,
        priors=workings.priors,
        target_m=workings.target_m,
        load_tables=tools.load_tables,
        draws=draws,
    )


def measure_throw(
    planned: PlannedThrow, workings: Workings, setting: ChainSetting, remembered: Remembered
) -> ThrowResult | FailedThrow:
    """Return a throw's numbers: those of the screening where nothing touches them, else from memory or anew."""
    kept = planned.kept
    if planned.is_untouched:
        if isinstance(kept.result, Absent):
            return FailedThrow(number=kept.number, absent=kept.result, tracked=kept.members, seed=kept.seed)
        return kept.result
    key = (*name_throw(planned), planned.instants, setting.draws)
    if key not in remembered.results:
        drawn = draw_throw(planned, workings, setting, remembered)
        if isinstance(drawn, DrawnThrow):
            remembered.results[key] = build_result(
                measure_planned(planned, drawn, workings, setting), workings.athlete.hand
            )
        else:
            remembered.results[key] = drawn
        remove_oldest(remembered.results, MOST_RESULTS)
    remembered.results.move_to_end(key)
    return remembered.results[key]


def draw_throw(
    planned: PlannedThrow, workings: Workings, setting: ChainSetting, remembered: Remembered
) -> DrawnThrow | FailedThrow:
    """Return a throw's motion with its draws, from memory where they are there."""
    key = (*name_throw(planned), setting.draws)
    if key not in remembered.drawn:
        remembered.drawn[key] = draw_planned(planned, workings, setting, make_generator(planned.kept.seed))
        remove_oldest(remembered.drawn, MOST_DRAWN)
    remembered.drawn.move_to_end(key)
    return remembered.drawn[key]


def make_generator(seed: DrawSeed) -> np.random.Generator:
    """Make the generator of a throw as the screening had it."""
    return np.random.default_rng(np.random.SeedSequence(seed.entropy, spawn_key=seed.spawn_key))


def name_throw(planned: PlannedThrow) -> tuple[Hashable, ...]:
    """Return what a throw's motion depends on: number, clips, joints placed by hand."""
    members = tuple((member.clip, member.seen.window.start_s) for member in planned.kept.members)
    return planned.kept.number, members, planned.landmarks


def remove_oldest(kept: OrderedDict[Any, Any], most: int) -> None:
    """Remove the longest unused until `most` are left."""
    while len(kept) > most:
        kept.popitem(last=False)


def build_corrected_report(
    workings: Workings,
    planned: Sequence[PlannedThrow],
    results: Sequence[ThrowResult],
    failed: tuple[FailedThrow, ...],
    tools: CorrectingTools,
) -> ScreeningReport:
    """Return the report of the screening with all that depends on the throws made anew."""
    findings = judge_throws(results, workings.athlete, tools.judge_tables)
    visit = MeasuredVisit(throws=(), failed=failed, clocks=workings.clocks)
    by_number = {throw.kept.number: throw for throw in planned}
    return replace(
        workings.report,
        throws=tuple(build_card(result, by_number[result.number], workings) for result in results),
        findings=findings,
        priorities=order_visit(findings),
        curves=build_curves(results),
        motions=tuple(result.motion for result in results),
        pictures=tuple(mark_picture(picture, by_number) for picture in list_pictures(workings, results)),
        missing=list_missing(visit),
        bands=choose_shown_bands(tools.judge_tables.bands, workings.athlete.age_years),
        rule=tools.judge_tables.rule,
        loads=join_loads(results, workings.athlete, tools.load_tables),
    )


def build_card(result: ThrowResult, planned: PlannedThrow, workings: Workings) -> ThrowCard:
    """Return a throw's card; what was put right by hand stands among its notes."""
    original = {card.number: card for card in workings.report.throws}
    if planned.is_untouched:
        return original[result.number]
    count = len(planned.kept.members)
    views = "one view" if count == 1 else f"{count} views"
    built = f"Built from {views}; landmarks and motion differ by {result.residual_px:.1f} px (weighted mean)."
    clips = tuple(workings.report.set_up.clips[member.clip].name for member in planned.kept.members)
    return ThrowCard(
        number=result.number, clips=clips, instants=result.instants, notes=(built, *describe_hand(planned, workings))
    )


def describe_hand(planned: PlannedThrow, workings: Workings) -> tuple[str, ...]:
    """Return what was put right by hand in a throw, a sentence each."""
    clips = workings.report.set_up.clips
    placed = [
        f"By hand: {name_joint(change.joint)} placed in picture {change.picture} of {clips[change.clip].name}."
        for change in planned.landmarks
    ]
    moved = [f"By hand: {change.instant} moved to {change.time_s:.3f} s." for change in planned.instants]
    return (*placed, *moved)


def build_curves(results: Sequence[ThrowResult]) -> tuple[Curve, ...]:
    """Return the curves over time, a line a throw."""
    return tuple(
        join_lines(rule, [line for result in results for line in result.lines[place]])
        for place, rule in enumerate(SERIES)
    )


def list_pictures(workings: Workings, results: Sequence[ThrowResult]) -> list[KeyPicture]:
    """Return the key pictures of the throws that are left."""
    left = {result.number for result in results}
    return [picture for picture in workings.report.pictures if picture.throw in left]


def mark_picture(picture: KeyPicture, planned: dict[int, PlannedThrow]) -> KeyPicture:
    """Return a key picture, its caption saying so where its skeleton is older than a correction."""
    if planned[picture.throw].is_untouched:
        return picture
    return replace(picture, caption=f"{picture.caption} The skeleton is as it was before a correction.")


def compare_reports(before: ScreeningReport, after: ScreeningReport, *, draws: int, is_first: bool) -> VisitChange:
    """Return what differs between two reports of one visit: verdicts first, then by how far the values moved."""
    pairs = list(zip(before.findings, after.findings, strict=True))
    changed = [build_change(old, new) for old, new in pairs if has_changed(old, new)]
    changed.sort(key=lambda change: (not change.is_verdict_changed, -weigh_move_share(change)))
    return VisitChange(measures=tuple(changed), unchanged=len(pairs) - len(changed), is_first=is_first, draws=draws)


def has_changed(before: Finding, after: Finding) -> bool:
    """Whether a finding's verdict differs, or its value by more than goes unnoticed."""
    if name_verdict(before.verdict) is not name_verdict(after.verdict):
        return True
    old, new = before.typical, after.typical
    if isinstance(old, Absent) or isinstance(new, Absent):
        return isinstance(old, Absent) is not isinstance(new, Absent)
    return abs(old.value - new.value) > NOTICED_SHARE * max(old.standard, LEAST_STANDARD)


def build_change(before: Finding, after: Finding) -> MeasureChange:
    """Return one measure before and after."""
    definition = after.definition
    return MeasureChange(
        measure=definition.key,
        words=definition.words,
        headline=definition.headline,
        before=before.typical,
        after=after.typical,
        words_before=phrase_obtained(before.typical),
        words_after=phrase_obtained(after.typical),
        verdict_before=str(name_verdict(before.verdict)),
        verdict_after=str(name_verdict(after.verdict)),
        reason_after=after.verdict.reason,
    )


def phrase_obtained(quantity: Obtained) -> str:
    """Return a value as people read it, or why there is none."""
    return quantity.reason if isinstance(quantity, Absent) else phrase_uncertain(quantity)


def weigh_move_share(change: MeasureChange) -> float:
    """Return how far a value moved in its own standard uncertainty, a share; large where it came or went."""
    if not isinstance(change.before, Uncertain) or not isinstance(change.after, Uncertain):
        return 1e9
    return abs(change.after.value - change.before.value) / max(change.before.standard, LEAST_STANDARD)
