"""Counts, plans, returns, retests and teams in lines for the person at the screen."""

from __future__ import annotations

from collections.abc import Mapping

from elbowroom.core.plan.cohort import Cohort
from elbowroom.core.plan.day_words import phrase_day
from elbowroom.core.plan.programme import phrase_step
from elbowroom.core.plan.retest import Change
from elbowroom.core.plan.throws_needed import ThrowsNeeded
from elbowroom.service.counting import CountBoard
from elbowroom.service.retesting import VisitComparison
from elbowroom.service.returning import Course
from elbowroom.service.week_json import CAUTION, read_plan_days
from elbowroom.service.week_tools import WeekTables
from elbowroom.service.week_types import ThrowingPlan


def list_table_lines(tables: WeekTables) -> tuple[str, ...]:
    """Return every pitch-count table with its ages and sources."""
    lines = []
    for table in tables.rest:
        lines.append(f"{table.key}: {table.words}, {table.kind} ({table.issued})")
        for row in table.rows:
            rest = ", ".join(f"{days} from {least}" for days, least in enumerate(row.rest_from, 1))
            ages = f"{row.ages_years[0]} to {row.ages_years[1]} years"
            lines.append(f"  {ages}: at most {row.daily_most} a day; days of rest: {rest} ({row.mark}: {row.source})")
        lines += [f"  {item.words} ({item.source})" for item in table.conduct]
    return tuple(lines)


def list_board_lines(board: CountBoard) -> tuple[str, ...]:
    """Return an athlete's counts: when to pitch again, what breaks a rule, how the weeks went."""
    return (
        board.availability.sentence,
        board.held.note,
        *(f"! {remark.words}" for remark in board.remarks),
        *board.notes,
        board.trend.sentence,
        board.trend.no_ratio,
        *(item.words for item in board.held.rules.others),
        CAUTION,
    )


def list_plan_lines(plan: ThrowingPlan) -> tuple[str, ...]:
    """Return a plan, one line a day."""
    days = (f"{phrase_day(day.day)} | {day.word} | {day.sentence}" for day in read_plan_days(plan))
    return (plan.words, *days, CAUTION)


def list_course_lines(course: Course) -> tuple[str, ...]:
    """Return where an athlete stands in a return, with the steps of the programme."""
    steps = (
        f"{'>' if step.number == course.state.step else ' '} {step.number}. {phrase_step(step)}"
        + (f" ({step.mark})" if step.mark != "seen" else "")
        for step in course.programme.steps
    )
    return (course.state.sentence, f"{course.programme.words}, begun {course.entry.begun_on}", *steps, CAUTION)


def list_comparison_lines(comparison: VisitComparison) -> tuple[str, ...]:
    """Return a visit against an earlier one, one line a measure."""
    lines = [f"{comparison.earlier.made_on} against {comparison.later.made_on}"]
    for item in comparison.changes:
        if not isinstance(item.change, Change):
            lines.append(f"{item.definition.words}: {item.change.reason}")
            continue
        needed = f" (Next time: {item.needed.count} throws.)" if isinstance(item.needed, ThrowsNeeded) else ""
        lines.append(f"{item.definition.words}: {item.change.word}. {item.change.reason}{needed}")
    return (*lines, CAUTION)


def list_cohort_lines(cohort: Cohort, words: Mapping[str, str]) -> tuple[str, ...]:
    """Return a team: who comes first and why, then the spread of each measure."""
    turns = (f"{place}. {turn.member.name}: {turn.reason}" for place, turn in enumerate(cohort.turns, 1))
    spreads = (f"{words[spread.measure]}: {spread.sentence}" for spread in cohort.spreads)
    return (*turns, *spreads, CAUTION)
