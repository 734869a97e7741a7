"""Days of rest against the published tables and their worked cases.

Sides: the tables' bands written out again here from the same second-hand copies (check values E1, E2, E3); the worked
cases of the league's regulation; a plain loop over a log that knows no shortcut (brute force); laws that hold for any
log (hypothesis).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from elbowroom.adapters.tables.rest import read_rest_tables
from elbowroom.core.plan.availability import find_availability, list_notes, list_remarks
from elbowroom.core.plan.count_trend import describe_trend
from elbowroom.core.plan.counts import Activity, CountEntry, find_entry_problems, sum_days
from elbowroom.core.plan.rest import RestRules, RuleName, choose_rest_rules, count_rest_days, find_table, is_named
from elbowroom.core.quantities.types import Absent

TABLES = read_rest_tables()
MONDAY = date(2026, 5, 4)
# Bands as printed: the last count of no rest, one day, two days ...; None where the last band is open.
US = {8: (20, 35, 50), 10: (20, 35, 50, 65, None), 12: (20, 35, 50, 65, None), 14: (20, 35, 50, 65, None)}
US_TEENS = {15: (30, 45, 60, 75, None)}
CANADA = {
    9: (20, 35, 50),
    11: (25, 40, 55, 65, 75),
    13: (30, 45, 60, 75, 85),
    15: (35, 50, 65, 80, 95),
    18: (40, 55, 70, 85, 105),
    22: (45, 60, 75, 90, 115),
}
PRINTED = {
    "us-national-older": {**US, **US_TEENS, 17: (30, 45, 60, 75, None), 20: (30, 45, 60, 75, None)},
    "us-national-newer": {**US, **US_TEENS, 17: (30, 45, 60, 80, None)},
    "league-regulation-6": {8: (20, 35, 50, 65, None), 10: (20, 35, 50, 65, None), 14: (20, 35, 50, 65, None)},
    "canada": CANADA,
}
DAILY = {
    "us-national-older": {7: 50, 9: 75, 11: 85, 13: 95, 16: 95, 18: 105, 22: 120},
    "us-national-newer": {8: 50, 10: 75, 12: 85, 14: 95, 15: 95, 17: 105},
    "league-regulation-6": {7: 50, 10: 75, 11: 85, 13: 95},
    "canada": {9: 50, 11: 75, 13: 85, 15: 95, 18: 105, 22: 115},
    # Andrews & Fleisig 1996, second-hand copy (check values E3).
    "survey-1996": {8: 52, 11: 68, 13: 76, 15: 91, 18: 106},
}


def make_rules(key: str, age: int) -> RestRules:
    table = find_table(TABLES, key)
    assert not isinstance(table, Absent)
    rules = choose_rest_rules(table, age)
    assert isinstance(rules, RestRules)
    return rules


@pytest.mark.parametrize(("key", "age"), [(key, age) for key, rows in PRINTED.items() for age in rows])
def test_every_count_owes_what_is_printed(key: str, age: int) -> None:
    row = make_rules(key, age).row
    for pitches in range(1, row.daily_most + 1):
        owed = next(days for days, last in enumerate(PRINTED[key][age]) if last is None or pitches <= last)
        assert count_rest_days(row, pitches) == owed, pitches


@pytest.mark.parametrize(("key", "age"), [(key, age) for key, rows in DAILY.items() for age in rows])
def test_daily_limit_is_what_is_printed(key: str, age: int) -> None:
    assert make_rules(key, age).daily_most == DAILY[key][age]


def test_what_the_copies_do_not_say_is_not_made_up() -> None:
    for key, age in (("league-regulation-6", 15), ("us-national-newer", 20), ("canada", 30), ("canada", 3)):
        table = find_table(TABLES, key)
        assert table
        rules = choose_rest_rules(table, age)
        assert isinstance(rules, Absent)
        assert "no row" in rules.reason
    assert not is_named(make_rules("canada", 9).row, 51)
    assert is_named(make_rules("canada", 9).row, 50)
    assert is_named(make_rules("league-regulation-6", 8).row, 51)


def pitch(pitches: int, before: int | Absent | None = None, day: date = MONDAY, team: str = "Herons") -> CountEntry:
    entry = CountEntry(day=day, team=team, activity=Activity.GAME, pitches=pitches)
    return entry if before is None else replace(entry, before_last_batter=before)


LEAGUE = make_rules("league-regulation-6", 10)
OLDER_LEAGUE = make_rules("league-regulation-6", 12)


@pytest.mark.parametrize(
    ("pitches", "before", "rest"),
    [
        pytest.param(51, 45, 2, id="new batter at 45, six more"),
        pytest.param(76, 71, 4, id="71 and five more at ten years"),
        pytest.param(39, 36, 2, id="32, an intentional walk of four, three more"),
        pytest.param(38, 35, 1, id="34 pitched, batter begins on 35"),
        pytest.param(39, 36, 2, id="batter begins on 36"),
        pytest.param(51, None, 3, id="nobody noted the last batter"),
    ],
)
def test_worked_cases_of_the_last_batter(pitches: int, before: int | None, rest: int) -> None:
    # Check values E2, second-hand copies of the regulation and of a league's page.
    days = sum_days([pitch(pitches, before)], LEAGUE)
    assert days[0].rest_days == rest
    assert list_remarks(days, LEAGUE) == ()
    without = replace(LEAGUE, has_last_batter=False)
    assert sum_days([pitch(pitches, before)], without)[0].counted == pitches


@pytest.mark.parametrize(
    ("pitches", "weekday"), [(20, 1), (21, 2), (35, 2), (36, 3), (50, 3), (51, 4), (65, 4), (66, 5), (70, 5)]
)
def test_monday_pitcher_is_free_on(pitches: int, weekday: int) -> None:
    # Check values E2 (a league's page): Mon 21-35 Wed, 36-50 Thu, 51-65 Fri, 66 and more Sat.
    days = sum_days([pitch(pitches)], OLDER_LEAGUE)
    answer = find_availability(days, OLDER_LEAGUE, MONDAY)
    assert answer.first_day == MONDAY + timedelta(days=weekday)
    assert not answer.is_free
    assert find_availability(days, OLDER_LEAGUE, answer.first_day).is_free


def test_seventy_on_monday_is_not_eligible_on_thursday() -> None:
    days = sum_days([pitch(70), pitch(10, day=MONDAY + timedelta(days=3))], OLDER_LEAGUE)
    (remark,) = list_remarks(days, OLDER_LEAGUE)
    assert (remark.rule, remark.day) == (RuleName.REST_DAYS, MONDAY + timedelta(days=3))
    assert "4 days' rest owed, 70 pitches on Monday 4 May" in remark.words
    later = sum_days([pitch(70), pitch(10, day=MONDAY + timedelta(days=5))], OLDER_LEAGUE)
    assert list_remarks(later, OLDER_LEAGUE) == ()


def test_sentence_says_when_how_many_and_by_which_rule() -> None:
    answer = find_availability(sum_days([pitch(51, 45)], LEAGUE), LEAGUE, MONDAY)
    assert answer.sentence == (
        "May pitch again Thursday 7 May: 2 days' rest owed, 51 counted as 45 by the last-batter rule "
        "(Youth league regulation VI (day of issue not in the copy))."
    )
    free = find_availability((), LEAGUE, MONDAY)
    assert (free.is_free, free.most_pitches) == (True, 75)
    assert free.sentence.startswith("May pitch on Monday 4 May, up to 75 ")


def test_three_days_in_a_row_are_stopped_whatever_the_count() -> None:
    days = sum_days([pitch(5, day=MONDAY + timedelta(days=n)) for n in range(2)], LEAGUE)
    answer = find_availability(days, LEAGUE, MONDAY + timedelta(days=2))
    assert answer.first_day == MONDAY + timedelta(days=3)
    assert "no pitching on 3 days in a row" in answer.sentence
    broken = sum_days([pitch(5, day=MONDAY + timedelta(days=n)) for n in range(3)], LEAGUE)
    assert [remark.rule for remark in list_remarks(broken, LEAGUE)] == [RuleName.CONSECUTIVE]


def test_two_teams_on_one_day_are_summed_and_said_so() -> None:
    entries = [pitch(30, 28), pitch(30, 28, team="Otters")]
    days = sum_days(entries, LEAGUE)
    assert (days[0].pitches, days[0].counted, days[0].rest_days) == (60, 60, 3)
    assert list_notes(days) == ("Monday 4 May: Herons and Otters are summed, 60 pitches.",)
    assert "for Herons and Otters together" in find_availability(days, LEAGUE, MONDAY).sentence
    national = make_rules("us-national-newer", 10)
    assert RuleName.GAMES_A_DAY in {remark.rule for remark in list_remarks(days, national)}
    assert list_remarks(sum_days(entries[:1], national), national) == ()


@pytest.mark.parametrize(
    ("key", "pitches", "innings", "is_broken"),
    [
        ("league-regulation-6", 40, 3, False),
        ("league-regulation-6", 41, 3, True),
        ("league-regulation-6", 10, 4, True),
        ("us-national-newer", 1, 1, True),
        ("us-national-newer", 0, 9, False),
    ],
)
def test_pitching_and_catching_on_one_day(key: str, pitches: int, innings: int, is_broken: bool) -> None:
    rules = make_rules(key, 12)
    days = sum_days([replace(pitch(pitches), innings_caught=innings)], rules)
    assert (RuleName.PITCH_AND_CATCH in {remark.rule for remark in list_remarks(days, rules)}) is is_broken


def test_limit_holds_where_the_last_batter_began_beyond_it() -> None:
    assert [item.rule for item in list_remarks(sum_days([pitch(80, 76)], LEAGUE), LEAGUE)] == [RuleName.DAILY_LIMIT]
    assert list_remarks(sum_days([pitch(80, 75)], LEAGUE), LEAGUE) == ()


BAD = {
    "future": (replace(pitch(10), day=MONDAY + timedelta(days=1)), "yet to come"),
    "long ago": (replace(pitch(10), day=date(2024, 5, 4)), "check the year"),
    "no team": (replace(pitch(10), team="  "), "team is empty"),
    "negative": (pitch(-1), "negative"),
    "negative throws": (replace(pitch(10), throws=-3), "negative"),
    "many": (pitch(999), "check the number"),
    "negative innings": (replace(pitch(10), innings_caught=-1), "negative"),
    "batter after the end": (pitch(10, 11), "more than the 10"),
    "batter in practice": (replace(pitch(10, 5), activity=Activity.PRACTICE), "only a game"),
}


@pytest.mark.parametrize("case", BAD)
def test_impossible_entry_is_named(case: str) -> None:
    entry, words = BAD[case]
    (problem,) = find_entry_problems(entry, MONDAY)
    assert words in problem


def test_possible_entry_passes_and_all_problems_are_told_at_once() -> None:
    assert find_entry_problems(pitch(51, 45), MONDAY) == ()
    assert len(find_entry_problems(replace(pitch(-1), team="", throws=-1), MONDAY)) == 3


LOGS = st.lists(st.tuples(st.integers(0, 20), st.integers(0, 90), st.integers(0, 6)), max_size=12)


@given(LOGS, st.sampled_from(["us-national-newer", "league-regulation-6", "canada"]))
def test_free_day_obeys_a_loop_that_knows_no_shortcut(log: list[tuple[int, int, int]], key: str) -> None:
    rules = make_rules(key, 12)
    entries = [
        CountEntry(
            day=MONDAY - timedelta(days=back), team="A", activity=Activity.GAME, pitches=pitches, innings_caught=caught
        )
        for back, pitches, caught in log
    ]
    totals: dict[date, int] = {}
    for entry in entries:
        totals[entry.day] = totals.get(entry.day, 0) + entry.pitches
    caught_today = sum(entry.innings_caught for entry in entries if entry.day == MONDAY)

    def is_free(on: date) -> bool:
        for day, pitches in totals.items():
            rest = [least for least in rules.row.rest_from if pitches >= least]
            if pitches and 0 <= (on - day).days <= len(rest):
                return False
        if all(totals.get(on - timedelta(days=back), 0) for back in (1, 2)):
            return False
        return not (on == MONDAY and caught_today >= rules.no_pitching_from_innings)

    expected = next(MONDAY + timedelta(days=n) for n in range(30) if is_free(MONDAY + timedelta(days=n)))
    assert find_availability(sum_days(entries, rules), rules, MONDAY).first_day == expected


@given(LOGS)
def test_weeks_hold_every_count_once(log: list[tuple[int, int, int]]) -> None:
    entries = [
        CountEntry(day=MONDAY - timedelta(days=b), team="A", activity=Activity.OTHER, pitches=p, throws=t)
        for b, p, t in log
    ]
    trend = describe_trend(sum_days(entries, LEAGUE), MONDAY)
    assert sum(week.pitches for week in trend.weeks) == sum(pitches for _, pitches, _ in log)
    assert sum(week.throws for week in trend.weeks) == sum(throws for _, _, throws in log)
    assert trend.weeks[-1].pitches == sum(pitches for back, pitches, _ in log if back < 7)
    assert "No risk" in trend.no_ratio
