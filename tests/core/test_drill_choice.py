"""Choosing drills: every drill is chosen or not, with its reason.

Sides: situations worked by hand from the rules table; the parts of the choice against the whole library.
"""

from __future__ import annotations

import pytest

from elbowroom.core.findings.types import VerdictWord
from elbowroom.core.plan.choose_drills import DrillChoice, Situation, choose_drills
from elbowroom.core.plan.drills import Caution, DrillLoad, TrainingStage, find_cautions
from elbowroom.core.plan.intake import Answer, PainPlace
from elbowroom.core.plan.links import FaultSide
from elbowroom.core.plan.warnings import judge_intake
from elbowroom.core.quantities.types import Absent
from tests.makers.intakes import SIGNS, find_drills, find_rules, make_answers, make_fault, make_intake, make_pain

OPENING, OFFSET = "trunk_opening_at_foot_contact", "stride_offset"
CLEAR = judge_intake(make_intake(), SIGNS)


def make_situation(**changes: object) -> Situation:
    values: dict[str, object] = {
        "standing": CLEAR,
        "age_years": 13.0,
        "stage": TrainingStage.LEARNING,
        "faults": (make_fault(OPENING, 1), make_fault(OFFSET, 2, FaultSide.LOW)),
        "exam": (),
        "cautions": (),
    }
    return Situation(**{**values, **changes})  # type: ignore[arg-type]


def choose(**changes: object) -> DrillChoice:
    return choose_drills(make_situation(**changes), find_drills(), find_rules())


def list_keys(choice: DrillChoice) -> list[str]:
    return [item.drill.key for item in choice.chosen]


def test_first_choice_of_each_fault_comes_before_the_second_of_any() -> None:
    assert list_keys(choose()) == ["late_chest_step", "chalk_line_stride", "feet_set_throw", "landing_square"]


def test_every_drill_is_named_once_with_a_reason() -> None:
    choice = choose()
    named = [*list_keys(choice), *(item.drill.key for item in choice.refused)]
    assert sorted(named) == sorted(drill.key for drill in find_drills())
    assert all(item.why.startswith("Chosen because ") for item in choice.chosen)
    assert all(item.why_not.endswith(".") for item in choice.refused)


def test_reason_names_fault_rule_and_source() -> None:
    first = choose().chosen[0]
    assert "trunk opening at foot contact is beyond, too high (place 1" in first.why
    assert "common practice, no source" in first.why
    assert first.dose.words == "2 sets of 8, 4 days a week"


def test_side_of_the_fault_matters() -> None:
    choice = choose(faults=(make_fault(OPENING, 1, FaultSide.LOW),))
    assert "late_chest_step" not in list_keys(choice)


def test_too_close_to_call_is_no_reason_for_work_unless_the_rule_says_so() -> None:
    fault = make_fault(OPENING, 1, word=VerdictWord.TOO_CLOSE)
    assert choose(faults=(fault,)).chosen == ()


def test_hold_stops_every_drill() -> None:
    held = judge_intake(make_intake(answers=make_answers(pop=Answer.YES)), SIGNS)
    choice = choose(standing=held)
    assert choice.chosen == ()
    assert len(choice.refused) == len(find_drills())
    assert all("No drills while a warning sign shows" in item.why_not for item in choice.refused)


def test_no_intake_stops_every_drill() -> None:
    choice = choose(standing=Absent(reason="No intake was taken."))
    assert choice.chosen == ()
    assert "ask the questions first" in choice.refused[0].why_not


def test_pain_takes_out_what_loads_the_place() -> None:
    cautions = find_cautions(make_intake(age_years=25.0, pains=(make_pain(PainPlace.FOREARM),)), False)
    choice = choose(age_years=25.0, cautions=cautions)
    reasons = {item.drill.key: item.why_not for item in choice.refused}
    assert cautions == (Caution.ARM_PAIN,)
    assert reasons["feet_set_throw"] == "Not with pain of the arm or hand: throws a ball."
    assert not any(item.drill.load is DrillLoad.THROW for item in choice.chosen)


def test_young_get_fewer() -> None:
    assert len(choose(age_years=10.9).chosen) == 3
    assert len(choose(age_years=12.0).chosen) == 4
    assert any("Enough for now: 3" in item.why_not for item in choose(age_years=10.9).refused)


def test_no_dose_for_stage_or_age_is_said() -> None:
    reasons = {item.drill.key: item.why_not for item in choose(stage=TrainingStage.RETURNING).refused}
    assert reasons["feet_set_throw"] == "No dose is written for 13 years in the stage returning."


@pytest.mark.parametrize("stage", list(TrainingStage))
def test_returning_athletes_never_throw_by_a_drill(stage: TrainingStage) -> None:
    throws = [drill for drill in find_drills() if drill.load is DrillLoad.THROW]
    assert throws
    if stage is TrainingStage.RETURNING:
        assert not any(stage in dose.stages for drill in throws for dose in drill.doses)


def test_library_is_large_enough_and_whole() -> None:
    assert len(find_drills()) >= 30
    ruled = {rule.drill for rule in find_rules()}
    assert {drill.key for drill in find_drills()} == ruled
