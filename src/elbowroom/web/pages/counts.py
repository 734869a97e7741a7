"""An athlete's counts: the log, when to pitch again, links for a coach or parent."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import PlanError
from elbowroom.service import count_links, counting, teams
from elbowroom.service.record_lines import ABSENT
from elbowroom.web.asking import Asker, Everybody, Filmers, note_look
from elbowroom.web.showing import render_page
from elbowroom.web.weeks import CountForm, find_weeks, list_head

router = APIRouter(prefix="/athletes/{athlete_id}")


@router.get("/counts")
def show_counts(request: Request, asker: Everybody, athlete_id: str) -> HTMLResponse:
    """Show the log and when the athlete may pitch again."""
    note_look(asker, athlete_id, "counts")
    return _render_counts(request, asker, athlete_id)


@router.post("/counts")
def take_count(request: Request, asker: Filmers, athlete_id: str, form: Annotated[CountForm, Form()]) -> Response:
    """Add a count; what cannot be so comes back with what was written."""
    try:
        counting.keep_count(asker.record, athlete_id, counting.build_count(*form.words), asker.stamp)
    except PlanError as e:
        return _render_counts(request, asker, athlete_id, str(e), form)
    return _turn_back(athlete_id)


@router.post("/counts/{count_id}")
def take_correction(
    request: Request,
    asker: Filmers,
    athlete_id: str,
    count_id: str,
    form: Annotated[CountForm, Form()],
    number: Annotated[int, Form()],
) -> Response:
    """Put what was written in the place of a count; the old one stays in the record."""
    try:
        counting.replace_count(asker.record, count_id, number, counting.build_count(*form.words), asker.stamp)
    except PlanError as e:
        return _render_counts(request, asker, athlete_id, str(e))
    return _turn_back(athlete_id)


@router.post("/counts/{count_id}/remove")
def take_removal(asker: Filmers, athlete_id: str, count_id: str, number: Annotated[int, Form()]) -> Response:
    """Take a count back; it stays in the record."""
    counting.replace_count(asker.record, count_id, number, ABSENT, asker.stamp)
    return _turn_back(athlete_id)


@router.post("/count-links")
def take_link(
    request: Request,
    asker: Filmers,
    athlete_id: str,
    shown: Annotated[str, Form(max_length=100)],
    holder: Annotated[str, Form(max_length=100)],
    days: Annotated[int, Form()],
) -> HTMLResponse:
    """Make a link and show it, once."""
    code = asker.web.make_secret()
    try:
        count_links.make_link(asker.record, athlete_id, code, (shown, holder), days, asker.stamp)
    except PlanError as e:
        return _render_counts(request, asker, athlete_id, str(e))
    return _render_counts(request, asker, athlete_id, address=str(request.url_for("show_door", code=code)))


@router.post("/count-links/{link_id}/end")
def take_link_end(asker: Filmers, athlete_id: str, link_id: str) -> Response:
    """End a link before its day."""
    count_links.close_link(asker.record, link_id, asker.stamp)
    return _turn_back(athlete_id)


def _turn_back(athlete_id: str) -> Response:
    return RedirectResponse(f"/athletes/{athlete_id}/counts", status_code=303)


def _render_counts(
    request: Request,
    asker: Asker,
    athlete_id: str,
    problem: str = "",
    form: CountForm | None = None,
    address: str = "",
) -> HTMLResponse:
    tools = find_weeks(asker)
    head = list_head(asker, athlete_id)
    today = asker.stamp.at.date()
    board = counting.find_count_board(tools, athlete_id, today)
    played = teams.list_teams_of(asker.record, athlete_id)
    values = {
        "board": board,
        "is_known": not isinstance(board, Absent),
        "counts": counting.list_counts(asker.record, athlete_id),
        "teams": played,
        "links": count_links.list_links(asker.record, athlete_id, asker.stamp.at),
        "said": form or CountForm(day=today, team=played[0].name if played else ""),
        "problem": problem,
        "address": address,
    }
    response = render_page(request, asker, "counts.html", **head, **values)
    response.status_code = 400 if problem else 200
    return response
