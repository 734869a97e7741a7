"""A whole visit against an earlier one."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom.errors import PlanError
from elbowroom.service import retesting
from elbowroom.service.clinic_settings import find_settings
from elbowroom.service.retest_words import ChangeRow, build_change_rows
from elbowroom.web.asking import Clinicians, Lookers, note_look
from elbowroom.web.showing import render_page
from elbowroom.web.weeks import find_weeks, list_head

router = APIRouter(prefix="/athletes/{athlete_id}/retest")
SHAPES = {"real": "turned", "not shown": "level", "too close to call": "half"}
"""Mark of each word, beside the word."""


@router.get("")
def show_retest(request: Request, asker: Lookers, athlete_id: str, earlier: str = "", later: str = "") -> HTMLResponse:
    """Show the last visit against the one before, or two that are named."""
    note_look(asker, athlete_id, "retest")
    head, tools = list_head(asker, athlete_id), find_weeks(asker)
    visits = retesting.list_screened_visits(tools, athlete_id)
    problem, comparison = "", None
    rows: tuple[ChangeRow, ...] = ()
    try:
        comparison = retesting.compare_visits(tools, athlete_id, (earlier, later) if earlier and later else None)
        rows = build_change_rows(comparison, find_settings(asker.record).lengths)
    except PlanError as e:
        problem = str(e)
    values = {"visits": visits, "comparison": comparison, "rows": rows, "problem": problem, "shapes": SHAPES}
    return render_page(request, asker, "retest.html", **head, **values)


@router.post("")
def take_retest(
    asker: Clinicians, athlete_id: str, earlier: Annotated[str, Form()], later: Annotated[str, Form()]
) -> Response:
    """Keep a comparison as it was judged."""
    tools = find_weeks(asker)
    retesting.keep_retest(tools, retesting.compare_visits(tools, athlete_id, (earlier, later)), asker.stamp)
    return RedirectResponse(f"/athletes/{athlete_id}/retest?earlier={earlier}&later={later}", status_code=303)
