"""Intake, release, exam and drills in the record: in memory, in a sealed file and on a PostgreSQL server.

Sides: what comes back against what was given; the gate asked from outside with every standing; JSON against its
schema; problems of plain values in a table; the trail.
"""

from __future__ import annotations

import json
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import Any
from uuid import uuid4

import jsonschema
import pytest

from elbowroom.core.findings.types import VerdictWord
from elbowroom.core.plan.drills import TrainingStage
from elbowroom.core.plan.intake import Intake
from elbowroom.core.plan.links import FaultSide
from elbowroom.core.plan.warnings import Clear, Hold, Released
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.errors import AccessError, ConsentError, HoldError, IntakeError, TableError
from elbowroom.service.athletes import add_athlete, list_trail
from elbowroom.service.drilling import (
    change_drill_rules,
    choose_for_athlete,
    collect_faults,
    describe_drill_view,
    find_drill_plan,
    find_drill_rules,
    keep_drill_plan,
)
from elbowroom.service.exams import find_exam, judge_athlete_exam, keep_exam
from elbowroom.service.holds import check_not_held, find_standing, list_stops, release_hold
from elbowroom.service.intake import find_intake, keep_intake, view_growth
from elbowroom.service.intake_plain import describe_exam, describe_intake
from elbowroom.service.intake_types import DrillRulesEntry, ReleaseEntry
from elbowroom.service.keeping import keep_visit
from elbowroom.service.people import add_person
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import Role
from elbowroom.service.record_values import Stamp
from tests.makers.plans import REASON, find_tables, keep_faulty_visit, make_plain_exam, make_plain_intake
from tests.makers.record import ADULT, STAMP, add_child, begin_clinic, make_parcel, make_stamp
from tests.makers.record_places import make_memory_record, make_sealed_record, make_server_record

DAY = date(2026, 3, 1)
TABLES = find_tables()


@pytest.fixture(params=["memory", "sealed file", "server"])
def tools(request: pytest.FixtureRequest, tmp_path: Path) -> RecordTools:
    folder = tmp_path / uuid4().hex
    if request.param == "memory":
        made = make_memory_record()
    elif request.param == "sealed file":
        folder.mkdir()
        made = make_sealed_record(folder)
    else:
        made = make_server_record(folder, request.getfixturevalue("postgres_address"))
    begin_clinic(made)
    return made


@pytest.fixture
def memory() -> RecordTools:
    made = make_memory_record()
    begin_clinic(made)
    return made


