"""The intake of an athlete: the form, what holds, and the release of a hold."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import FormData

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import IntakeError
from elbowroom.service import holds, intake, intake_plain, plan_choices, plan_words
from elbowroom.service.record_tools import get_athlete
from elbowroom.web.asking import Asker, Clinicians, Everybody, Filmers, Lookers, note_look
from elbowroom.web.filling import Filled, build_plain, fill_form
from elbowroom.web.showing import render_page

router = APIRouter()


async def read_form(request: Request) -> FormData:
    """Return the fields of a form."""
    return await request.form()


Form = Annotated[FormData, Depends(read_form)]
"""The fields of the form that was sent."""


@router.get("/athletes/{athlete_id}/intake")
def show_intake(request: Request, athlete_id: str, asker: Lookers) -> HTMLResponse:
    """Show the newest intake, what holds, and growth."""
    return _render_intake(request, asker, athlete_id, {})


def _render_intake(request: Request, asker: Asker, athlete_id: str, typed: Mapping[str, Any]) -> HTMLResponse:
    """Show the page; `typed` holds what was typed into a release that was refused, and why."""
    today, tables = asker.stamp.at.date(), asker.web.plan
    found = intake.find_intake(asker.record, tables, athlete_id, today)
    note_look(asker, athlete_id, "intake")
    return render_page(
        request,
        asker,
        "intake.html",
        athlete=get_athlete(asker.record, athlete_id),
        standing=plan_words.describe_standing(holds.find_standing(asker.record, athlete_id, today, tables.signs)),
        intake=None if isinstance(found, Absent) else intake_plain.describe_intake(found),
        questions=plan_choices.list_questions(tables),
        growth=plan_words.list_growth_lines(intake.view_growth(asker.record, tables, athlete_id, today)),
        typed={"signs": [], "reason": "", "problem": "", **typed},
    )


@router.get("/athletes/{athlete_id}/standing")
def show_standing(request: Request, athlete_id: str, asker: Everybody) -> HTMLResponse:
    """Show only whether an athlete may throw, and the words for the family; no health detail."""
    today = asker.stamp.at.date()
    standing = holds.find_standing(asker.record, athlete_id, today, asker.web.plan.signs)
    note_look(asker, athlete_id, "standing")
    return render_page(
        request,
        asker,
        "standing.html",
        athlete=get_athlete(asker.record, athlete_id),
        standing=plan_words.describe_standing(standing),
    )


@router.get("/athletes/{athlete_id}/intake/new")
def show_intake_form(request: Request, athlete_id: str, asker: Filmers) -> HTMLResponse:
    """Show an empty intake."""
    return _render_form(request, asker, athlete_id, fill_form({"taken_on": asker.stamp.at.date().isoformat()}))


@router.post("/athletes/{athlete_id}/intake/new")
def take_intake(request: Request, athlete_id: str, asker: Filmers, form: Form) -> Response:
    """Take an intake in, or show the form again with everything that was typed and every problem beside its field."""
    plain, more = build_plain(form), str(form.get("more", ""))
    if more:
        return _render_form(request, asker, athlete_id, fill_form(plain, (), more))
    _, problems = intake.check_plain_intake(asker.record, asker.web.plan, athlete_id, plain, asker.stamp)
    if problems:
        return _render_form(request, asker, athlete_id, fill_form(plain, problems), 422)
    intake.keep_intake(asker.record, asker.web.plan, athlete_id, plain, asker.stamp)
    return RedirectResponse(f"/athletes/{athlete_id}/standing", status_code=303)


@router.post("/athletes/{athlete_id}/release")
def release_hold(request: Request, athlete_id: str, asker: Clinicians, form: Form) -> Response:
    """Release the warning signs that were ticked, with a reason, or show what was typed with what is wrong."""
    signs = [sign for sign in form.getlist("sign") if isinstance(sign, str)]
    reason = str(form.get("reason", ""))
    try:
        plan_choices.check_ticked(signs)
        holds.release_hold(asker.record, athlete_id, signs, reason, asker.stamp)
    except IntakeError as error:
        page = _render_intake(request, asker, athlete_id, {"signs": signs, "reason": reason, "problem": str(error)})
        page.status_code = 422
        return page
    return RedirectResponse(f"/athletes/{athlete_id}/intake", status_code=303)


def _render_form(request: Request, asker: Asker, athlete_id: str, filled: Filled, status: int = 200) -> HTMLResponse:
    values: dict[str, Any] = {
        "athlete": get_athlete(asker.record, athlete_id),
        "filled": filled,
        "choices": plan_choices.list_choices(),
        "questions": plan_choices.list_questions(asker.web.plan),
    }
    page = render_page(request, asker, "intake_form.html", **values)
    page.status_code = status
    return page
