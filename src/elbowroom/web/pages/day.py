"""The day: the first page."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom.service.days import add_day_place, list_running, remove_day_place, see_day
from elbowroom.service.holds import list_stops
from elbowroom.web.asking import Everybody, Filmers
from elbowroom.web.clinic import has_sight_of_findings
from elbowroom.web.showing import render_page, render_part

router = APIRouter()


@router.get("/")
def show_day(request: Request, asker: Everybody, on: date | None = None) -> HTMLResponse:
    """Show who comes, what runs and what waits on a day, today where none is named."""
    today = asker.stamp.at.date()
    day = on or today
    sheet = see_day(asker.record, day, asker.stamp)
    values = {
        "sheet": sheet,
        "stops": list_stops(asker.record, [line.athlete_id for line in sheet.expected], day),
        "running": list_running(asker.record, asker.stamp.at),
        "is_today": day == today,
        "before": day - timedelta(days=1),
        "after": day + timedelta(days=1),
        "sees_findings": has_sight_of_findings(asker),
    }
    return render_page(request, asker, "day.html", **values)


@router.get("/running")
def show_running(request: Request, asker: Everybody) -> HTMLResponse:
    """Show what runs, as a part of the day that renews itself."""
    return render_part(request, asker, "running.html", running=list_running(asker.record, asker.stamp.at))


@router.post("/day/{athlete_id}")
def take_day_place(
    asker: Filmers,
    athlete_id: str,
    on: Annotated[date, Form()],
    note: Annotated[str, Form(max_length=100)] = "",
) -> Response:
    """Put an athlete on the list of a day."""
    add_day_place(asker.record, athlete_id, on, note, asker.stamp)
    return RedirectResponse(f"/?on={on}", status_code=303)


@router.post("/day/{athlete_id}/off")
def take_day_place_off(asker: Filmers, athlete_id: str, on: Annotated[date, Form()]) -> Response:
    """Take an athlete off the list of a day."""
    remove_day_place(asker.record, athlete_id, on, asker.stamp)
    return RedirectResponse(f"/?on={on}", status_code=303)
