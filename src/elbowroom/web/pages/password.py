"""A person's own password."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, Response

from elbowroom.errors import AccessError, ElbowroomError, RecordError
from elbowroom.service import people
from elbowroom.web.asking import Asker, Everybody, find_sessions
from elbowroom.web.pages.log_in import begin_session, check_password
from elbowroom.web.showing import render_page

router = APIRouter(prefix="/settings/password")
Password = Annotated[str, Form(max_length=people.LONGEST_PASSWORD)]


@router.get("")
def show_password(request: Request, asker: Everybody, then: str = "/settings") -> HTMLResponse:
    """Show the form."""
    return _render_form(request, asker, then)


@router.post("")
def take_password(
    request: Request,
    asker: Everybody,
    old: Password,
    new: Password,
    again: Password,
    then: Annotated[str, Form()] = "/settings",
) -> Response:
    """Change the password and end the person's other sessions."""
    try:
        if new != again:
            raise RecordError("The two new passwords differ: type the same one twice.")
        check_password(request, asker.person.name, old)
        if new == old:
            raise RecordError("The new password is the old one: choose another.")
        people.set_password(asker.record, asker.web.hasher, asker.person.person_id, new, asker.stamp)
    except (AccessError, RecordError) as e:
        return _render_form(request, asker, then, e)
    find_sessions(request).close_all(asker.person.person_id)
    return begin_session(request, asker.person.person_id, then)


def _render_form(request: Request, asker: Asker, then: str, problem: ElbowroomError | None = None) -> HTMLResponse:
    is_first = not people.has_own_password(asker.record, asker.person.person_id)
    values = {"then": then, "problem": str(problem or ""), "is_first": is_first, "shortest": people.SHORTEST_PASSWORD}
    response = render_page(request, asker, "password.html", **values)
    response.status_code = 400 if problem else 200
    return response
