"""The graded return to throwing of an athlete."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import HoldError, PlanError
from elbowroom.service import returning
from elbowroom.service.record_tools import list_people
from elbowroom.web.asking import Asker, Clinicians, Lookers, note_look
from elbowroom.web.showing import render_page
from elbowroom.web.weeks import find_weeks, list_head

router = APIRouter(prefix="/athletes/{athlete_id}/return")


class ActForm(BaseModel):
    """What is recorded in a return."""

    day: date
    step: int = 0
    answer: Annotated[str, Form(max_length=40)] = ""
    reason: Annotated[str, Form(max_length=500)] = ""
    programme: Annotated[str, Form(max_length=40)] = ""


@router.get("")
def show_return(request: Request, asker: Lookers, athlete_id: str) -> HTMLResponse:
    """Show where the athlete stands, the steps, and what happened."""
    note_look(asker, athlete_id, "return to throwing")
    return _render_return(request, asker, athlete_id)


@router.post("/{act}")
def take_act(
    request: Request, asker: Clinicians, athlete_id: str, act: str, form: Annotated[ActForm, Form()]
) -> Response:
    """Begin a return, record a work-out or a filming, or set the step; what cannot be is said."""
    asked: dict[str, dict[str, object]] = {
        "begin": {"is_begun": True, "programme": form.programme, "reason": form.reason},
        "done": {"done": form.step, "answer": form.answer},
        "filmed": {"is_filmed": True},
        "set": {"step": form.step, "reason": form.reason},
    }
    try:
        returning.take_act(find_weeks(asker), athlete_id, form.day, asked.get(act, {}), asker.stamp)
    except (PlanError, HoldError) as e:
        return _render_return(request, asker, athlete_id, str(e), form.reason)
    return RedirectResponse(f"/athletes/{athlete_id}/return", status_code=303)


def _render_return(
    request: Request, asker: Asker, athlete_id: str, problem: str = "", reason: str = ""
) -> HTMLResponse:
    head, tools = list_head(asker, athlete_id), find_weeks(asker)
    course = returning.find_course(tools, athlete_id)
    is_begun = not isinstance(course, Absent)
    values = {
        "course": course,
        "is_begun": is_begun,
        "steps": () if isinstance(course, Absent) else returning.list_steps(course),
        "programmes": returning.list_programmes(tools, athlete_id, asker.stamp.at.date()),
        "soreness": tools.tables.soreness,
        "people": {person_id: person.name for person_id, person in list_people(asker.record).items()},
        "problem": problem,
        "reason": reason,
    }
    response = render_page(request, asker, "return_course.html", **head, **values)
    response.status_code = 400 if problem else 200
    return response
