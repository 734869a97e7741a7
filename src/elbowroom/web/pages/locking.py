"""Lock the screen, and unlock it with the password of whoever locked it."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import AccessError
from elbowroom.service.people import get_person
from elbowroom.web.asking import (
    check_token,
    choose_local,
    find_session,
    find_sessions,
    find_tools,
    name_cookie,
    read_sent_token,
)
from elbowroom.web.pages.log_in import begin_session, check_password
from elbowroom.web.sessions import Session
from elbowroom.web.showing import render_bare

router = APIRouter()


@router.get("/lock")
def lock_screen(request: Request, then: str = "/") -> Response:
    """Lock the session and show the form that unlocks it."""
    find_sessions(request).lock_session(request.cookies.get(name_cookie(find_tools(request)), ""))
    return RedirectResponse(f"/unlock?then={quote(choose_local(then), safe='')}", status_code=303)


@router.get("/unlock")
def show_unlock(request: Request, then: str = "/") -> Response:
    """Show the form, with the name of whoever locked the screen."""
    session = find_session(request)
    if isinstance(session, Absent):
        return RedirectResponse(f"/log-in?then={quote(choose_local(then), safe='')}", status_code=303)
    if not session.is_locked:
        return RedirectResponse(choose_local(then), status_code=303)
    return _render_form(request, session, then)


@router.post("/unlock")
def take_unlock(
    request: Request,
    password: Annotated[str, Form(max_length=256)],
    sent: Annotated[str, Depends(read_sent_token)],
    then: Annotated[str, Form()] = "/",
) -> Response:
    """Unlock the session under a new id and go back to the page that was open."""
    session = find_session(request)
    if isinstance(session, Absent):
        return RedirectResponse(f"/log-in?then={quote(choose_local(then), safe='')}", status_code=303)
    check_token(request, session, sent)
    name = get_person(find_tools(request).record, session.person_id).name
    try:
        person = check_password(request, name, password)
    except AccessError as e:
        return _render_form(request, session, then, str(e))
    return begin_session(request, person.person_id, then)


def _render_form(request: Request, session: Session, then: str, problem: str = "") -> HTMLResponse:
    name = get_person(find_tools(request).record, session.person_id).name
    values = {"then": choose_local(then), "problem": problem, "name": name, "token": session.token}
    return render_bare(request, "unlock.html", 401 if problem else 200, **values)
