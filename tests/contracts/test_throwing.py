"""Teams, counts, links, plans and returns over the record.

Sides: the same use cases on the double and on a sealed file; what was refused left nothing; a plan laid out by the
solver and by the double of the solver, both held against the rules that know no solver.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from elbowroom.adapters.weeks.solver import CpSatWeeks
from elbowroom.core.plan.programme import StepDone
from elbowroom.core.plan.warnings import Clear
from elbowroom.core.plan.week import FixedGame, LaidOut, NoFit, TimeOff, Wishes, find_breaches
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import AccessError, ConflictError, HoldError, PlanError, RecordError
from elbowroom.service.athletes import add_athlete
from elbowroom.service.count_links import close_link, find_link, list_links, make_link
from elbowroom.service.counting import build_count, find_count_board, keep_count, list_counts, replace_count
from elbowroom.service.record_lines import ABSENT
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import TrailEntry
from elbowroom.service.returning import begin_return, find_course, keep_filming, keep_work_out, set_step
from elbowroom.service.teams import find_rules, keep_team, list_members, list_teams_of, set_membership
from elbowroom.service.week_doubles import BareWeeks
from elbowroom.service.week_json import describe_board, describe_plan, read_plan_days
from elbowroom.service.week_tools import WeekTools
from elbowroom.service.week_types import CountLink, CountVersion, PlanOutcome, ReturnEvent, ThrowingPlan
from elbowroom.service.weeks import PlanAsk, list_plans, make_plan
from tests.makers.record import ADULT, STAMP, add_child, begin_clinic, make_stamp
from tests.makers.record_places import make_memory_record, make_sealed_record
from tests.makers.throwing import TODAY, find_day, make_count, make_week_tools
from tests.makers.weeks import make_game, make_request

SOLVERS = {"solver": CpSatWeeks(), "double": BareWeeks()}


@pytest.fixture(params=["memory", "sealed file"])
def tools(request: pytest.FixtureRequest, tmp_path: Path) -> WeekTools:
    record = make_memory_record() if request.param == "memory" else make_sealed_record(tmp_path)
    begin_clinic(record)
    return make_week_tools(record, solver=CpSatWeeks())


@pytest.fixture
def child(tools: WeekTools) -> str:
    """A thrower of 13 years who plays for a team under the league's regulation."""
    athlete_id = add_child(tools.record)
    set_membership(
        tools.record, athlete_id, keep_team(tools, "Herons", "league-regulation-6", STAMP), STAMP, is_member=True
    )
    return athlete_id


def test_team_decides_which_rules_hold(tools: WeekTools, child: str) -> None:
    held = find_rules(tools, child, TODAY)
    assert not isinstance(held, Absent)
    assert (held.rules.daily_most, held.rules.has_last_batter) == (95, True)
    assert held.note.startswith("Plays for Herons: Youth league regulation VI")
    (team,) = list_teams_of(tools.record, child)
    set_membership(tools.record, child, team.team_id, make_stamp(1), is_member=False)
    alone = find_rules(tools, child, TODAY)
    assert not isinstance(alone, Absent)
    assert "No team is in the record" in alone.note
    assert list_members(tools.record, team.team_id) == ()


def test_of_two_teams_the_stricter_table_holds(tools: WeekTools, child: str) -> None:
    other = keep_team(tools, "Otters", "survey-1996", STAMP)
    set_membership(tools.record, child, other, STAMP, is_member=True)
    held = find_rules(tools, child, TODAY)
    assert not isinstance(held, Absent)
    assert held.rules.daily_most == 76
    assert "the stricter of their tables" in held.note


def test_age_without_a_row_is_said(tools: WeekTools) -> None:
    adult = add_athlete(tools.record, ADULT, STAMP)
    answer = find_rules(tools, adult, TODAY)
    assert isinstance(answer, Absent)
    assert "26 years" in answer.reason
    with pytest.raises(PlanError, match="26 years"):
        make_plan(tools, adult, PlanAsk(first_day=TODAY), STAMP)


def test_unknown_table_and_team_are_refused(tools: WeekTools, child: str) -> None:
    with pytest.raises(PlanError, match="no pitch-count table"):
        keep_team(tools, "Swifts", "nowhere", STAMP)
    with pytest.raises(PlanError, match="no name"):
        keep_team(tools, " ", "canada", STAMP)
    with pytest.raises(RecordError, match="Herons"):
        set_membership(tools.record, child, "Swifts", STAMP, is_member=True)


def test_counts_come_back_and_say_when_to_pitch(tools: WeekTools, child: str) -> None:
    keep_count(tools.record, child, make_count(51, before_last_batter=45), STAMP)
    board = find_count_board(tools, child, TODAY)
    assert not isinstance(board, Absent)
    assert "2 days' rest owed, 51 counted as 45 by the last-batter rule" in board.availability.sentence
    assert board.availability.first_day == find_day(2)
    assert describe_board(board)["first_day"] == find_day(2).isoformat()
    json.dumps(describe_board(board), allow_nan=False)


