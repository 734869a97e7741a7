"""The graded programmes, the soreness rules, and where an athlete stands after what was recorded.

Sides: the printed sheets written out again here (check values E5) and the soreness rules (check values E6, from
memory); hand-followed courses; laws that hold for any course (hypothesis): a hold ends only by a clinician or by
filming, a step is never skipped, and days off are kept.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from elbowroom.adapters.tables.programmes import read_programmes, read_soreness_rules
from elbowroom.core.plan.programme import (
    CourseEvent,
    Programme,
    Rescreened,
    ReturnState,
    StepDone,
    StepKind,
    StepSet,
    begin_course,
    choose_programme,
    derive_state,
    find_event_problem,
    phrase_step,
)

PROGRAMMES, RULES = read_programmes(), read_soreness_rules()
ADOLESCENT = choose_programme(PROGRAMMES, 12)
assert isinstance(ADOLESCENT, Programme)
MONDAY = date(2026, 5, 4)
# Adolescent sheet (seen): distance in ft, sets, effort.
SHEET = [
    (25, (15, 15, 20), "50 %"),
    (40, (15, 15, 20), "50 %"),
    (50, (15, 20, 20), "70 %"),
    (60.5, (20, 20, 25), "75 %"),
    (90, (15, 15, 15), "50 %"),
    (60.5, (20, 20, 25), "3/4 speed"),
    (120, (20, 20, 20), "full as tolerated"),
    (60.5, (25, 30, 30), "full"),
]
# Adult sheet (seen): distances and throws of the sets.
ADULT_SHEET = [
    ((45, 45), (15, 15)),
    ((60, 60), (20, 20)),
    ((90, 45, 90), (20, 20, 20)),
    ((120, 60, 120), (20, 15, 20)),
    ((180, 180, 180), (20, 25, 20)),
    ((120, 90, 90, 120), (15, 15, 15, 15)),
]


def test_adolescent_steps_are_the_sheet() -> None:
    assert isinstance(ADOLESCENT, Programme)
    steps = ADOLESCENT.steps
    assert [(step.distances_ft, step.throws, step.intensity) for step in steps[:8]] == [
        ((distance,) * 3, throws, effort) for distance, throws, effort in SHEET
    ]
    assert [step.kind for step in steps].count(StepKind.MOUND) == 2
    assert (len(steps), steps[8].kind) == (9, StepKind.GAME)
    assert all(step.mark == "seen" for step in steps)


def test_adult_steps_are_the_sheet() -> None:
    adult = choose_programme(PROGRAMMES, 30)
    assert isinstance(adult, Programme)
    assert [(step.distances_ft, step.throws) for step in adult.steps[:6]] == ADULT_SHEET
    assert (len(adult.steps), adult.steps[6].kind) == (7, StepKind.GAME)


def test_long_toss_is_two_then_three_sets_of_25_and_says_what_is_from_memory() -> None:
    (toss,) = [item for item in PROGRAMMES if item.key == "long-toss"]
    assert [step.throws for step in toss.steps] == [(25, 25), (25, 25, 25)] * 6
    assert [step.distances_ft[0] for step in toss.steps[::2]] == [45, 60, 90, 120, 150, 180]
    assert {step.distances_ft[0] for step in toss.steps if step.mark == "from memory"} == {120, 150, 180}


def test_soreness_rules_are_those_remembered() -> None:
    # Check values E6, from memory (high): days off and change of step.
    found = {rule.key: (rule.days_off, rule.step_change) for rule in RULES if not rule.is_hold}
    assert found == {
        "none": (0, 1),
        "warm-up-gone": (0, 0),
        "warm-up-back": (2, -1),
        "warm-up-stays": (2, -1),
        "hours-later": (1, 0),
        "next-day": (2, 0),
    }
    assert all("from memory" in rule.source for rule in RULES if not rule.is_hold)


def test_ages_out_of_the_tables_are_said() -> None:
    answer = choose_programme(PROGRAMMES, 7)
    assert "7 years" in getattr(answer, "reason", "")


def follow(*events: CourseEvent) -> ReturnState:
    assert isinstance(ADOLESCENT, Programme)
    return derive_state(ADOLESCENT, RULES, MONDAY, events)


def on(number: int) -> date:
    return MONDAY + timedelta(days=number)


def test_each_phase_is_done_and_repeated_before_the_next() -> None:
    once = follow(StepDone(day=on(0), step=1, answer="none"))
    assert (once.step, once.done_count, once.next_day) == (1, 1, on(2))
    assert "1 time more" in once.sentence
    twice = follow(StepDone(day=on(0), step=1, answer="none"), StepDone(day=on(2), step=1, answer="none"))
    assert (twice.step, twice.done_count, twice.next_day) == (2, 0, on(4))
    assert twice.sentence == (
        "Next, from Friday 8 May on: phase 2: 15 + 15 + 20 throws at 40 ft, 50 %, 2 times more without soreness."
    )


@pytest.mark.parametrize(
    ("answer", "step", "next_day"),
    [
        ("warm-up-gone", 2, 2),
        ("warm-up-back", 1, 3),
        ("warm-up-stays", 1, 3),
        ("hours-later", 2, 2),
        ("next-day", 2, 3),
    ],
)
def test_soreness_repeats_or_goes_back(answer: str, step: int, next_day: int) -> None:
    state = follow(StepSet(day=on(0), step=2, by="Rowan", reason="known"), StepDone(day=on(0), step=2, answer=answer))
    assert (state.step, state.next_day, state.done_count, state.is_held) == (step, on(next_day), 0, False)


def test_first_step_has_none_before_it() -> None:
    assert follow(StepDone(day=on(0), step=1, answer="warm-up-stays")).step == 1


def test_pain_holds_until_a_clinician_decides() -> None:
    held = follow(StepDone(day=on(0), step=1, answer="pain"))
    assert held.is_held
    assert held.sentence.startswith("On hold: pain, numbness, locking, swelling or a pop on Monday 4 May.")
    assert isinstance(ADOLESCENT, Programme)
    assert "on hold" in find_event_problem(ADOLESCENT, held, StepDone(day=on(5), step=1, answer="none"))
    released = follow(
        StepDone(day=on(0), step=1, answer="pain"), StepSet(day=on(9), step=1, by="Rowan", reason="examined")
    )
    assert (released.is_held, released.next_day, released.step) == (False, on(9), 1)
    still = follow(StepDone(day=on(0), step=1, answer="pain"), Rescreened(day=on(2)))
    assert still.is_held


def test_three_work_outs_that_lead_nowhere_hold() -> None:
    tries = [StepDone(day=on(3 * n), step=1, answer="hours-later") for n in range(3)]
    assert not follow(*tries[:2]).is_held
    assert "3 work-outs in a row" in follow(*tries).hold
    mended = follow(*tries[:2], StepDone(day=on(6), step=1, answer="none"), StepDone(day=on(8), step=1, answer="none"))
    assert (mended.step, mended.is_held) == (2, False)


def test_mechanics_are_filmed_before_the_mound() -> None:
    way = [StepSet(day=on(0), step=5, by="Rowan", reason="known")]
    way += [StepDone(day=on(2 * n), step=5, answer="none") for n in range(2)]
    held = follow(*way)
    assert (held.step, held.hold) == (6, "film the throws again before phase 6 (mound)")
    filmed = follow(*way, Rescreened(day=on(4)))
    assert (filmed.step, filmed.is_held, filmed.next_day) == (6, False, on(4))


def test_last_step_ends_the_programme() -> None:
    done = follow(StepSet(day=on(0), step=9, by="Rowan", reason="known"), StepDone(day=on(0), step=9, answer="none"))
    assert done.is_finished
    assert "releases" in done.sentence
    assert isinstance(ADOLESCENT, Programme)
    assert "finished" in find_event_problem(ADOLESCENT, done, StepDone(day=on(4), step=9, answer="none"))


def test_what_was_not_due_is_refused() -> None:
    assert isinstance(ADOLESCENT, Programme)
    state = begin_course(ADOLESCENT, MONDAY)
    cases = {(on(0), 2): "step 2 was not due", (on(-1), 1): "at the earliest", (on(0), 1): ""}
    for (day, step), words in cases.items():
        problem = find_event_problem(ADOLESCENT, state, StepDone(day=day, step=step, answer="none"))
        assert words in problem if words else not problem


def test_sets_at_several_distances_are_written_out() -> None:
    adult = choose_programme(PROGRAMMES, 30)
    assert isinstance(adult, Programme)
    assert phrase_step(adult.steps[2]) == "step III: 20 + 20 + 20 throws at 90 / 45 / 90 ft"
    assert phrase_step(adult.steps[6]) == "step VII: simulated game or full work-out"


@given(st.lists(st.sampled_from([rule.key for rule in RULES]), max_size=40))
def test_no_course_skips_a_step_or_a_day_off(answers: list[str]) -> None:
    assert isinstance(ADOLESCENT, Programme)
    by_key, state, events = {rule.key: rule for rule in RULES}, begin_course(ADOLESCENT, MONDAY), list[CourseEvent]()
    for answer in answers:
        if state.is_held:
            if "film" not in state.hold:
                assert find_event_problem(
                    ADOLESCENT, state, StepDone(day=state.next_day, step=state.step, answer=answer)
                )
                return
            events.append(Rescreened(day=state.next_day))
            state = follow(*events)
        if state.is_finished:
            return
        event = StepDone(day=state.next_day, step=state.step, answer=answer)
        assert find_event_problem(ADOLESCENT, state, event) == ""
        events.append(event)
        after = follow(*events)
        assert after.step - state.step <= 1
        assert after.step - state.step >= -1
        if not after.is_finished:
            assert (after.next_day - event.day).days > max(by_key[answer].days_off, 1)
        state = after
