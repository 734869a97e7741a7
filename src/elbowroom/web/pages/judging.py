"""How the clinic judges and reads, and how long it keeps whom."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel, Field

from elbowroom.core.findings.types import DecisionRule
from elbowroom.errors import RecordError
from elbowroom.service import clinic_settings
from elbowroom.service.forgetting import list_overdue
from elbowroom.service.record_tools import list_people
from elbowroom.web.asking import Asker, Clinicians
from elbowroom.web.showing import render_page

router = APIRouter(prefix="/settings")
Percent = Annotated[float, Field(gt=0, lt=100)]
Years = Annotated[int, Form(ge=0, le=clinic_settings.MOST_YEARS)]


class JudgingForm(BaseModel):
    """What a form says of the decision rule and the units."""

    beyond: Percent
    within: Percent
    lengths: Literal["cm", "in"]
    version: int
    reason: Annotated[str, Field(max_length=500)] = ""


@router.get("/judging")
def show_judging(request: Request, asker: Clinicians) -> HTMLResponse:
    """Show the decision rule and the units with every earlier version."""
    return _render_judging(request, asker, "")


@router.post("/judging")
def take_judging(request: Request, asker: Clinicians, form: Annotated[JudgingForm, Form()]) -> Response:
    """Add a version of the settings."""
    rule = DecisionRule(beyond_from_probability=form.beyond / 100, within_to_probability=form.within / 100)
    wanted = clinic_settings.build_settings(form.version, form.lengths, rule)
    try:
        clinic_settings.change_settings(asker.record, wanted, form.reason, asker.stamp)
    except RecordError as e:
        return _render_judging(request, asker, str(e))
    return RedirectResponse("/settings/judging", status_code=303)


@router.get("/retention")
def show_retention(request: Request, asker: Clinicians) -> HTMLResponse:
    """Show how long the clinic keeps whom, and whom the rule lets go."""
    clinic = clinic_settings.get_clinic(asker.record)
    due = list_overdue(asker.record, asker.stamp.at.date()) if clinic.keep_years else ()
    values = {"clinic": clinic, "due": due, "versions": clinic_settings.list_clinic_versions(asker.record)}
    return render_page(request, asker, "retention.html", people=list_people(asker.record), **values)


@router.post("/retention")
def take_retention(asker: Clinicians, keep_years: Years, until_age: Years, version: Annotated[int, Form()]) -> Response:
    """Add a version of the rule; nobody is removed by it."""
    clinic_settings.change_retention(asker.record, keep_years, until_age, version, asker.stamp)
    return RedirectResponse("/settings/retention", status_code=303)


def _render_judging(request: Request, asker: Asker, problem: str) -> HTMLResponse:
    values = {
        "now": clinic_settings.find_settings(asker.record),
        "versions": clinic_settings.list_settings(asker.record),
    }
    response = render_page(request, asker, "judging.html", problem=problem, people=list_people(asker.record), **values)
    response.status_code = 400 if problem else 200
    return response
