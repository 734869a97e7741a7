"""Teams: the pitch-count table of each, who plays for it, and the team at one look."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom.errors import PlanError
from elbowroom.service import cohorts, teams
from elbowroom.service.clinic_settings import find_settings
from elbowroom.service.record_tools import get_athlete
from elbowroom.service.retest_words import build_spread_rows
from elbowroom.web.asking import Asker, Clinicians, Everybody, Lookers
from elbowroom.web.showing import render_page
from elbowroom.web.weeks import find_weeks

router = APIRouter(prefix="/teams")
MOST_ATHLETES = 500


@router.get("")
def show_teams(request: Request, asker: Everybody) -> HTMLResponse:
    """Show every team and who plays for it."""
    return _render_teams(request, asker)


@router.post("")
def take_team(
    request: Request,
    asker: Clinicians,
    name: Annotated[str, Form(max_length=100)],
    rest_table: Annotated[str, Form(max_length=80)],
    team_id: Annotated[str, Form(max_length=32)] = "",
) -> Response:
    """Add a team, or change its name or table."""
    try:
        teams.keep_team(find_weeks(asker), name, rest_table, asker.stamp, team_id)
    except PlanError as e:
        return _render_teams(request, asker, str(e))
    return RedirectResponse("/teams", status_code=303)


@router.post("/{team_id}/members")
def take_member(
    asker: Clinicians,
    team_id: str,
    athlete_id: Annotated[str, Form(max_length=32)],
    is_member: Annotated[bool, Form()],
) -> Response:
    """Let an athlete play for a team, or no longer."""
    teams.set_membership(asker.record, athlete_id, team_id, asker.stamp, is_member=is_member)
    return RedirectResponse("/teams", status_code=303)


@router.get("/{team_id}")
def show_cohort(request: Request, asker: Lookers, team_id: str) -> HTMLResponse:
    """Show a team at one look: who comes first and why, and how each measure spreads."""
    team = teams.get_team(asker.record, team_id)
    cohort, words = cohorts.see_cohort(find_weeks(asker), team_id, asker.stamp)
    rows = build_spread_rows(cohort, words, find_settings(asker.record).lengths)
    return render_page(request, asker, "cohort.html", team=team, cohort=cohort, rows=rows)


def _render_teams(request: Request, asker: Asker, problem: str = "") -> HTMLResponse:
    tools = find_weeks(asker)
    held = teams.list_teams(asker.record)
    members = {
        team_id: [get_athlete(asker.record, athlete_id) for athlete_id in teams.list_members(asker.record, team_id)]
        for team_id in held
    }
    values = {
        "teams": held,
        "members": members,
        "tables": tools.tables.rest,
        "athletes": asker.record.lists.list_athletes("", MOST_ATHLETES),
        "problem": problem,
    }
    response = render_page(request, asker, "teams.html", **values)
    response.status_code = 400 if problem else 200
    return response
