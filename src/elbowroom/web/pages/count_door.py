"""The page behind a link: a coach or parent sends counts from a phone, without an account."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import PlanError
from elbowroom.service import counting
from elbowroom.service.count_links import find_link
from elbowroom.service.record_values import Stamp
from elbowroom.service.week_types import CountLink
from elbowroom.web.asking import find_tools
from elbowroom.web.knocking import find_sent_counts, find_wrong_codes
from elbowroom.web.showing import render_bare
from elbowroom.web.weeks import CountForm, build_weeks

router = APIRouter(prefix="/count/{code}")
SHOWN_DAYS = 14
WAIT = "Too many tries: wait a quarter of an hour."
FULL = "That is more than one link may send in an hour: wait, or ask the clinic."


@router.get("")
def show_door(request: Request, code: str, kept: bool = False) -> HTMLResponse:
    """Show when the athlete may pitch again, the last counts, and the form."""
    link = _find_open_link(request, code)
    if isinstance(link, HTMLResponse):
        return link
    return _render_door(request, link, is_kept=kept)


@router.post("")
def take_count(request: Request, code: str, form: Annotated[CountForm, Form()]) -> Response:
    """Add a count."""
    link = _find_open_link(request, code)
    if isinstance(link, HTMLResponse):
        return link
    tools = find_tools(request)
    now = tools.now()
    if find_sent_counts(request).has_too_many(link.id, now):
        return _render_door(request, link, FULL, form, 429)
    try:
        count = counting.build_count(*form.words)
        counting.keep_count(tools.record, link.athlete_id, count, Stamp(at=now, by=link.id), link.id)
    except PlanError as e:
        return _render_door(request, link, str(e), form, 400)
    find_sent_counts(request).add_knock(link.id, now)
    return RedirectResponse(f"/count/{code}?kept=true", status_code=303)


def _find_open_link(request: Request, code: str) -> CountLink | HTMLResponse:
    """Return the link of a code, or the page that refuses it."""
    tools = find_tools(request)
    address, now = request.client.host if request.client else "unknown", tools.now()
    if find_wrong_codes(request).has_too_many(address, now):
        return render_bare(request, "count_refused.html", 429, words=WAIT)
    link = find_link(tools.record, code, now)
    if isinstance(link, Absent):
        find_wrong_codes(request).add_knock(address, now)
        return render_bare(request, "count_refused.html", 404, words=f"{link.reason} {link.advice}")
    return link


def _render_door(
    request: Request,
    link: CountLink,
    problem: str = "",
    form: CountForm | None = None,
    status: int = 200,
    is_kept: bool = False,
) -> HTMLResponse:
    """Return the page; it shows the chosen name and counts only, nothing of health."""
    tools = find_tools(request)
    today = tools.now().date()
    board = counting.find_count_board(build_weeks(tools.record), link.athlete_id, today)
    counts = counting.list_counts(tools.record, link.athlete_id)
    values = {
        "link": link,
        "problem": problem,
        "said": form or CountForm(day=today, team=""),
        "is_kept": is_kept,
        "today": today,
        "words": f"{board.reason} {board.advice}" if isinstance(board, Absent) else board.availability.sentence,
        "is_free": not isinstance(board, Absent) and board.availability.is_free,
        "counts": [count for count in counts if today - count.day < timedelta(days=SHOWN_DAYS)],
    }
    return render_bare(request, "count_door.html", status, **values)
