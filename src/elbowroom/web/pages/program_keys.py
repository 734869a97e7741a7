"""Keys for programs: made, shown once, ended."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom.errors import RecordError
from elbowroom.service import program_keys
from elbowroom.service.people_values import Scope
from elbowroom.service.record_tools import list_people
from elbowroom.web.asking import Asker, Clinicians
from elbowroom.web.showing import render_page

router = APIRouter(prefix="/settings/keys")


@router.get("")
def show_keys(request: Request, asker: Clinicians) -> HTMLResponse:
    """Show every key, without the keys themselves."""
    return _render_keys(request, asker)


@router.post("/add")
def take_key(
    request: Request,
    asker: Clinicians,
    name: Annotated[str, Form(max_length=program_keys.LONGEST_NAME)],
    scopes: Annotated[list[Scope] | None, Form()] = None,
) -> Response:
    """Make a key and show it, this once."""
    try:
        key = program_keys.add_program_key(asker.record, asker.web.make_secret, name, scopes or (), asker.stamp)
    except RecordError as e:
        return _render_keys(request, asker, problem=str(e))
    return _render_keys(request, asker, secret=key.secret)


@router.post("/{program_key_id}/end")
def take_end(asker: Clinicians, program_key_id: str) -> Response:
    """End a key for good."""
    program_keys.close_program_key(asker.record, program_key_id, asker.stamp)
    return RedirectResponse("/settings/keys", status_code=303)


def _render_keys(request: Request, asker: Asker, problem: str = "", secret: str = "") -> HTMLResponse:
    people = {person_id: person.name for person_id, person in list_people(asker.record).items()}
    keys = program_keys.list_program_keys(asker.record)
    values = {"keys": keys, "people": people, "scopes": list(Scope), "problem": problem, "secret": secret}
    response = render_page(request, asker, "program_keys.html", **values)
    response.status_code = 400 if problem else 200
    return response
