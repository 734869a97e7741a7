"""The exam of an athlete: the form for both sides, and what it says."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom.service import drilling, exams, plan_choices, plan_words
from elbowroom.service.plan_tables import PlanTables
from elbowroom.service.record_tools import get_athlete
from elbowroom.web.asking import Asker, Clinicians, Lookers, note_look
from elbowroom.web.filling import Filled, fill_form
from elbowroom.web.pages.intake import Form
from elbowroom.web.showing import render_page

router = APIRouter()
SIDES = {"throwing": "throwing side", "glove": "glove side"}


@router.get("/athletes/{athlete_id}/exam")
def show_exam(request: Request, athlete_id: str, asker: Lookers) -> HTMLResponse:
    """Show the newest exam against published limits, and its links to the throw."""
    today, tables = asker.stamp.at.date(), asker.web.plan
    findings = exams.judge_athlete_exam(asker.record, tables, athlete_id, today)
    note_look(asker, athlete_id, "exam")
    return render_page(
        request,
        asker,
        "exam.html",
        athlete=get_athlete(asker.record, athlete_id),
        findings=plan_words.list_exam_rows(findings, tables.bands),
        links=drilling.list_links(asker.record, tables, athlete_id, today),
    )


@router.get("/athletes/{athlete_id}/exam/new")
def show_exam_form(request: Request, athlete_id: str, asker: Clinicians) -> HTMLResponse:
    """Show an empty exam."""
    first = {"examined_on": asker.stamp.at.date().isoformat(), "rater": asker.person.name}
    return _render_form(request, asker, athlete_id, fill_form(first))


@router.post("/athletes/{athlete_id}/exam/new")
def take_exam(request: Request, athlete_id: str, asker: Clinicians, form: Form) -> Response:
    """Take an exam in, or show the form again with everything that was typed and every problem beside its field."""
    typed = {name: str(value).strip() for name, value in form.items() if name != "token"}
    plain = build_exam(typed, asker.web.plan)
    _, problems = exams.check_plain_exam(asker.web.plan, plain, asker.stamp)
    if problems:
        named = plan_choices.name_readings(problems, plain)
        return _render_form(request, asker, athlete_id, fill_form(typed, named), 422)
    exams.keep_exam(asker.record, asker.web.plan, athlete_id, plain, asker.stamp)
    return RedirectResponse(f"/athletes/{athlete_id}/exam", status_code=303)


def build_exam(typed: Mapping[str, str], tables: PlanTables) -> dict[str, Any]:
    """Return the plain exam that a form holds; a field that was left empty was not read."""
    return {
        "examined_on": typed.get("examined_on", ""),
        "rater": typed.get("rater", ""),
        "reading": [
            {
                "item": item.key,
                "side": side,
                "values": typed[f"{item.key}.{short}"],
                "instrument": typed.get(f"instrument.{plan_choices.choose_kit(item)}", ""),
            }
            for item in tables.exam.items
            for short, side in SIDES.items()
            if typed.get(f"{item.key}.{short}")
        ],
    }


def _render_form(request: Request, asker: Asker, athlete_id: str, filled: Filled, status: int = 200) -> HTMLResponse:
    page = render_page(
        request,
        asker,
        "exam_form.html",
        athlete=get_athlete(asker.record, athlete_id),
        filled=filled,
        items=asker.web.plan.exam.items,
        kits=plan_choices.list_kits(asker.web.plan),
        sides=SIDES,
    )
    page.status_code = status
    return page
