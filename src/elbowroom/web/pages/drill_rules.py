"""The rules that choose drills: read them, change them, with a reason."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom.errors import IntakeError, TableError
from elbowroom.service import drilling
from elbowroom.web.asking import Asker, Clinicians
from elbowroom.web.pages.intake import Form
from elbowroom.web.showing import render_page

router = APIRouter()


@router.get("/settings/drill-rules")
def show_drill_rules(request: Request, asker: Clinicians) -> HTMLResponse:
    """Show the rules that hold, to be changed."""
    text, _ = drilling.find_rules_text(asker.record, asker.web.plan)
    return _render(request, asker, text, "", "")


@router.post("/settings/drill-rules")
def take_drill_rules(request: Request, asker: Clinicians, form: Form) -> Response:
    """Put other rules in the place of those that hold, or show them again with what is wrong."""
    text, reason = str(form.get("rules", "")), str(form.get("reason", ""))
    try:
        drilling.change_drill_rules(asker.record, asker.web.plan, text, reason, asker.stamp)
    except (IntakeError, TableError) as error:
        page = _render(request, asker, text, reason, str(error))
        page.status_code = 422
        return page
    return RedirectResponse("/settings/drill-rules", status_code=303)


def _render(request: Request, asker: Asker, text: str, reason: str, problem: str) -> HTMLResponse:
    rules, version = drilling.find_drill_rules(asker.record, asker.web.plan)
    return render_page(
        request,
        asker,
        "drill_rules.html",
        rules=rules,
        version=version,
        text=text,
        reason=reason,
        problem=problem,
        names={drill.key: drill.name for drill in asker.web.plan.drills},
    )
