"""Use cases: a team at one look."""

from __future__ import annotations

from datetime import date, timedelta

from elbowroom.core.plan.cohort import Cohort, Concern, Member, build_cohort
from elbowroom.core.plan.warnings import Hold
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.service.clinic_settings import find_settings
from elbowroom.service.clinic_tools import get_screening, read_screening
from elbowroom.service.counting import find_count_board
from elbowroom.service.record_tools import get_athlete, note_act
from elbowroom.service.record_types import Act
from elbowroom.service.record_values import Stamp
from elbowroom.service.report_values import StoredReport
from elbowroom.service.retesting import list_screened_visits
from elbowroom.service.teams import list_members
from elbowroom.service.week_tools import WeekTools

REMARK_DAYS = 14
"""Broken rules of this many last days are told with a team."""


def see_cohort(tools: WeekTools, team_id: str, stamp: Stamp) -> tuple[Cohort, dict[str, str]]:
    """Return a team at one look and the words of its measures, and note in the trail whose findings were looked at."""
    members, words, headlines = [], dict[str, str](), dict[str, None]()
    athlete_ids = list_members(tools.record, team_id)
    for athlete_id in athlete_ids:
        report = _find_report(tools, athlete_id)
        if not isinstance(report, Absent):
            found = sorted(report.findings, key=lambda item: not item.definition.headline)
            words |= {item.definition.key: item.definition.words for item in found}
            headlines |= dict.fromkeys(item.definition.key for item in found)
        members.append(_build_member(tools, athlete_id, report, stamp.at.date()))
    notes = [note_act(tools.record, stamp, Act.LOOKED, athlete_id, "team") for athlete_id in athlete_ids]
    if notes:
        tools.record.entries.add_entries(notes)
    return build_cohort(members, list(headlines), find_settings(tools.record).lengths), words


def _find_report(tools: WeekTools, athlete_id: str) -> StoredReport | Absent:
    visits = list_screened_visits(tools, athlete_id)
    if not visits:
        return Absent(reason="Not screened yet.", advice="Film a few throws.")
    return read_screening(tools.clinic, get_screening(tools.record, visits[-1].id))


def _build_member(tools: WeekTools, athlete_id: str, report: StoredReport | Absent, on: date) -> Member:
    board = find_count_board(tools, athlete_id, on)
    recent = on - timedelta(days=REMARK_DAYS)
    remarks = () if isinstance(board, Absent) else tuple(one.words for one in board.remarks if one.day >= recent)
    standing = tools.find_standing(tools.record, athlete_id, on)
    hold = "; ".join(item.because for item in standing.reasons) if isinstance(standing, Hold) else ""
    name = get_athlete(tools.record, athlete_id).name
    if isinstance(report, Absent):
        return Member(
            athlete_id=athlete_id, name=name, screened_on=report, values={}, concerns=(), hold=hold, remarks=remarks
        )
    typical = {item.definition.key: item.typical for item in report.findings}
    return Member(
        athlete_id=athlete_id,
        name=name,
        screened_on=report.made_on,
        values={key: value for key, value in typical.items() if isinstance(value, Uncertain)},
        concerns=tuple(
            Concern(measure=item.measure, weight=item.weight, reason=item.reason) for item in report.priorities
        ),
        hold=hold,
        remarks=remarks,
    )
