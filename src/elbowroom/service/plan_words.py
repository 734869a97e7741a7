"""What intake, growth, exam and drills say, as lines for the person at the screen and as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from elbowroom.core.findings.types import NotMeasured, Verdict
from elbowroom.core.plan.growth import MaturityOffset
from elbowroom.core.plan.thresholds import ExamBand, ExamFinding, ThresholdVerdict, phrase_limits
from elbowroom.core.plan.warnings import Hold, Released, Standing, list_family_words
from elbowroom.core.quantities.phrases import phrase_share, phrase_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain
from elbowroom.service.drilling import DrillView
from elbowroom.service.intake import GrowthView

CAUTIONS = (
    "Screening aid for use by or with licensed clinicians; not a diagnosis.",
    "Pain, numbness, locking, swelling, a pop or lost motion means stop throwing and be examined.",
    "Local rules and the treating clinician come first.",
)
"""What is said wherever findings, drills or plans are shown."""


def list_standing_lines(standing: Standing | Absent) -> tuple[str, ...]:
    """Return whether an athlete may be tested, a line each reason, and the words for the family."""
    if isinstance(standing, Absent):
        return (f"No intake: {standing.reason} {standing.advice}",)
    if not isinstance(standing, Hold):
        return (standing.reason,)
    reasons = [
        f"  {item.sign.key}: {item.because}. Examined {item.sign.urgency}. {item.sign.clinician}".rstrip()
        for item in standing.reasons
    ]
    family = [f"  {words}" for words in list_family_words(standing)]
    return ("ON HOLD: no throwing tests, drills or plans.", *reasons, "For the family:", *family)


def describe_standing(standing: Standing | Absent) -> dict[str, Any]:
    """Return a standing as plain values."""
    if isinstance(standing, Absent):
        return {"standing": "no intake", "reason": standing.reason}
    found: dict[str, Any] = {"standing": type(standing).__name__.lower(), "reason": standing.reason}
    if isinstance(standing, Hold):
        found["signs"] = [
            {"sign": item.sign.key, "because": item.because, "urgency": str(item.sign.urgency)}
            for item in standing.reasons
        ]
        found["family"] = list(list_family_words(standing))
    if isinstance(standing, Released):
        found["releases"] = [
            {"signs": list(item.signs), "by": item.by, "on": item.on.isoformat(), "reason": item.reason}
            for item in standing.releases
        ]
    return found


def list_growth_lines(view: GrowthView | Absent) -> tuple[str, ...]:
    """Return what growth says, a line each."""
    if isinstance(view, Absent):
        return ()
    offsets = [f"  {item.equation.name}: {phrase_offset(item)}" for item in view.offsets]
    phase = (
        view.phase.reason
        if isinstance(view.phase, Absent)
        else f"{view.phase.words} ({view.phase_by}; around it with {phrase_share(view.phase.around_probability)})"
    )
    care = [f"  {item.care.words} {item.because} {item.care.reasoning} ({item.care.source})" for item in view.care]
    lines = ("Growth, years since the fastest growth:", *offsets, f"  Phase: {phase.rstrip('.')}.")
    return (*lines, f"  Height velocity: {phrase_obtained(view.velocity)}", *care)


def describe_growth(view: GrowthView | Absent) -> dict[str, Any]:
    """Return growth as plain values."""
    if isinstance(view, Absent):
        return {"absent": view.reason}
    phase = view.phase
    return {
        "offsets": [
            {"equation": item.equation.name, "offset": describe_obtained(item.offset), "note": item.equation.note}
            for item in view.offsets
        ],
        "phase": {"absent": phase.reason} if isinstance(phase, Absent) else {"words": phase.words, **vars(phase)},
        "height_velocity": describe_obtained(view.velocity),
        "care": [{"words": item.care.words, "because": item.because, "source": item.care.source} for item in view.care],
    }


def phrase_offset(item: MaturityOffset) -> str:
    """Return what one equation says, with the age at the fastest growth."""
    if isinstance(item.offset, Absent):
        return f"not measured: {item.offset.reason}"
    return f"{phrase_uncertain(item.offset)}, at an age of {phrase_obtained(item.spurt_age)}"


def phrase_obtained(value: Obtained) -> str:
    """Return a value with its give or take, or why there is none."""
    if isinstance(value, Uncertain):
        return phrase_uncertain(value)
    return f"not measured: {value.reason} {value.advice}".strip()


def describe_obtained(value: Obtained) -> dict[str, Any]:
    """Return a value as plain values."""
    if isinstance(value, Absent):
        return {"absent": value.reason, "advice": value.advice}
    return {
        "value": value.value,
        "unit": value.unit,
        "standard_uncertainty": value.standard,
        "half_width_95": value.half_width,
        "budget": [{"source": str(part.source), "standard_uncertainty": part.standard} for part in value.parts],
    }


def list_exam_lines(findings: tuple[ExamFinding, ...]) -> tuple[str, ...]:
    """Return every quantity that was read, a line each threshold below it."""
    lines: list[str] = []
    for finding in findings:
        if isinstance(finding.measured.value, Absent) and not finding.measured.rater:
            continue
        lines.append(f"{finding.measured.quantity.words}: {phrase_obtained(finding.measured.value)}")
        lines += [f"  {phrase_threshold_line(item)}" for item in finding.verdicts]
        lines += [f"  {finding.disagreement}"] if finding.disagreement else []
    return tuple(lines) or ("Nothing was read that makes a quantity.",)


@dataclass(frozen=True, kw_only=True)
class LimitRow:
    """One limit of a quantity as a page shows it."""

    limits: str
    """The limits in words."""
    word: str
    """The verdict."""
    chance: str
    """Chance of being beyond them; empty where it was not judged."""
    source: str
    """Where the limit comes from, and how it is known."""
    meaning: str
    """What was found beyond it."""


@dataclass(frozen=True, kw_only=True)
class ExamRow:
    """One quantity of the exam as a page shows it."""

    words: str
    """Name of the quantity."""
    value: str
    """The value with its give or take, or why there is none."""
    read_by: str
    """Rater and instrument; empty where nothing was read."""
    limits: tuple[LimitRow, ...]
    """Every limit that holds for the age."""
    disagreement: str
    """Where the limits disagree; empty where they do not."""
    bands: tuple[str, ...]
    """What studies found, shown beside."""


def list_exam_rows(findings: tuple[ExamFinding, ...], bands: tuple[ExamBand, ...]) -> tuple[ExamRow, ...]:
    """Return every quantity of which at least a part was read, in the order of the table."""
    return tuple(_build_row(item, bands) for item in findings if item.measured.rater)


def _build_row(item: ExamFinding, bands: tuple[ExamBand, ...]) -> ExamRow:
    read_by = ", ".join(part for part in (item.measured.rater, item.measured.instrument) if part)
    return ExamRow(
        words=item.measured.quantity.words,
        value=phrase_obtained(item.measured.value),
        read_by=read_by,
        limits=tuple(_build_limit(verdict, bool(item.measured.value)) for verdict in item.verdicts),
        disagreement=item.disagreement,
        bands=tuple(band.words for band in bands if band.quantity == item.measured.quantity.key),
    )


def _build_limit(item: ThresholdVerdict, is_read: bool) -> LimitRow:
    share = find_probability(item.verdict)
    return LimitRow(
        limits=phrase_limits(item.threshold),
        word=name_shown(item, is_read),
        chance="" if isinstance(share, Absent) else phrase_share(share),
        source=phrase_source(item),
        meaning=item.threshold.meaning,
    )


def phrase_threshold_line(item: ThresholdVerdict) -> str:
    """Return one threshold in a line: word, limits, chance, source."""
    share = find_probability(item.verdict)
    chance = "" if isinstance(share, Absent) else f", chance of being beyond {phrase_share(share)}"
    return f"{item.word} ({phrase_limits(item.threshold)}{chance}; {phrase_source(item)})"


def phrase_source(item: ThresholdVerdict) -> str:
    """Return where a limit comes from and how it is known, the latter where the source does not say it."""
    source, mark = item.threshold.source, item.threshold.mark
    return source if mark in source else f"{source} ({mark})"


def name_shown(item: ThresholdVerdict, is_read: bool) -> str:
    """Return the word of a verdict; what was read but may not be judged is `shown, not judged`."""
    is_only_shown = is_read and isinstance(item.verdict, NotMeasured)
    return "shown, not judged" if is_only_shown else str(item.word)


def find_probability(verdict: Verdict) -> float | Absent:
    """Return the probability of being beyond a limit, or why there is none."""
    return verdict.absent if isinstance(verdict, NotMeasured) else verdict.probability_beyond


def describe_exam_findings(findings: tuple[ExamFinding, ...]) -> list[dict[str, Any]]:
    """Return the findings of an exam as plain values."""
    return [
        {
            "quantity": item.measured.quantity.key,
            "words": item.measured.quantity.words,
            "sign": item.measured.quantity.sign,
            "rater": item.measured.rater,
            "instrument": item.measured.instrument,
            "value": describe_obtained(item.measured.value),
            "thresholds": [_describe_threshold(verdict) for verdict in item.verdicts],
            "disagreement": item.disagreement,
        }
        for item in findings
    ]


def list_drill_lines(view: DrillView) -> tuple[str, ...]:
    """Return what was chosen with reason and dose, then what was not and why, then links from the exam."""
    chosen = [
        line
        for number, item in enumerate(view.choice.chosen, start=1)
        for line in (f"{number}. {item.drill.name}: {item.dose.words}", f"   {item.why}", f"   {item.drill.stop}")
    ]
    refused = [f"  {item.drill.name}: {item.why_not}" for item in view.choice.refused]
    links = [f"  {item.words}" for item in view.links]
    head = chosen or ["No drill is chosen."]
    return (*head, *(["From the exam:", *links] if links else []), "Not chosen:", *refused, *CAUTIONS)


def _describe_threshold(item: ThresholdVerdict) -> dict[str, Any]:
    share = find_probability(item.verdict)
    return {
        "word": str(item.word),
        "limits": phrase_limits(item.threshold),
        "probability_beyond": None if isinstance(share, Absent) else share,
        "reason": item.verdict.reason,
        "meaning": item.threshold.meaning,
        "source": item.threshold.source,
        "mark": item.threshold.mark,
    }
