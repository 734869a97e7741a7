"""Choosing drills by rules that can be read: every choice says why, and every drill that is left out why not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from elbowroom.core.findings.types import VerdictWord
from elbowroom.core.plan.drills import Caution, Dose, Drill, TrainingStage, find_dose
from elbowroom.core.plan.links import Fault, FaultSide
from elbowroom.core.plan.thresholds import ExamFinding
from elbowroom.core.plan.warnings import Hold, Standing, phrase_hold
from elbowroom.core.quantities.types import Absent

MOST_DRILLS = 4
"""Most drills at a time (common practice, no source: few are done, many are not)."""
YOUNG_YEARS, MOST_DRILLS_YOUNG = 11, 3
"""Up to this age, at most so many (common practice, no source)."""


class RuleTopic(StrEnum):
    """What a rule looks at."""

    THROW = "throw"
    EXAM = "exam"


@dataclass(frozen=True, kw_only=True)
class DrillRule:
    """One row of the rules: what was found, and the drill that answers it."""

    topic: RuleTopic
    """Whether it looks at the throw or at the exam."""
    key: str
    """Key of the measure or of the exam's quantity."""
    side: FaultSide
    """Above or below the limits; `any` for both, and for the exam."""
    also_too_close: bool
    """Whether a verdict `too close to call` is enough."""
    drill: str
    """Key of the drill."""
    rank: int
    """1 for the first choice of this fault, 2 for the next."""
    why: str
    """Why this drill answers it, a clause after "because"."""
    source: str
    """Where the rule comes from, or `common practice, no source`."""


@dataclass(frozen=True, kw_only=True)
class Situation:
    """What drills are chosen for."""

    standing: Standing | Absent
    """Whether throwing work is allowed at all, or absent where nothing was asked."""
    age_years: float
    """Age of the athlete."""
    stage: TrainingStage
    """Stage of the work."""
    faults: tuple[Fault, ...]
    """What the screening found, in any order."""
    exam: tuple[ExamFinding, ...]
    """What the exam found, in any order; empty where there was none."""
    cautions: tuple[Caution, ...]
    """What speaks against drills."""


@dataclass(frozen=True, kw_only=True)
class ChosenDrill:
    """A drill that was chosen."""

    drill: Drill
    """The drill."""
    dose: Dose
    """How much of it."""
    why: str
    """Why it was chosen, a sentence."""


@dataclass(frozen=True, kw_only=True)
class RefusedDrill:
    """A drill that was not chosen."""

    drill: Drill
    """The drill."""
    why_not: str
    """Why not, a sentence."""


@dataclass(frozen=True, kw_only=True)
class DrillChoice:
    """The whole library, each drill either chosen or not, with its reason."""

    chosen: tuple[ChosenDrill, ...]
    """The chosen ones, the most important first."""
    refused: tuple[RefusedDrill, ...]
    """All others, by key."""


@dataclass(frozen=True, kw_only=True)
class _Wish:
    """A drill that a rule asks for."""

    place: tuple[int, int, str]
    """Rank within the fault, place of the fault, key: the order of choosing."""
    rule: DrillRule
    """The rule."""
    found: str
    """What was found, a clause."""


def choose_drills(situation: Situation, drills: Sequence[Drill], rules: Sequence[DrillRule]) -> DrillChoice:
    """Return what to do, and why all else is left out.

    On hold, or where no intake was taken, nothing is chosen. The first choice of every fault comes before the second
    of any, faults in the order of work and the exam's findings after them. Nothing depends on the order of the input.
    """
    stop = _find_stop(situation)
    library = sorted(drills, key=lambda drill: drill.key)
    if stop:
        return DrillChoice(chosen=(), refused=tuple(RefusedDrill(drill=item, why_not=stop) for item in library))
    wishes = _collect_wishes(situation, rules)
    most = MOST_DRILLS_YOUNG if situation.age_years < YOUNG_YEARS + 1 else MOST_DRILLS
    chosen: list[ChosenDrill] = []
    refused: list[RefusedDrill] = []
    for drill in sorted(library, key=lambda item: _find_place(item, wishes)):
        wish, dose = wishes.get(drill.key), find_dose(drill, situation.age_years, situation.stage)
        why_not = _find_hindrance(drill, wish, dose, situation)
        if not why_not and len(chosen) >= most:
            why_not = f"Enough for now: {most} drills at a time; it comes next when one of them is done."
        if why_not or wish is None or dose is None:
            refused.append(RefusedDrill(drill=drill, why_not=why_not))
        else:
            chosen.append(ChosenDrill(drill=drill, dose=dose, why=_phrase_why(wish)))
    return DrillChoice(chosen=tuple(chosen), refused=tuple(sorted(refused, key=lambda item: item.drill.key)))


def _find_stop(situation: Situation) -> str:
    if isinstance(situation.standing, Absent):
        return "No intake was taken, so nobody knows of warning signs: ask the questions first."
    return phrase_hold(situation.standing, "drills") if isinstance(situation.standing, Hold) else ""


def _collect_wishes(situation: Situation, rules: Sequence[DrillRule]) -> dict[str, _Wish]:
    """Return for every drill that a rule asks for the rule that brings it to the best place."""
    last = max((fault.place for fault in situation.faults), default=0)
    wishes = [wish for rule in rules for wish in _apply_rule(rule, situation, last)]
    ordered = sorted(wishes, key=lambda wish: (wish.place, wish.rule.why, wish.found))
    best: dict[str, _Wish] = {}
    for wish in ordered:
        best.setdefault(wish.rule.drill, wish)
    return best


def _apply_rule(rule: DrillRule, situation: Situation, last: int) -> list[_Wish]:
    if rule.topic is RuleTopic.THROW:
        return [
            _Wish(place=(rule.rank, fault.place, rule.drill), rule=rule, found=_phrase_fault(fault))
            for fault in situation.faults
            if fault.measure == rule.key and _is_side(rule, fault) and _is_sure(rule, fault.word)
        ]
    return [
        _Wish(
            place=(rule.rank, last + 1, rule.drill),
            rule=rule,
            found=f"{item.measured.quantity.words} is {item.word}",
        )
        for item in situation.exam
        if item.measured.quantity.key == rule.key and _is_sure(rule, item.word)
    ]


def _is_side(rule: DrillRule, fault: Fault) -> bool:
    return FaultSide.ANY in (rule.side, fault.side) or rule.side is fault.side


def _is_sure(rule: DrillRule, word: VerdictWord) -> bool:
    return word is VerdictWord.BEYOND or (rule.also_too_close and word is VerdictWord.TOO_CLOSE)


def _phrase_fault(fault: Fault) -> str:
    side = "" if fault.side is FaultSide.ANY else f", too {fault.side}"
    return f"{fault.words} is {fault.word}{side} (place {fault.place} in the order of work)"


def _find_place(drill: Drill, wishes: dict[str, _Wish]) -> tuple[bool, tuple[int, int, str]]:
    wish = wishes.get(drill.key)
    return (wish is None, (0, 0, drill.key) if wish is None else wish.place)


def _find_hindrance(drill: Drill, wish: _Wish | None, dose: Dose | None, situation: Situation) -> str:
    against = [caution for caution in situation.cautions if caution in drill.cautions]
    if against:
        return f"Not with {', '.join(against)}: {drill.load}."
    if wish is None:
        return "Nothing that was found asks for it."
    if dose is None:
        return f"No dose is written for {int(situation.age_years)} years in the stage {situation.stage}."
    return ""


def _phrase_why(wish: _Wish) -> str:
    return f"Chosen because {wish.found}, and {wish.rule.why} ({wish.rule.source})."
