"""Whatever the situation: no held athlete gets a drill, nothing contraindicated is chosen, order does not matter.

Sides: properties over drawn situations, checked against the pains and the library directly, not against the chooser.
"""

from __future__ import annotations

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from elbowroom.core.findings.types import DecisionRule, VerdictWord
from elbowroom.core.plan.choose_drills import MOST_DRILLS, Situation, choose_drills
from elbowroom.core.plan.drills import PLACES_OF_CAUTION, Caution, DrillLoad, TrainingStage, find_cautions
from elbowroom.core.plan.exam import measure_exam
from elbowroom.core.plan.intake import Answer, BodySide, Intake, Pain, PainMoment, PainPlace
from elbowroom.core.plan.links import Fault, FaultSide
from elbowroom.core.plan.thresholds import judge_exam
from elbowroom.core.plan.warnings import Clear, Hold, Release, apply_releases, judge_intake
from tests.makers.intakes import (
    DAY,
    EXAM_TABLES,
    SIGNS,
    THRESHOLDS,
    G,
    T,
    find_drills,
    find_rules,
    make_exam,
    make_fault,
    make_intake,
    read,
)

QUESTIONS = [sign.key for sign in SIGNS if sign.question]
MEASURES = sorted({rule.key for rule in find_rules() if rule.topic == "throw"})
SLOW = settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])

pains = st.builds(
    Pain,
    place=st.sampled_from(PainPlace),
    side=st.sampled_from(BodySide),
    moments=st.lists(st.sampled_from(PainMoment), max_size=3, unique=True).map(tuple),
    worst=st.integers(0, 10),
    days=st.integers(0, 60),
)
answers = st.dictionaries(st.sampled_from(QUESTIONS), st.sampled_from(Answer), max_size=3)


@st.composite
def draw_intake(draw: st.DrawFn) -> Intake:
    given_answers = dict.fromkeys(QUESTIONS, Answer.NO) | draw(answers)
    return make_intake(
        age_years=draw(st.floats(7, 40)),
        pains=tuple(draw(st.lists(pains, max_size=3))),
        answers=given_answers,
    )


@st.composite
def draw_faults(draw: st.DrawFn) -> tuple[Fault, ...]:
    keys = draw(st.lists(st.sampled_from(MEASURES), max_size=6, unique=True))
    words = st.sampled_from([VerdictWord.BEYOND, VerdictWord.TOO_CLOSE])
    return tuple(
        make_fault(key, place, draw(st.sampled_from(FaultSide)), draw(words)) for place, key in enumerate(keys, start=1)
    )


def make_findings(stiff: bool):  # type: ignore[no-untyped-def]
    turn = 15 if stiff else 45
    readings = (
        *(read("hip_internal_rotation", side, turn) for side in (T, G)),
        *(read("trunk_rotation", side, 2 * turn) for side in (T, G)),
        read("shoulder_internal_rotation", T, turn),
        read("shoulder_internal_rotation", G, 60),
    )
    return judge_exam(measure_exam(make_exam(*readings), EXAM_TABLES), THRESHOLDS, 14.0, DecisionRule())


FINDINGS = {stiff: make_findings(stiff) for stiff in (True, False)}


@st.composite
def draw_situation(draw: st.DrawFn) -> tuple[Intake, Situation]:
    intake = draw(draw_intake())
    signs = tuple(draw(st.lists(st.sampled_from([sign.key for sign in SIGNS]), max_size=16, unique=True)))
    release = Release(signs=signs, by="Rowan", on=DAY, reason="examined")
    spurt = draw(st.booleans())
    return intake, Situation(
        standing=apply_releases(judge_intake(intake, SIGNS), [release]),
        age_years=intake.age_years,
        stage=draw(st.sampled_from(TrainingStage)),
        faults=draw(draw_faults()),
        exam=FINDINGS[draw(st.booleans())],
        cautions=find_cautions(intake, spurt),
    )


@SLOW
@given(draw_situation())
def test_held_athlete_never_gets_a_drill(drawn: tuple[Intake, Situation]) -> None:
    intake, situation = drawn
    choice = choose_drills(situation, find_drills(), find_rules())
    if isinstance(situation.standing, Hold):
        assert choice.chosen == ()
    if any(answer is not Answer.NO for answer in intake.answers.values()):
        assert not isinstance(situation.standing, Clear)
    assert len(choice.chosen) + len(choice.refused) == len(find_drills())
    assert len(choice.chosen) <= MOST_DRILLS


@SLOW
@given(draw_situation())
def test_nothing_contraindicated_is_chosen(drawn: tuple[Intake, Situation]) -> None:
    intake, situation = drawn
    hurting = {pain.place for pain in intake.pains if pain.worst > 0}
    arm = {place for place in PainPlace if place.value.endswith(("elbow", "shoulder", "arm", "hand", "forearm"))}
    for item in choose_drills(situation, find_drills(), find_rules()).chosen:
        named = {place for caution in item.drill.not_with for place in PLACES_OF_CAUTION.get(caution, ())}
        assert not named & hurting
        if item.drill.load in (DrillLoad.THROW, DrillLoad.STRENGTH):
            assert not arm & hurting
        if Caution.GROWTH_SPURT in situation.cautions:
            assert Caution.GROWTH_SPURT not in item.drill.not_with
        low, high = item.dose.ages_years
        assert low <= int(situation.age_years) <= high
        assert situation.stage in item.dose.stages


@SLOW
@given(draw_situation(), st.integers(0, 2**32))
def test_choice_does_not_depend_on_the_order_of_the_input(drawn: tuple[Intake, Situation], seed: int) -> None:
    _, situation = drawn
    shuffler = np.random.default_rng(seed)
    drills, rules = list(find_drills()), list(find_rules())
    faults, exam = list(situation.faults), list(situation.exam)
    first = choose_drills(situation, drills, rules)
    drills, rules, faults, exam = (
        [items[place] for place in shuffler.permutation(len(items))] for items in (drills, rules, faults, exam)
    )
    again = Situation(
        standing=situation.standing,
        age_years=situation.age_years,
        stage=situation.stage,
        faults=tuple(faults),
        exam=tuple(exam),
        cautions=tuple(reversed(situation.cautions)),
    )
    second = choose_drills(again, drills, rules)
    assert [item.drill.key for item in first.chosen] == [item.drill.key for item in second.chosen]
    assert [item.why for item in first.chosen] == [item.why for item in second.chosen]
    assert [item.drill.key for item in first.refused] == [item.drill.key for item in second.refused]
