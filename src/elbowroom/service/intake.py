"""Use cases: take an intake into the record, read it back, and what growth says."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date

from elbowroom.core.plan.growth import (
    BodySize,
    ChosenCare,
    GrowthPhase,
    HeightReading,
    MaturityOffset,
    choose_care,
    estimate_height_velocity,
    estimate_maturity,
    estimate_phase,
)
from elbowroom.core.plan.intake import Intake, Problem
from elbowroom.core.plan.warnings import Standing
from elbowroom.core.quantities.types import Absent, Obtained, Uncertain
from elbowroom.service.athletes import check_consent
from elbowroom.service.holds import describe_signs, find_intake_entry, find_standing
from elbowroom.service.intake_plain import describe_intake, get_whole, read_intake
from elbowroom.service.intake_types import IntakeEntry
from elbowroom.service.plan_tables import PlanTables
from elbowroom.service.record_tools import RecordTools, get_athlete, note_act
from elbowroom.service.record_types import Act, Purpose, VisitEntry
from elbowroom.service.record_values import Stamp

LIKELY_PROBABILITY = 0.5
"""From this chance of being around the growth spurt on, drills that it speaks against are left out."""


@dataclass(frozen=True, kw_only=True)
class GrowthView:
    """What is known of an athlete's growth."""

    offsets: tuple[MaturityOffset, ...]
    """What each equation says; empty where no sex was stated."""
    phase: GrowthPhase | Absent
    """The phase by the first equation that gives a number, or why there is none."""
    phase_by: str
    """Name of that equation; empty for none."""
    velocity: Obtained
    """Height velocity in cm a year, or why there is none."""
    care: tuple[ChosenCare, ...]
    """What growth changes."""

    @property
    def is_in_spurt(self) -> bool:
        """Whether the athlete is more likely than not within a year of the fastest growth."""
        return not isinstance(self.phase, Absent) and self.phase.around_probability >= LIKELY_PROBABILITY


def keep_intake(
    tools: RecordTools, tables: PlanTables, athlete_id: str, plain: object, stamp: Stamp
) -> Standing | Absent:
    """Take an intake, given as plain values, into the record and return whether a warning sign holds.

    Raises `IntakeError` with everything that is wrong, and `ConsentError` without a consent for care.
    """
    intake = get_whole(*check_plain_intake(tools, tables, athlete_id, plain, stamp), "The intake")
    check_consent(tools, athlete_id, Purpose.CARE)
    entry = IntakeEntry(
        id=tools.make_id(),
        athlete_id=athlete_id,
        version=1 + len(tools.entries.find_entries(IntakeEntry, athlete_id=athlete_id)),
        taken_on=intake.taken_on,
        height_m=intake.height_m,
        content=json.dumps(describe_intake(intake), ensure_ascii=False, sort_keys=True),
        signs=describe_signs(intake, tables.signs),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    tools.entries.add_entries([entry, note_act(tools, stamp, Act.ADDED, athlete_id, f"intake {entry.version}")])
    return find_standing(tools, athlete_id, stamp.at.date(), tables.signs)


def check_plain_intake(
    tools: RecordTools, tables: PlanTables, athlete_id: str, plain: object, stamp: Stamp
) -> tuple[Intake | Absent, tuple[Problem, ...]]:
    """Return the intake that plain values hold and everything that is wrong with it; nothing is kept."""
    athlete = get_athlete(tools, athlete_id)
    return read_intake(plain, athlete.born_on, athlete.hand, tables.signs, stamp.at.date())


def find_intake(tools: RecordTools, tables: PlanTables, athlete_id: str, on: date) -> Intake | Absent:
    """Find the newest intake that was taken on a day or before."""
    entry = find_intake_entry(tools, athlete_id, on)
    if isinstance(entry, Absent):
        return entry
    athlete = get_athlete(tools, athlete_id)
    intake, _ = read_intake(json.loads(entry.content), athlete.born_on, athlete.hand, tables.signs, entry.taken_on)
    return intake


def view_growth(tools: RecordTools, tables: PlanTables, athlete_id: str, on: date) -> GrowthView | Absent:
    """Return what is known of an athlete's growth on a day, or that no intake was taken."""
    intake = find_intake(tools, tables, athlete_id, on)
    if isinstance(intake, Absent):
        return intake
    body = BodySize(
        sex=intake.sex,
        age_years=intake.age_years,
        height_m=intake.height_m,
        sitting_height_m=intake.sitting_height_m,
        mass_kg=intake.mass_kg,
    )
    offsets = estimate_maturity(body, tables.equations)
    velocity = estimate_height_velocity(list_heights(tools, athlete_id, on))
    phase, name = _find_phase(offsets)
    return GrowthView(
        offsets=offsets,
        phase=phase,
        phase_by=name,
        velocity=velocity,
        care=choose_care(phase, velocity, tables.care),
    )


def list_heights(tools: RecordTools, athlete_id: str, on: date) -> tuple[HeightReading, ...]:
    """Return every height of an athlete up to a day, from intakes and visits, oldest first; one a day."""
    taken = {item.made_on: item.height_m for item in tools.entries.find_entries(VisitEntry, athlete_id=athlete_id)} | {
        item.taken_on: item.height_m for item in tools.entries.find_entries(IntakeEntry, athlete_id=athlete_id)
    }
    return tuple(HeightReading(day=day, height_m=height) for day, height in sorted(taken.items()) if day <= on)


def _find_phase(offsets: tuple[MaturityOffset, ...]) -> tuple[GrowthPhase | Absent, str]:
    for item in offsets:
        if isinstance(item.offset, Uncertain):
            return estimate_phase(item.offset), item.equation.name
    reason = offsets[0].offset if offsets else Absent(reason="The sex was not stated.", advice="Ask for it.")
    return reason if isinstance(reason, Absent) else Absent(reason="No equation holds."), ""
