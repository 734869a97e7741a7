"""Four weeks of throwing of an athlete: asked for, laid out, each rest day explained."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel

from elbowroom.errors import HoldError, PlanError
from elbowroom.service import week_asking, weeks
from elbowroom.service.week_json import read_plan_days
from elbowroom.service.week_types import PlanOutcome
from elbowroom.web.asking import Asker, Clinicians, Lookers, note_look
from elbowroom.web.showing import render_page
from elbowroom.web.weeks import find_weeks, list_head

router = APIRouter(prefix="/athletes/{athlete_id}/plan")


class PlanForm(BaseModel):
    """What is asked of a plan."""

    first_day: date
    pitching: int = 2
    throwing: int = 3
    drills: int = 2
    free: int = 2
    throws: int = 50
    sizes: Annotated[str, Form(max_length=100)] = "20, 35"
    games: Annotated[str, Form(max_length=4000)] = ""
    times_off: Annotated[str, Form(max_length=2000)] = ""


@router.get("")
def show_plan(request: Request, asker: Lookers, athlete_id: str, version: int = 0) -> HTMLResponse:
    """Show the newest plan, or an older one, and the form for the next."""
    note_look(asker, athlete_id, "throwing plan")
    return _render_plan(request, asker, athlete_id, version=version)


@router.post("")
def take_plan(request: Request, asker: Clinicians, athlete_id: str, form: Annotated[PlanForm, Form()]) -> Response:
    """Lay out a plan and keep it; what cannot be asked for comes back with what was written."""
    asked = {**form.model_dump(), "games": form.games.splitlines(), "times_off": form.times_off.splitlines()}
    try:
        ask = weeks.build_ask(form.first_day, week_asking.read_sizes(form.sizes), asked)
        weeks.make_plan(find_weeks(asker), athlete_id, ask, asker.stamp)
    except (PlanError, HoldError) as e:
        return _render_plan(request, asker, athlete_id, str(e), form)
    return RedirectResponse(f"/athletes/{athlete_id}/plan", status_code=303)


def _render_plan(
    request: Request,
    asker: Asker,
    athlete_id: str,
    problem: str = "",
    form: PlanForm | None = None,
    version: int = 0,
) -> HTMLResponse:
    head = list_head(asker, athlete_id)
    plans = weeks.list_plans(find_weeks(asker), athlete_id)
    chosen = [plan for plan in plans if version in (0, plan.version)]
    plan = chosen[-1] if chosen else None
    days = read_plan_days(plan) if plan else ()
    values = {
        "plan": plan,
        "plans": plans,
        "fits": plan is not None and plan.outcome is PlanOutcome.LAID_OUT,
        "weeks": [days[start : start + 7] for start in range(0, len(days), 7)],
        "said": form or PlanForm(first_day=asker.stamp.at.date()),
        "problem": problem,
        "game_form": week_asking.GAME_FORM,
        "off_form": week_asking.OFF_FORM,
    }
    response = render_page(request, asker, "throwing_plan.html", **head, **values)
    response.status_code = 400 if problem else 200
    return response
