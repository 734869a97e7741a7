"""Advice before filming: what planned phones will measure, and where to move one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import cos, radians, sin

import numpy as np

from elbowroom.core.chain.predicting import FilmingPlan, Known, TypicalThrow, predict_measures
from elbowroom.core.chain.types import ChainSetting
from elbowroom.core.findings.report import AthleteCard, ThrowingHand
from elbowroom.core.landmarks.models import LandmarkTables
from elbowroom.core.measures.registry import HEADLINES, get_rule
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.phrases import LengthUnit, choose_decimals, convert_shown_value, phrase_number
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain
from elbowroom.core.reconstruction.priors import build_priors
from elbowroom.core.reconstruction.types import BoneShare
from elbowroom.errors import SetUpError
from elbowroom.service.placing_types import ExpectedMeasure, FilmingAdvice, FilmingRequest
from elbowroom.service.summary import CAUTION

Place = tuple[float, float, float]
TURNS_DEG = (-50.0, -25.0, 25.0, 50.0)
"""How far round the thrower each phone is tried."""
LEAST_GAIN = 0.12
"""Gain (1 less the ratio of the mean spreads) from which a move is worth telling; chosen by this project."""
DRAWS, SEED = 200, 20
"""Draws of one prediction, and their seed."""
TARGET_DISTANCE_M = 14.0
"""About where the ball arrives; only a mark at the target would need it better."""
PLANNED_YEARS = 13.0
"""Age of a planned athlete; no interval hangs on it."""
STEPS = (
    "Stand each phone on a tripod at belt to chest height, level and lying, and touch nothing until the last throw.",
    "Aim so that head, feet and the whole stride stay in the picture, with a hand's width to spare.",
    "Film at 240 pictures a second, in good light; let both phones run from before the first throw to after the last.",
    "Clap once, hard, in view of all phones before the first throw.",
    "Three throws are enough; five show better how much they differ.",
    "Only the athlete moves in the picture; no one walks between phone and thrower.",
)
LAYING = {
    Known.BOARD: "Film the printed board with each phone from where it stands, as the page on the visit file says.",
    Known.TAPE: "Lay a tape of {tape:.2g} m from the pivot foot towards the target, both ends in both pictures.",
    Known.NOTHING: "Measure the athlete's standing height without shoes: all lengths hang on it.",
}


@dataclass(frozen=True, kw_only=True)
class FilmingTools:
    """What the advice needs from outside."""

    typical: TypicalThrow
    """The typical throw."""
    landmark_tables: LandmarkTables
    """Errors of the landmark model."""
    bone_shares: tuple[BoneShare, ...]
    """Usual bone lengths."""


def describe_filming(request: FilmingRequest, tools: FilmingTools) -> FilmingAdvice:
    """Return what the planned phones will measure and what would do better."""
    plan, setting = mirror_plan(request), build_filming_setting(request, tools)
    found = predict(plan, setting, tools)
    laid = LAYING[plan.known].format(tape=plan.tape_m)
    refusal = f"{found.reason} {found.advice}".strip() if isinstance(found, Absent) else ""
    return FilmingAdvice(
        request=request,
        measures=() if isinstance(found, Absent) else tuple(phrase_measure(key, found[key]) for key in HEADLINES),
        refusal=refusal,
        moves=() if isinstance(found, Absent) else tuple(list_moves(request, plan, found, (setting, tools))),
        steps=(*STEPS[:2], laid, *STEPS[2:]),
        caution=CAUTION,
    )


def mirror_plan(request: FilmingRequest) -> FilmingPlan:
    """Return the plan as for a right-hander."""
    if request.athlete.hand is ThrowingHand.RIGHT:
        return request.plan
    return replace(request.plan, places_m=tuple((x, -y, z) for x, y, z in request.plan.places_m))


def build_filming_setting(request: FilmingRequest, tools: FilmingTools) -> ChainSetting:
    """Return what the chain needs, a right-hander in the place of the athlete."""
    return ChainSetting(
        athlete=replace(request.athlete, hand=ThrowingHand.RIGHT),
        tables=tools.landmark_tables,
        priors=build_priors(tools.bone_shares, request.athlete.height_m, 0.0),
        target_m=(TARGET_DISTANCE_M, 0.0, 0.7),
        draws=DRAWS,
    )


def predict(plan: FilmingPlan, setting: ChainSetting, tools: FilmingTools) -> Mapping[str, Obtained] | Absent:
    """Return the measures of the typical throw by these phones; the same plan gives the same numbers."""
    return predict_measures(plan, tools.typical, setting, np.random.default_rng(SEED))


def phrase_measure(key: str, expected: Obtained) -> ExpectedMeasure:
    """Return a headline measure in words."""
    words = get_rule(key).definition.words
    if isinstance(expected, Absent):
        return ExpectedMeasure(words=words, spread=f"not measured: {expected.reason}", dominant="", expected=expected)
    source = expected.dominant
    dominant = "" if isinstance(source, Absent) else source.source.value
    return ExpectedMeasure(words=words, spread=phrase_spread(expected), dominant=dominant, expected=expected)


def phrase_spread(expected: Uncertain) -> str:
    """Return the half width of a 95 % interval in words."""
    shown = convert_shown_value(expected.half_width, expected.unit, LengthUnit.CENTIMETRES)
    half = phrase_number(expected.half_width, expected.unit, LengthUnit.CENTIMETRES, choose_decimals(shown))
    return f"give or take {half} (95 %)"


def list_moves(
    request: FilmingRequest,
    plan: FilmingPlan,
    found: Mapping[str, Obtained],
    with_what: tuple[ChainSetting, FilmingTools],
) -> list[str]:
    """Return what would do better: something laid out, or a phone moved, tried as with a board for speed."""
    lines = compare_laying(plan, found, with_what)
    known = replace(plan, known=Known.BOARD)
    base = average_spreads_ratio(predict(known, *with_what))
    tried = [(average_spreads_ratio(predict(moved, *with_what)), number, moved) for number, moved in list_turned(known)]
    best = min(tried, key=lambda item: item[0], default=None)
    if best is not None and best[0] < (1.0 - LEAST_GAIN) * base:
        gain = 100 * (1.0 - best[0] / base)
        place = best[2].places_m[best[1]]
        lines.append(f"Move phone {best[1] + 1} to {phrase_place(place, request)}: spreads shrink by {gain:.0f} %.")
    return lines


def compare_laying(
    plan: FilmingPlan, found: Mapping[str, Obtained], with_what: tuple[ChainSetting, FilmingTools]
) -> list[str]:
    """Return what a tape would bring where nothing is laid out."""
    if plan.known is not Known.NOTHING or len(plan.places_m) == 1:
        return []
    taped = predict(replace(plan, known=Known.TAPE), *with_what)
    if isinstance(taped, Absent):
        return []
    better = [
        f"{get_rule(key).definition.words} {phrase_spread(after)} instead of {phrase_spread(before)}"
        for key in HEADLINES
        if isinstance(before := found[key], Uncertain)
        and isinstance(after := taped[key], Uncertain)
        and after.standard < (1.0 - LEAST_GAIN) * before.standard
    ]
    laid = f"Lay a tape of {plan.tape_m:.2g} m from the pivot foot towards the target and mark its ends in both clips"
    return [f"{laid}: {'; '.join(better)}."] if better else []


def average_spreads_ratio(found: Mapping[str, Obtained] | Absent) -> float:
    """Return one number for how wide the headline measures are, smaller is better; infinite where one is missing."""
    if isinstance(found, Absent):
        return float("inf")
    spreads = [value.standard if isinstance(value := found[key], Uncertain) else np.inf for key in HEADLINES]
    return float(np.exp(np.mean(np.log(np.array(spreads)))))


def list_turned(plan: FilmingPlan) -> list[tuple[int, FilmingPlan]]:
    """Return the plan with one phone at a time carried round the thrower, and which."""
    moved = []
    for number, place in enumerate(plan.places_m):
        for turn in TURNS_DEG:
            places = list(plan.places_m)
            places[number] = turn_place(place, turn)
            moved.append((number, replace(plan, places_m=tuple(places))))
    return moved


def turn_place(place: Place, turn_deg: float) -> Place:
    """Return a place carried round the thrower, counterclockwise seen from above."""
    cosine, sine = cos(radians(turn_deg)), sin(radians(turn_deg))
    x, y, z = place
    return cosine * x - sine * y, sine * x + cosine * y, z


def phrase_place(place: Place, request: FilmingRequest) -> str:
    """Return a place in words, as it lies for the athlete's own hand."""
    x, y, z = place
    y = y if request.athlete.hand is ThrowingHand.RIGHT else -y
    along = f"{abs(x):.1f} m {'ahead of' if x >= 0 else 'behind'} the pivot foot"
    return f"{along}, {abs(y):.1f} m to the {'left' if y >= 0 else 'right'} of the line to the target, {z:.1f} m high"


