"""The list of athletes, and adding one."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel, Field

from elbowroom.errors import RecordError
from elbowroom.service import athletes
from elbowroom.web.asking import Everybody, Filmers
from elbowroom.web.showing import render_page

router = APIRouter()
MOST_ATHLETES = 50
NOTHING_SAID = {"name": "", "born_on": "", "hand": "right", "note": ""}
FURTHEST = 1_000_000
"""No clinic has more athletes."""


class AthleteForm(BaseModel):
    """What a form says of an athlete."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    born_on: date
    hand: Literal["right", "left"]
    note: Annotated[str, Field(max_length=2000)] = ""


@router.get("/athletes")
def list_athletes(
    request: Request,
    asker: Everybody,
    name: Annotated[str, Query(max_length=100)] = "",
    skipped: Annotated[int, Query(ge=0, le=FURTHEST)] = 0,
) -> HTMLResponse:
    """Show the athletes whose name holds a text, a page at a time."""
    lines = asker.record.lists.list_athletes(name, MOST_ATHLETES + 1, skipped)
    values = {"name": name, "lines": lines[:MOST_ATHLETES], "skipped": skipped, "step": MOST_ATHLETES}
    return render_page(
        request, asker, "athletes.html", has_more=len(lines) > MOST_ATHLETES, today=asker.stamp.at.date(), **values
    )


@router.get("/athletes/add")
def show_new_athlete(request: Request, asker: Filmers) -> HTMLResponse:
    """Show the form for a new athlete."""
    return render_page(request, asker, "athlete_new.html", problem="", said=NOTHING_SAID)


@router.post("/athletes/add")
def take_new_athlete(request: Request, asker: Filmers, form: Annotated[AthleteForm, Form()]) -> Response:
    """Add an athlete and open the athlete's page."""
    facts = athletes.build_facts(form.name, form.born_on, form.hand, form.note)
    try:
        athlete_id = athletes.add_athlete(asker.record, facts, asker.stamp)
    except RecordError as e:
        response = render_page(request, asker, "athlete_new.html", problem=str(e), said=vars(facts))
        response.status_code = 400
        return response
    return RedirectResponse(f"/athletes/{athlete_id}", status_code=303)
