"""The visits of the demo club: invented numbers about published means, judged by the real judge."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from elbowroom.core.cameras.types import View
from elbowroom.core.chain.judging import JudgeTables, choose_shown_bands
from elbowroom.core.findings.choose import choose_bands, choose_tolerance
from elbowroom.core.findings.judge import judge_measure
from elbowroom.core.findings.order import find_half_width, order_findings
from elbowroom.core.findings.report import (
    AthleteCard,
    ClipCard,
    MadeWith,
    MethodPart,
    Missing,
    ScreeningReport,
    SetUpCard,
    ThrowCard,
)
from elbowroom.core.findings.types import Finding, Tolerance
from elbowroom.core.instants.types import InstantName, Instants
from elbowroom.core.measures.registry import MEASURES
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Source
from elbowroom.service.demo_people import DAYS_A_YEAR, DemoAthlete

INVENTED = "Invented data of the demo club: nobody was filmed, and no number belongs to a person."
NO_NUMBER = Absent(reason="The demo club invents no number for this measure.", advice="Film a visit to measure it.")
NOTHING_FILMED = Absent(reason="Nothing was filmed: the data are invented.")
STANDARDS = {
    "deg": {Source.LANDMARKS: 2.0, Source.TIMING: 1.4, Source.JOINT_OFFSET: 1.8, Source.CAMERAS: 0.9},
    "m": {Source.LANDMARKS: 0.006, Source.TIMING: 0.003, Source.SCALE: 0.006, Source.TARGET: 0.008},
    "%": {Source.LANDMARKS: 0.6, Source.SCALE: 0.7, Source.TIMING: 0.3},
    "s": {Source.TIMING: 0.012, Source.CLOCKS: 0.002},
    "1": {Source.LANDMARKS: 0.02, Source.JOINT_OFFSET: 0.02, Source.TIMING: 0.01},
}
"""Invented budgets of one throw by unit, of the size that rendered visits gave."""
SCATTER = {"deg": 3.0, "m": 0.015, "%": 1.5, "s": 0.02, "1": 0.03}
"""Invented standard deviation between throws by unit."""
INSTANTS_S = {
    InstantName.LIFT: 0.0,
    InstantName.HANDS_APART: 0.34,
    InstantName.FOOT_CONTACT: 0.90,
    InstantName.LAYBACK: 1.02,
    InstantName.RELEASE: 1.06,
    InstantName.FINISH: 1.45,
}
"""Invented times of the instants of a throw; only that from lift to contact is near a published mean."""


@dataclass(frozen=True, kw_only=True)
class DemoTraits:
    """How an invented athlete throws and changes."""

    start: Mapping[str, float]
    """Typical value of each measure at the first visit, in its unit."""
    drift: Mapping[str, float]
    """Change from one visit to the next, in its unit."""


def draw_traits(athlete: DemoAthlete, tables: JudgeTables, rng: np.random.Generator) -> DemoTraits:
    """Draw how an athlete throws: about published means, about the aim where nothing is published.

    Half of what starts outside its limits moves a part of the way back at every visit; the rest wanders a little.
    """
    day = athlete.visits[0]
    card = build_card(athlete, day)
    start: dict[str, float] = {}
    drift: dict[str, float] = {}
    for definition in MEASURES:
        tolerance = choose_tolerance(tables.tolerances, definition.key, card.age_years, card.height_m, card.kind)
        centre = _find_centre(definition.key, card, tables, tolerance)
        if isinstance(centre, Absent):
            continue
        mean, sd = centre
        start[definition.key] = float(rng.normal(mean, sd))
        drift[definition.key] = _draw_drift(start[definition.key], tolerance, sd, rng)
    return DemoTraits(start=start, drift=drift)


def build_card(athlete: DemoAthlete, day: date) -> AthleteCard:
    """Return who was screened on a day."""
    return AthleteCard(
        name=athlete.name,
        age_years=round((day - athlete.born_on).days / DAYS_A_YEAR, 1),
        height_m=athlete.find_height_m(day),
        hand=athlete.hand,
        kind=athlete.kind,
    )


def draw_report(
    athlete: DemoAthlete,
    traits: DemoTraits,
    visit: int,
    tables: JudgeTables,
    made_with: Sequence[MadeWith],
    rng: np.random.Generator,
) -> ScreeningReport:
    """Draw the throws of one visit (numbered from 0) and return its report, judged as any other."""
    day = athlete.visits[visit]
    card, count = build_card(athlete, day), int(rng.integers(3, 6))
    findings = tuple(_judge(key, values, card, tables) for key, values in _draw_values(traits, visit, count, rng))
    return ScreeningReport(
        athlete=card,
        made_on=day,
        set_up=_build_set_up(athlete, day),
        throws=tuple(_draw_throw(number, rng) for number in range(1, count + 1)),
        findings=findings,
        priorities=order_findings(findings),
        curves=(),
        pictures=(),
        missing=(Missing(what="clips", absent=NOTHING_FILMED),),
        bands=choose_shown_bands(tables.bands, card.age_years),
        rule=tables.rule,
        method=(MethodPart(title="Where the numbers come from", text=INVENTED),),
        made_with=tuple(made_with),
        loads=NOTHING_FILMED,
        cautions=(INVENTED,),
    )


def _find_centre(
    key: str, card: AthleteCard, tables: JudgeTables, tolerance: Tolerance | Absent
) -> tuple[float, float] | Absent:
    """Return mean and spread to draw a measure from: a published group, or the aim and part of the half band."""
    bands = [band for band in choose_bands(tables.bands, key, card.age_years) if band.is_seen]
    if bands:
        return bands[0].mean, bands[0].sd
    if isinstance(tolerance, Absent) or tolerance.aim is None:
        return NO_NUMBER
    return tolerance.aim, 0.7 * find_half_width(tolerance)


def _draw_drift(value: float, tolerance: Tolerance | Absent, sd: float, rng: np.random.Generator) -> float:
    wander = float(rng.normal(0.0, 0.12 * sd))
    if isinstance(tolerance, Absent) or tolerance.lower <= value <= tolerance.upper or rng.random() < 0.5:
        return wander
    aim = (tolerance.lower + tolerance.upper) / 2 if tolerance.aim is None else tolerance.aim
    return 0.3 * (aim - value)


def _draw_values(
    traits: DemoTraits, visit: int, count: int, rng: np.random.Generator
) -> list[tuple[str, list[Obtained]]]:
    drawn: list[tuple[str, list[Obtained]]] = []
    for definition in MEASURES:
        key, unit = definition.key, definition.unit
        if key not in traits.start:
            drawn.append((key, [NO_NUMBER] * count))
            continue
        standards = STANDARDS[unit]
        shared = rng.normal(0.0, 0.5 * standards.get(Source.JOINT_OFFSET, standards.get(Source.SCALE, 0.0)))
        typical = traits.start[key] + visit * traits.drift[key] + shared
        drawn.append(
            (key, [build_uncertain(rng.normal(typical, SCATTER[unit]), unit, standards) for _ in range(count)])
        )
    return drawn


def _judge(key: str, values: Sequence[Obtained], card: AthleteCard, tables: JudgeTables) -> Finding:
    definition = next(item for item in MEASURES if item.key == key)
    tolerance = choose_tolerance(tables.tolerances, key, card.age_years, card.height_m, card.kind)
    return judge_measure(definition, values, tolerance, tables.rule)


def _draw_throw(number: int, rng: np.random.Generator) -> ThrowCard:
    start_s = 10.0 * number
    times = {
        name: build_uncertain(start_s + at_s + rng.normal(0.0, 0.01), "s", {Source.TIMING: 0.008})
        for name, at_s in INSTANTS_S.items()
    }
    return ThrowCard(number=number, clips=("invented",), instants=Instants(times=dict(times)), notes=(INVENTED,))


def _build_set_up(athlete: DemoAthlete, day: date) -> SetUpCard:
    digest = hashlib.sha256(f"demo club, {athlete.name}, {day}".encode()).hexdigest()
    clip = ClipCard(
        name="invented",
        view=View.OPEN_SIDE,
        rate_hz=240.0,
        picture_count=1,
        residual_px=NOTHING_FILMED,
        digest=digest,
        notes=(INVENTED,),
    )
    return SetUpCard(
        how=INVENTED,
        clips=(clip,),
        scale_share=NOTHING_FILMED,
        target_error=NOTHING_FILMED,
        clock_error=NOTHING_FILMED,
    )
