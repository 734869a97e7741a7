"""Intakes, exams and drills of the invented club: every standing is there, the same each time, gone when forgotten.

Sides: standings read back against what was meant; two clubs of one seed against each other; the record after
forgetting.
"""

from __future__ import annotations

from elbowroom.core.plan.warnings import Clear, Hold, Released
from elbowroom.core.quantities.types import Absent
from elbowroom.service.demo_plans import ASKED, HELD, RELEASED, add_demo_plans
from elbowroom.service.drilling import find_drill_plan
from elbowroom.service.exams import judge_athlete_exam
from elbowroom.service.forgetting import forget_athlete
from elbowroom.service.holds import find_standing
from elbowroom.service.intake_types import ExamEntry, IntakeEntry
from elbowroom.service.record_tools import RecordTools
from tests.makers.plans import find_tables
from tests.makers.record import STAMP, add_child, begin_clinic
from tests.makers.record_places import make_memory_record

DAY = STAMP.at.date()
CLUB_SIZE = 9


def make_club() -> tuple[RecordTools, tuple[str, ...]]:
    record = make_memory_record()
    begin_clinic(record)
    ids = tuple(add_child(record) for _ in range(CLUB_SIZE))
    assert add_demo_plans(record, find_tables(), ids, STAMP) == ASKED
    return record, ids


def test_every_standing_is_there() -> None:
    record, ids = make_club()
    standings = [type(find_standing(record, athlete_id, DAY)) for athlete_id in ids]
    expected = {HELD: Hold, RELEASED: Released}
    assert standings == [expected.get(place, Clear) if place < ASKED else Absent for place in range(CLUB_SIZE)]
    for place, athlete_id in enumerate(ids[:ASKED]):
        assert isinstance(find_drill_plan(record, athlete_id), Absent) == (place == HELD)
        assert judge_athlete_exam(record, find_tables(), athlete_id, DAY)


def test_same_club_is_the_same() -> None:
    (first, ids), (second, _) = make_club(), make_club()
    for kind in (IntakeEntry, ExamEntry):
        contents = [
            [record.entries.find_entries(kind, athlete_id=athlete_id)[0].content for athlete_id in ids[:ASKED]]
            for record in (first, second)
        ]
        assert contents[0] == contents[1]


def test_forgetting_the_club_forgets_its_plans() -> None:
    record, ids = make_club()
    for athlete_id in ids:
        forget_athlete(record, athlete_id, STAMP)
    assert record.entries.find_entries(IntakeEntry) == record.entries.find_entries(ExamEntry) == ()