def check_schema(name: str, values: Any) -> None:
    schema = json.loads(files("elbowroom.tables").joinpath(f"{name}.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(json.loads(json.dumps(values)), schema)


def test_intake_comes_back_as_given(tools: RecordTools) -> None:
    athlete_id = add_child(tools)
    pain = {"place": "knee", "side": "glove side", "when": ["next day"], "worst": 2, "days": 3}
    plain = make_plain_intake(pain=[pain])
    assert isinstance(keep_intake(tools, TABLES, athlete_id, plain, STAMP), Clear)
    intake = find_intake(tools, TABLES, athlete_id, DAY)
    assert isinstance(intake, Intake)
    described = describe_intake(intake)
    check_schema("intake", described)
    assert described == {**plain, "hand": "left"}
    assert intake.age_years == pytest.approx(13.0, abs=0.01)


def test_hold_release_and_new_intake(tools: RecordTools) -> None:
    athlete_id = add_child(tools)
    assert isinstance(find_standing(tools, athlete_id, DAY), Absent)
    check_not_held(tools, athlete_id, "drills", DAY)
    held = keep_intake(tools, TABLES, athlete_id, make_plain_intake(answers={"pop": "yes", "fever": "yes"}), STAMP)
    assert isinstance(held, Hold)
    with pytest.raises(HoldError, match="No drills while a warning sign shows"):
        check_not_held(tools, athlete_id, "drills", DAY)
    check_not_held(tools, athlete_id, "drills", date(2026, 2, 1))
    assert isinstance(release_hold(tools, athlete_id, ["pop"], REASON, STAMP), Hold)
    released = release_hold(tools, athlete_id, (), REASON, STAMP)
    assert isinstance(released, Released)
    assert released.reason == f"Released by Rowan on 2026-03-01: {REASON.rstrip('.')}; " + (
        f"Rowan on 2026-03-01: {REASON}"
    )
    check_not_held(tools, athlete_id, "drills", DAY)
    again = make_plain_intake(answers={"pop": "yes"}, taken_on="2026-03-11")
    assert isinstance(keep_intake(tools, TABLES, athlete_id, again, make_stamp(10)), Hold)
    with pytest.raises(HoldError):
        check_not_held(tools, athlete_id, "drills", date(2026, 3, 12))
    assert [item.version for item in tools.entries.find_entries(ReleaseEntry, athlete_id=athlete_id)] == [1, 2]
    assert "release of pop" in [entry.what for entry in list_trail(tools, athlete_id)]


def test_stops_of_a_day_are_named(memory: RecordTools) -> None:
    clear, held, unasked = (add_child(memory) for _ in range(3))
    keep_intake(memory, TABLES, clear, make_plain_intake(), STAMP)
    keep_intake(memory, TABLES, held, make_plain_intake(answers={"pop": "yes"}), STAMP)
    assert list_stops(memory, (clear, held, unasked), DAY) == {held: "on hold", unasked: "no intake yet"}


def test_only_a_clinician_releases_and_says_why(tools: RecordTools) -> None:
    athlete_id = add_child(tools)
    keep_intake(tools, TABLES, athlete_id, make_plain_intake(answers={"pop": "yes"}), STAMP)
    assistant = Stamp(at=STAMP.at, by=add_person(tools, "Sam", Role.ASSISTANT, STAMP))
    with pytest.raises(AccessError, match="Only a clinician"):
        release_hold(tools, athlete_id, (), REASON, assistant)
    for reason in ("", "ok", "   fine  "):
        with pytest.raises(IntakeError, match="no reason"):
            release_hold(tools, athlete_id, (), reason, STAMP)
    with pytest.raises(IntakeError, match="fever does not hold"):
        release_hold(tools, athlete_id, ["fever"], REASON, STAMP)
    assert isinstance(find_standing(tools, athlete_id, DAY), Hold)
    release_hold(tools, athlete_id, (), REASON, STAMP)
    with pytest.raises(IntakeError, match="none to release"):
        release_hold(tools, athlete_id, (), REASON, STAMP)


def test_screening_of_a_held_athlete_is_refused(memory: RecordTools, tmp_path: Path) -> None:
    athlete_id = add_child(memory)
    keep_intake(memory, TABLES, athlete_id, make_plain_intake(answers={"numbness": "yes"}), STAMP)
    with pytest.raises(HoldError, match=r"No throwing tests while .*numb"):
        keep_visit(memory, athlete_id, make_parcel(tmp_path / "v"), STAMP)
    assert memory.vault.list_files() == ()
    release_hold(memory, athlete_id, (), REASON, STAMP)
    assert keep_visit(memory, athlete_id, make_parcel(tmp_path / "v"), STAMP).is_new


def test_exam_comes_back_as_given(tools: RecordTools) -> None:
    athlete_id = add_child(tools)
    assert keep_exam(tools, TABLES, athlete_id, make_plain_exam(), STAMP) == 1
    exam = find_exam(tools, TABLES, athlete_id, DAY)
    assert not isinstance(exam, Absent)
    described = describe_exam(exam)
    check_schema("exam", described)
    given = make_plain_exam()
    assert described["reading"] == [{**item, "rater": "Rowan"} for item in given["reading"]]
    findings = {item.measured.quantity.key: item for item in judge_athlete_exam(tools, TABLES, athlete_id, DAY)}
    deficit = findings["internal_rotation_deficit"]
    assert isinstance(deficit.measured.value, Uncertain)
    assert deficit.measured.value.value == pytest.approx(21.0)
    assert findings["hip_internal_rotation_throwing"].word is VerdictWord.BEYOND
    assert findings["grip_sides"].word is VerdictWord.NOT_MEASURED
    assert judge_athlete_exam(tools, TABLES, athlete_id, date(2026, 2, 1)) == ()


def test_drills_are_chosen_from_screening_exam_and_intake(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id = add_child(tools)
    keep_faulty_visit(tools, athlete_id, tmp_path / "v")
    with pytest.raises(IntakeError, match="No intake"):
        keep_drill_plan(tools, TABLES, athlete_id, TrainingStage.LEARNING, STAMP)
    keep_intake(tools, TABLES, athlete_id, make_plain_intake(), STAMP)
    keep_exam(tools, TABLES, athlete_id, make_plain_exam(), STAMP)
    faults = collect_faults(tools, athlete_id, DAY)
    assert [(fault.measure, fault.side, fault.place) for fault in faults] == [
        ("trunk_opening_at_foot_contact", FaultSide.HIGH, 1),
        ("stride_offset", FaultSide.HIGH, 2),
    ]
    view = keep_drill_plan(tools, TABLES, athlete_id, TrainingStage.LEARNING, STAMP)
    assert [item.drill.key for item in view.choice.chosen][:3] == [
        "late_chest_step",
        "chalk_line_stride",
        "seated_hip_turns",
    ]
    assert any("pivot hip" in link.words for link in view.links)
    check_schema("drills", describe_drill_view(view))
    plan = find_drill_plan(tools, athlete_id)
    assert not isinstance(plan, Absent)
    assert json.loads(plan.content) == describe_drill_view(view)


def test_held_athlete_gets_no_drills(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id = add_child(tools)
    keep_faulty_visit(tools, athlete_id, tmp_path / "v")
    keep_intake(tools, TABLES, athlete_id, make_plain_intake(answers={"pop": "not asked"}), STAMP)
    with pytest.raises(HoldError, match="No drills"):
        keep_drill_plan(tools, TABLES, athlete_id, TrainingStage.LEARNING, STAMP)
    assert choose_for_athlete(tools, TABLES, athlete_id, TrainingStage.LEARNING, DAY).choice.chosen == ()
    assert isinstance(find_drill_plan(tools, athlete_id), Absent)


def test_clinic_changes_its_rules_and_the_old_ones_stay(tools: RecordTools) -> None:
    packaged, version = find_drill_rules(tools, TABLES)
    assert version == 0
    head, *rows = TABLES.rules_text.splitlines()
    text = "\n".join((head, rows[0]))
    assert change_drill_rules(tools, TABLES, text, "only one for now", STAMP) == 1
    rules, version = find_drill_rules(tools, TABLES)
    assert (len(rules), version) == (1, 1)
    assert rules[0] in packaged
    with pytest.raises(TableError, match="backflip"):
        change_drill_rules(tools, TABLES, text.replace("late_chest_step", "backflip"), "why not", STAMP)
    with pytest.raises(IntakeError, match="no reason"):
        change_drill_rules(tools, TABLES, text, " ", STAMP)
    reader = Stamp(at=STAMP.at, by=add_person(tools, "Kit", Role.READER, STAMP))
    with pytest.raises(AccessError):
        change_drill_rules(tools, TABLES, text, "mine", reader)
    assert len(tools.entries.find_entries(DrillRulesEntry)) == 1


def test_growth_uses_heights_of_intakes_and_visits(memory: RecordTools, tmp_path: Path) -> None:
    athlete_id = add_child(memory)
    keep_visit(memory, athlete_id, make_parcel(tmp_path / "v", made_on=date(2025, 9, 1)), STAMP)
    keep_intake(memory, TABLES, athlete_id, make_plain_intake(), STAMP)
    view = view_growth(memory, TABLES, athlete_id, DAY)
    assert not isinstance(view, Absent)
    assert isinstance(view.velocity, Uncertain)
    # The parcel of the visit states 1.50 m; 2 cm in 181 days.
    assert view.velocity.value == pytest.approx(2.0 / (181 / 365.2425))
    assert view.phase_by == "Mirwald 2002"


def test_nothing_is_kept_without_consent(memory: RecordTools) -> None:
    athlete_id = add_athlete(memory, ADULT, STAMP)
    with pytest.raises(ConsentError):
        keep_intake(memory, TABLES, athlete_id, make_plain_intake(), STAMP)
    with pytest.raises(ConsentError):
        keep_exam(memory, TABLES, athlete_id, make_plain_exam(), STAMP)


WRONG_INTAKES: dict[str, tuple[dict[str, Any], str]] = {
    "no day": ({"taken_on": ""}, "taken_on: is missing"),
    "wrong day": ({"taken_on": "yesterday"}, "give a day as in"),
    "day to come": ({"taken_on": "2026-03-02"}, "is yet to come"),
    "no height": ({"height_cm": None}, "height_cm: is missing"),
    "height in words": ({"height_cm": "tall"}, "give a number"),
    "two heights": ({"height_m": 1.5}, "given more than once"),
    "giant": ({"height_cm": 520}, "520 cm cannot be"),
    "two masses": ({"mass_lb": 100}, "given more than once"),
    "wrong sex": ({"sex": "both"}, "use one of female, male"),
    "unknown key": ({"heigth": 3}, "did you mean height_"),
    "unknown question": ({"answers": {"popp": "no"}}, "did you mean pop"),
    "wrong answer": ({"answers": {"pop": "maybe"}}, "use one of yes, no, not asked"),
    "pain without place": ({"pain": [{"side": "glove side", "worst": 3, "days": 1}]}, "pain 1 place: is missing"),
    "pain elsewhere": ({"pain": [{"place": "elbow", "side": "glove side", "worst": 3, "days": 1}]}, "did you mean"),
    "pain is a text": ({"pain": "elbow"}, "give a list of tables"),
    "half a month": ({"months_off": 2.5}, "give a whole number"),
    "count in the future": ({"count": [{"day": "2026-03-05", "pitches": 4}]}, "after the day of the questions"),
    "team twice": ({"count": [{"day": "2026-02-27", "team": "a", "pitches": 4}] * 2}, "named twice"),
    "not a table": ({"answers": 3}, "where a table belongs"),
}


@pytest.mark.parametrize("case", WRONG_INTAKES)
def test_wrong_intake_is_refused_with_a_word_and_nothing_is_kept(memory: RecordTools, case: str) -> None:
    changes, words = WRONG_INTAKES[case]
    athlete_id = add_child(memory)
    answers = {"answers": changes["answers"]} if "answers" in changes and isinstance(changes["answers"], dict) else {}
    plain = {**make_plain_intake(**answers), **{key: item for key, item in changes.items() if key not in answers}}
    with pytest.raises(IntakeError, match=words):
        keep_intake(memory, TABLES, athlete_id, plain, STAMP)
    assert isinstance(find_standing(memory, athlete_id, DAY), Absent)


def test_all_problems_are_named_at_once(memory: RecordTools) -> None:
    athlete_id = add_child(memory)
    with pytest.raises(IntakeError) as caught:
        keep_intake(memory, TABLES, athlete_id, make_plain_intake(sex="x", months_off="y", taken_on="z"), STAMP)
    assert all(key in str(caught.value) for key in ("sex", "months_off", "taken_on"))


def test_wrong_exam_is_refused_with_a_word(memory: RecordTools) -> None:
    athlete_id = add_child(memory)
    reading = make_plain_exam()["reading"][0]
    cases = {
        "is yet to come": {"examined_on": "2026-04-01"},
        "has no rater": {"rater": ""},
        "nothing was read": {"reading": []},
        "give numbers": {"reading": [{**reading, "values": ["a", "b"]}]},
        "throwing side": {"reading": [{**reading, "side": "left"}]},
        "so give at least one": {"reading": [{**reading, "values": []}]},
    }
    for words, changes in cases.items():
        with pytest.raises(IntakeError, match=words):
            keep_exam(memory, TABLES, athlete_id, make_plain_exam(**changes), STAMP)
    assert isinstance(find_exam(memory, TABLES, athlete_id, DAY), Absent)
