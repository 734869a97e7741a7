"""What an invented clinic knows of an athlete's throwing: a team, counts, a link, a plan, a return, a retest."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from elbowroom.adapters.tables.programmes import read_programmes, read_soreness_rules
from elbowroom.adapters.tables.rest import read_rest_tables
from elbowroom.core.plan.counts import Activity, CountEntry
from elbowroom.core.plan.programme import StepDone
from elbowroom.service.clinic_tools import ClinicTools
from elbowroom.service.count_links import close_link, make_link
from elbowroom.service.counting import keep_count
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import VisitEntry
from elbowroom.service.returning import begin_return, keep_filming, keep_work_out, set_step
from elbowroom.service.teams import keep_team, set_membership
from elbowroom.service.week_doubles import BareWeeks
from elbowroom.service.week_tools import WeekTables, WeekTools
from elbowroom.service.week_types import RetestEntry
from elbowroom.service.weeks import PlanAsk, make_plan
from tests.makers.record import STAMP, START

TODAY = START.date()
TABLES = WeekTables(rest=read_rest_tables(), programmes=read_programmes(), soreness=read_soreness_rules())


def make_week_tools(record: RecordTools, **changes: object) -> WeekTools:
    """Return the tools over a record, with a solver that plans the games and nothing else."""
    clinic = ClinicTools(record=record, reports=None, tables=None)  # type: ignore[arg-type]
    return replace(WeekTools(clinic=clinic, tables=TABLES, solver=BareWeeks()), **changes)  # type: ignore[arg-type]


def make_count(pitches: int = 30, days_ago: int = 1, **changes: object) -> CountEntry:
    """Return a count of a game some days before the clinic's first day."""
    count = CountEntry(
        day=TODAY - timedelta(days=days_ago), team="Herons", activity=Activity.GAME, pitches=pitches, throws=20
    )
    return replace(count, **changes)  # type: ignore[arg-type]


def add_week_entries(record: RecordTools, visit: VisitEntry) -> None:
    """Add at least one entry of every kind about throwing."""
    tools, athlete_id = make_week_tools(record), visit.athlete_id
    team_id = keep_team(tools, "Herons", "league-regulation-6", STAMP)
    set_membership(record, athlete_id, team_id, STAMP, is_member=True)
    link = make_link(record, athlete_id, f"a code for {athlete_id}", ("Player 12", "coach of the Herons"), 30, STAMP)
    keep_count(record, athlete_id, make_count(before_last_batter=28), STAMP, link.id)
    keep_count(record, athlete_id, make_count(12, 9), STAMP)
    close_link(record, link.id, STAMP)
    make_plan(tools, athlete_id, PlanAsk(first_day=TODAY), STAMP)
    begin_return(tools, athlete_id, ("", TODAY, "released after rest"), STAMP)
    keep_work_out(tools, athlete_id, StepDone(day=TODAY, step=1, answer="none"), STAMP)
    set_step(tools, athlete_id, TODAY, 2, "threw further before", STAMP)
    keep_filming(tools, athlete_id, TODAY, STAMP)
    retest = RetestEntry(
        id=record.make_id(),
        athlete_id=athlete_id,
        earlier_visit_id=visit.id,
        later_visit_id=visit.id,
        changes="[]",
        recorded_at=STAMP.at,
        recorded_by=STAMP.by,
    )
    record.entries.add_entries([retest])


def find_day(days: int) -> date:
    """Return a day some days after the clinic's first."""
    return TODAY + timedelta(days=days)
