"""Log in and log out."""

from __future__ import annotations

import hmac
from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import AccessError
from elbowroom.service.logging_in import log_in
from elbowroom.service.people import has_own_password
from elbowroom.service.people_values import Attempt
from elbowroom.service.record_types import PersonEntry
from elbowroom.service.web_tools import WebTools
from elbowroom.web.asking import (
    check_token,
    choose_local,
    find_session,
    find_sessions,
    find_tools,
    name_cookie,
    read_sent_token,
)
from elbowroom.web.sessions import Sessions
from elbowroom.web.showing import render_bare

router = APIRouter()
DOOR_COOKIE = "elbowroom-door"
"""Holds the token of the form to log in, for want of a session."""


@router.get("/log-in")
def show_log_in(request: Request, then: str = "/") -> Response:
    """Show the form; who is logged in already goes on."""
    if not isinstance(find_session(request), Absent):
        return RedirectResponse(choose_local(then), status_code=303)
    return _render_form(request, then)


@router.post("/log-in")
def take_log_in(
    request: Request,
    name: Annotated[str, Form(max_length=100)],
    password: Annotated[str, Form(max_length=256)],
    token: Annotated[str, Form()],
    then: Annotated[str, Form()] = "/",
) -> Response:
    """Log somebody in, or show the form again with the reason."""
    if not token or not hmac.compare_digest(token.encode(), request.cookies.get(DOOR_COOKIE, "").encode()):
        return _render_form(request, then, "The form was open for too long: try again.", name)
    try:
        person = check_password(request, name, password)
    except AccessError as e:
        return _render_form(request, then, str(e), name)
    return begin_session(request, person.person_id, then)


@router.post("/log-out")
def take_log_out(request: Request, sent: Annotated[str, Depends(read_sent_token)]) -> Response:
    """End the session, also a locked one."""
    tools, session = find_tools(request), find_session(request)
    response = RedirectResponse("/log-in", status_code=303)
    if isinstance(session, Absent):
        return response
    check_token(request, session, sent)
    cookie = name_cookie(tools)
    find_sessions(request).close_session(request.cookies.get(cookie, ""))
    response.delete_cookie(cookie, secure=tools.is_sealed, httponly=True, samesite="strict")
    response.headers["clear-site-data"] = '"cache", "storage"'
    return response


def check_password(request: Request, name: str, password: str) -> PersonEntry:
    """Return whose name and password these are; raises `AccessError` where they are wrong or it is too soon."""
    tools = find_tools(request)
    address = request.client.host if request.client else "unknown"
    with find_sessions(request).log_in_guard:
        attempt = Attempt(name=name, password=password, address=address, at=tools.now())
        return log_in(tools.record, tools.hasher, attempt)


def begin_session(request: Request, person_id: str, then: str) -> Response:
    """Begin a session under a new id and go to the page that was asked for."""
    tools, sessions = find_tools(request), find_sessions(request)
    sessions.close_session(request.cookies.get(name_cookie(tools), ""))
    return answer_with_session(tools, sessions, person_id, then)


def answer_with_session(tools: WebTools, sessions: Sessions, person_id: str, then: str) -> Response:
    """Return the answer that brings a browser a new session and sends it to a page."""
    must_change = not has_own_password(tools.record, person_id)
    session_id = sessions.begin_session(person_id, tools.now(), must_change_password=must_change)
    response = RedirectResponse(choose_local(then), status_code=303)
    response.set_cookie(name_cookie(tools), session_id, secure=tools.is_sealed, httponly=True, samesite="strict")
    return response


def _render_form(request: Request, then: str, problem: str = "", name: str = "") -> HTMLResponse:
    tools = find_tools(request)
    token = request.cookies.get(DOOR_COOKIE, "") or tools.make_secret()
    status = 401 if problem else 200
    values = {"then": choose_local(then), "problem": problem, "name": name, "token": token}
    response = render_bare(request, "log_in.html", status, **values)
    response.set_cookie(DOOR_COOKIE, token, secure=tools.is_sealed, httponly=True, samesite="strict")
    return response
