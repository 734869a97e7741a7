"""The people who work with the record: add them, change their roles, set their passwords."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from elbowroom.errors import RecordError
from elbowroom.service import people
from elbowroom.service.record_tools import list_people
from elbowroom.service.record_types import Role
from elbowroom.web.asking import Asker, Clinicians, find_sessions
from elbowroom.web.showing import render_page

router = APIRouter(prefix="/settings/people")
PAGE = "/settings/people"
Password = Annotated[str, Form(max_length=people.LONGEST_PASSWORD)]


@router.get("")
def show_people(request: Request, asker: Clinicians) -> HTMLResponse:
    """Show everybody and what may be changed."""
    return _render_people(request, asker)


@router.post("/add")
def take_person(
    request: Request,
    asker: Clinicians,
    name: Annotated[str, Form(max_length=100)],
    role: Annotated[Role, Form()],
    password: Password,
) -> Response:
    """Add a person with a first password, which they have to replace when they log in."""
    problem = people.find_password_problem(password, name)
    try:
        if problem:
            raise RecordError(problem)
        person_id = people.add_person(asker.record, name, role, asker.stamp)
    except RecordError as e:
        return _render_people(request, asker, str(e), name)
    people.set_password(asker.record, asker.web.hasher, person_id, password, asker.stamp)
    return RedirectResponse(PAGE, status_code=303)


@router.post("/{person_id}/role")
def take_role(
    request: Request, asker: Clinicians, person_id: str, role: Annotated[Role, Form()], version: Annotated[int, Form()]
) -> Response:
    """Give a person another role, or retire them; whoever is logged in under the old one has to log in again."""
    try:
        people.change_role(asker.record, person_id, role, version, asker.stamp)
    except RecordError as e:
        return _render_people(request, asker, str(e))
    if person_id != asker.person.person_id or role is not Role.CLINICIAN:
        find_sessions(request).close_all(person_id)
    return RedirectResponse(PAGE, status_code=303)


@router.post("/{person_id}/password")
def take_password(request: Request, asker: Clinicians, person_id: str, password: Password) -> Response:
    """Set a first password anew, which the person has to replace when they log in."""
    if person_id == asker.person.person_id:
        return RedirectResponse("/settings/password", status_code=303)
    try:
        people.set_password(asker.record, asker.web.hasher, person_id, password, asker.stamp)
    except RecordError as e:
        return _render_people(request, asker, str(e))
    find_sessions(request).close_all(person_id)
    return RedirectResponse(PAGE, status_code=303)


def _render_people(request: Request, asker: Asker, problem: str = "", name: str = "") -> HTMLResponse:
    entries = sorted(list_people(asker.record).values(), key=lambda one: (one.role == "retired", one.name.casefold()))
    values = {"entries": entries, "roles": list(Role), "problem": problem, "name": name}
    response = render_page(request, asker, "people.html", **values)
    response.status_code = 400 if problem else 200
    return response