def test_impossible_count_leaves_nothing(tools: WeekTools, child: str) -> None:
    with pytest.raises(PlanError, match=r"yet to come.*negative"):
        keep_count(tools.record, child, make_count(-3, -2), STAMP)
    with pytest.raises(PlanError, match="no kind of throwing"):
        build_count(TODAY, "Herons", "javelin", (1, 1, 1))
    assert list_counts(tools.record, child) == ()


def test_correction_stands_beside_what_it_replaces(tools: WeekTools, child: str) -> None:
    count_id = keep_count(tools.record, child, make_count(30), STAMP)
    replace_count(tools.record, count_id, 1, make_count(35), make_stamp(1))
    with pytest.raises(ConflictError):
        replace_count(tools.record, count_id, 1, make_count(36), make_stamp(2))
    assert [entry.pitches for entry in list_counts(tools.record, child)] == [35]
    replace_count(tools.record, count_id, 2, ABSENT, make_stamp(3))
    assert list_counts(tools.record, child) == ()
    stored = tools.record.entries.find_entries(CountVersion, count_id=count_id)
    assert [(item.pitches, item.is_removed) for item in sorted(stored, key=lambda one: one.number)] == [
        (30, False),
        (35, False),
        (35, True),
    ]


def test_link_works_until_its_day_or_its_end(tools: WeekTools, child: str) -> None:
    link = make_link(tools.record, child, "a long code", ("Player 12", "coach"), 30, STAMP)
    assert find_link(tools.record, "a long code", make_stamp(29.9).at) == link
    assert not find_link(tools.record, "a long code", make_stamp(30).at)
    assert not find_link(tools.record, "another code", STAMP.at)
    assert list_links(tools.record, child, STAMP.at) == (link,)
    close_link(tools.record, link.id, STAMP)
    assert not find_link(tools.record, "a long code", STAMP.at)
    assert list_links(tools.record, child, STAMP.at) == ()
    with pytest.raises(AccessError):
        close_link(tools.record, link.id, STAMP)
    kept = " ".join(str(vars(entry)) for entry in tools.record.entries.find_entries(CountLink))
    assert "a long code" not in kept


@pytest.mark.parametrize(("words", "days"), [(("", "coach"), 30), (("P", " "), 30), (("P", "c"), 0), (("P", "c"), 999)])
def test_link_without_words_or_end_is_refused(tools: WeekTools, child: str, words: tuple[str, str], days: int) -> None:
    with pytest.raises(PlanError):
        make_link(tools.record, child, "code", words, days, STAMP)


def test_plan_knows_the_counts_of_all_teams(tools: WeekTools, child: str) -> None:
    keep_count(tools.record, child, make_count(40), STAMP)
    keep_count(tools.record, child, make_count(30, team="Otters"), STAMP)
    plan = make_plan(tools, child, PlanAsk(first_day=TODAY, wishes=Wishes(pitching_days=4)), STAMP)
    days = read_plan_days(plan)
    assert (plan.outcome, len(days), plan.version) == (PlanOutcome.LAID_OUT, 28, 1)
    assert min(day.day for day in days if day.pitches) == find_day(4)
    assert "4 days' rest owed after 70 pitches" in days[0].sentence
    assert describe_plan(plan)["request"]["past"][0]["pitches"] == 70
    assert list_plans(tools, child) == (plan,)


def test_plan_that_does_not_fit_is_kept_with_what_to_talk_about(tools: WeekTools, child: str) -> None:
    games = (
        FixedGame(day=find_day(2), team="Herons", pitches=70),
        FixedGame(day=find_day(4), team="Otters", pitches=30),
    )
    plan = make_plan(tools, child, PlanAsk(first_day=TODAY, games=games), STAMP)
    assert (plan.outcome, plan.days) == (PlanOutcome.NO_FIT, "[]")
    assert "Herons, 70 pitches" in plan.words
    assert "days of rest" in plan.words


BAD_ASKS = {
    "game outside": ({"games": (FixedGame(day=find_day(40), team="A", pitches=1),)}, "outside the plan"),
    "negative game": ({"games": (FixedGame(day=find_day(1), team="A", pitches=-1),)}, "negative"),
    "no team": ({"games": (FixedGame(day=find_day(1), team=" ", pitches=1),)}, "names no team"),
    "backward": ({"off": (TimeOff(first_day=find_day(3), last_day=find_day(1), reason="x"),)}, "before it begins"),
    "short": ({"day_count": 3}, "7 to 28 days"),
    "wishes": ({"wishes": Wishes(free_days=-1)}, "0 to 7 days"),
    "sizes": ({"wishes": Wishes(pitch_sizes=(0,))}, "has pitches"),
}


