"""Use cases: put an invented club into the record to try everything on, and take it out again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from elbowroom.core.chain.judging import JudgeTables
from elbowroom.core.findings.report import MadeWith, ScreeningReport
from elbowroom.errors import RecordError
from elbowroom.service.athletes import AthleteFacts, add_athlete, add_consent, add_guardian, withdraw_consent
from elbowroom.service.days import add_day_place, add_review
from elbowroom.service.demo_people import DemoAthlete, draw_people
from elbowroom.service.demo_visits import draw_report, draw_traits
from elbowroom.service.forgetting import forget_athlete
from elbowroom.service.keeping import keep_visit
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import AthleteVersion, Purpose, ScreeningEntry
from elbowroom.service.record_values import Stamp, VisitParcel

SEED = 20_26
CLUB_SIZE = 30
EXPECTED = slice(3, 8)
"""Which athletes are on the list of today; the first three are here already."""
WAITING = 6
"""How many of the newest visits nobody looked through."""
DEMO_NOTE = "Invented for the demo club; nobody of that name was screened."
"""Note by which an athlete of the demo club is known."""
Report = Callable[[int, int], None]
"""Told how many athletes of how many are in the record."""


@dataclass(frozen=True, kw_only=True)
class DemoTools:
    """What the demo club is made with."""

    tables: JudgeTables
    """Limits and published values."""
    made_with: Sequence[MadeWith]
    """Versions and digests that the reports state."""
    write_report: Callable[[ScreeningReport, Path], VisitParcel]
    """Writes a report to a folder and returns it as a visit to keep."""


def add_demo_club(
    tools: RecordTools, demo: DemoTools, stamp: Stamp, report: Report, size: int = CLUB_SIZE
) -> tuple[str, ...]:
    """Add the invented club through the ordinary use cases and return the athletes' ids.

    The same seed and day give the same club. Raises `RecordError` where the club is there already.
    """
    if list_demo_athletes(tools):
        raise RecordError("The demo club is in the record already: forget it first.")
    rng, today = np.random.default_rng(SEED), stamp.at.date()
    people = draw_people(size, today, rng)
    ids = []
    for number, person in enumerate(people, start=1):
        ids.append(_add_person(tools, demo, person, stamp, rng))
        report(number, len(people))
    for athlete_id, hour in zip(ids[EXPECTED], ("15:00", "15:20", "15:40", "16:00", "16:20"), strict=False):
        add_day_place(tools, athlete_id, today, hour, stamp)
    _add_reviews(tools, ids, stamp)
    withdraw_consent(tools, ids[0], Purpose.RESEARCH, today, stamp)
    return tuple(ids)


def list_demo_athletes(tools: RecordTools) -> tuple[str, ...]:
    """Return the ids of the athletes of the demo club."""
    return tuple(item.athlete_id for item in tools.entries.find_entries(AthleteVersion, note=DEMO_NOTE, version=1))


def forget_demo_club(tools: RecordTools, stamp: Stamp) -> int:
    """Forget every athlete of the demo club for good, as any athlete is forgotten; returns how many."""
    athletes = list_demo_athletes(tools)
    for athlete_id in athletes:
        forget_athlete(tools, athlete_id, stamp)
    return len(athletes)


def _add_person(
    tools: RecordTools, demo: DemoTools, person: DemoAthlete, stamp: Stamp, rng: np.random.Generator
) -> str:
    facts = AthleteFacts(name=person.name, born_on=person.born_on, hand=person.hand, note=DEMO_NOTE)
    athlete_id = add_athlete(tools, facts, stamp)
    name, relation = person.guardian
    guardian_id = add_guardian(tools, athlete_id, name, relation, stamp) if name else ABSENT
    for purpose in (Purpose.CARE, Purpose.RESEARCH):
        add_consent(tools, athlete_id, guardian_id, purpose, _find_first_day(person), stamp)
    traits = draw_traits(person, demo.tables, rng)
    for visit in range(len(person.visits)):
        screening = draw_report(person, traits, visit, demo.tables, demo.made_with, rng)
        with TemporaryDirectory(prefix="elbowroom-") as folder:
            keep_visit(tools, athlete_id, demo.write_report(screening, Path(folder)), stamp)
    return athlete_id


def _find_first_day(person: DemoAthlete) -> date:
    return person.visits[0] - timedelta(days=1)


def _add_reviews(tools: RecordTools, ids: Sequence[str], stamp: Stamp) -> None:
    """Note that all visits but the newest were looked through."""
    lines = sorted(
        (line for athlete_id in ids for line in tools.days.list_athlete_visits(athlete_id)),
        key=lambda line: (-line.made_on.toordinal(), line.visit_id),
    )
    for line in lines[WAITING:]:
        screening = tools.entries.find_entries(ScreeningEntry, visit_id=line.visit_id)[-1]
        add_review(tools, screening.id, "", stamp)