def build_request(height_m: float, hand: str, places_m: Sequence[Place], known: str, tape_m: float) -> FilmingRequest:
    """Return a request from what a person said; raises SetUpError where a phone cannot stand there."""
    wrong = check_places(places_m)
    if wrong:
        raise SetUpError(wrong)
    athlete = AthleteCard(
        name="planned", age_years=PLANNED_YEARS, height_m=height_m, hand=ThrowingHand(hand), kind=ThrowKind.FLAT_PITCH
    )
    return FilmingRequest(
        athlete=athlete, plan=FilmingPlan(places_m=tuple(places_m), known=Known(known), tape_m=tape_m)
    )


def describe_advice(advice: FilmingAdvice) -> tuple[str, ...]:
    """Return the advice in lines for the person at the screen."""
    if advice.refusal:
        return (advice.refusal,)
    lines = [f"  {item.words}: {item.spread}{name_dominant(item)}" for item in advice.measures]
    better = [f"Better: {move}" for move in advice.moves] or ["No phone has to be moved."]
    return ("On a typical throw these places would give:", *lines, *better, advice.caution)


def name_dominant(item: ExpectedMeasure) -> str:
    """Return what makes most of an interval, in brackets."""
    return f" (most of it: {item.dominant})" if item.dominant else ""


def check_places(places: Sequence[Place]) -> str:
    """Return what is wrong with planned places, empty where nothing is."""
    near = [number for number, place in enumerate(places, start=1) if not 2.0 <= np.hypot(place[0], place[1]) <= 20.0]
    high = [number for number, place in enumerate(places, start=1) if not 0.3 <= place[2] <= 4.0]
    if near:
        return f"Phone {near[0]} has to stand 2 to 20 m from the pivot foot."
    return f"Phone {high[0]} has to stand 0.3 to 4 m high." if high else ""