@pytest.mark.parametrize("case", BAD_ASKS)
def test_impossible_plan_is_named_and_not_kept(tools: WeekTools, child: str, case: str) -> None:
    changes, words = BAD_ASKS[case]
    ask = replace(PlanAsk(first_day=TODAY), **changes)  # type: ignore[arg-type]
    with pytest.raises(PlanError, match=words):
        make_plan(tools, child, ask, STAMP)
    assert tools.record.entries.find_entries(ThrowingPlan) == ()


def test_return_decides_what_a_plan_may_hold(tools: WeekTools, child: str) -> None:
    begin_return(tools, child, ("", TODAY, "released after six weeks"), STAMP)
    plan = make_plan(tools, child, PlanAsk(first_day=TODAY), STAMP)
    days = read_plan_days(plan)
    thrown = [day.day for day in days if day.throws]
    assert sum(day.pitches for day in days) == 0
    assert {day.throws for day in days if day.throws} == {50}
    assert min(later - earlier for earlier, later in pairwise(thrown)) >= timedelta(days=2)


def test_return_is_recorded_step_by_step(tools: WeekTools, child: str) -> None:
    begin_return(tools, child, ("adolescent", TODAY, "released after six weeks"), STAMP)
    keep_work_out(tools, child, StepDone(day=TODAY, step=1, answer="none"), STAMP)
    with pytest.raises(PlanError, match="at the earliest"):
        keep_work_out(tools, child, StepDone(day=find_day(1), step=1, answer="none"), make_stamp(1))
    held = keep_work_out(tools, child, StepDone(day=find_day(2), step=1, answer="pain"), make_stamp(2))
    assert held.state.is_held
    with pytest.raises(HoldError, match="On hold"):
        make_plan(tools, child, PlanAsk(first_day=find_day(3)), make_stamp(3))
    with pytest.raises(PlanError, match="reason"):
        set_step(tools, child, find_day(5), 1, "ok", make_stamp(5))
    assert not set_step(tools, child, find_day(5), 1, "examined, free of pain", make_stamp(5)).state.is_held
    assert keep_filming(tools, child, find_day(5), make_stamp(5)).state.step == 1
    assert len(tools.record.entries.find_entries(ReturnEvent)) == 4
    with pytest.raises(PlanError, match="recorded for"):
        set_step(tools, child, find_day(1), 1, "examined, free of pain", make_stamp(6))


@pytest.mark.parametrize(
    ("step", "answer", "day", "words"),
    [(1, "fine", 0, "no answer"), (1, "none", 9, "yet to come"), (4, "none", 0, "was not due")],
)
def test_work_out_that_cannot_be_is_refused(
    tools: WeekTools, child: str, step: int, answer: str, day: int, words: str
) -> None:
    with pytest.raises(PlanError, match="no return"):
        keep_work_out(tools, child, StepDone(day=TODAY, step=1, answer="none"), STAMP)
    begin_return(tools, child, ("", TODAY, "released after six weeks"), STAMP)
    with pytest.raises(PlanError, match=words):
        keep_work_out(tools, child, StepDone(day=find_day(day), step=step, answer=answer), STAMP)
    assert tools.record.entries.find_entries(ReturnEvent) == ()


def test_warning_sign_stops_plans_and_returns(tools: WeekTools, child: str) -> None:
    def find_hold(record: RecordTools, athlete_id: str, on: date) -> object:
        raise HoldError("No throwing plans while a warning sign shows (numbness).")

    held = replace(tools, find_standing=find_hold)
    for act in (
        lambda: make_plan(held, child, PlanAsk(first_day=TODAY), STAMP),
        lambda: begin_return(held, child, ("", TODAY, "released after six weeks"), STAMP),
    ):
        with pytest.raises(HoldError, match="warning sign"):
            act()
    assert tools.record.entries.find_entries(ThrowingPlan) == ()
    assert not find_course(tools, child)
    clear = replace(tools, find_standing=lambda *_: Clear(reason="Nothing shows."))
    assert make_plan(clear, child, PlanAsk(first_day=TODAY), STAMP).version == 1


def test_trail_names_no_athlete(tools: WeekTools, child: str) -> None:
    keep_count(tools.record, child, make_count(30), STAMP)
    make_link(tools.record, child, "code", ("Zoë", "mother of Zoë"), 30, STAMP)
    words = " ".join(entry.what for entry in tools.record.entries.find_entries(TrailEntry))
    assert "count" in words
    assert "Zoë" not in words


@pytest.mark.parametrize("name", SOLVERS)
def test_whoever_lays_out_weeks_breaks_no_rule(name: str) -> None:
    make: Callable[..., object] = SOLVERS[name].find_plan
    fits = make_request(games=(make_game(1, 30), make_game(5, 20)), wishes=Wishes(drill_days=0))
    answer = make(fits)
    assert isinstance(answer, LaidOut)
    assert find_breaches(answer.days, fits) == ()
    clash = make(make_request(games=(make_game(1, 60), make_game(2, 20))))
    assert isinstance(clash, NoFit)
    assert clash.conflicts
