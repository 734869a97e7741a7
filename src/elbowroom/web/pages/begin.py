"""The first start: the clinic, its passphrase, and its first clinician."""

from __future__ import annotations

import hmac
from datetime import UTC, datetime
from typing import Annotated
from uuid import uuid4

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, Response
from pydantic import BaseModel, Field

from elbowroom.errors import AccessError, ElbowroomError
from elbowroom.service.beginning import begin_clinic_with_password
from elbowroom.service.people import LONGEST_PASSWORD, SHORTEST_PASSWORD, find_password_problem
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_values import ClinicFacts, Stamp
from elbowroom.service.web_tools import FirstTools
from elbowroom.web.app import build_app
from elbowroom.web.pages.log_in import answer_with_session
from elbowroom.web.problems import answer
from elbowroom.web.showing import render_bare

router = APIRouter()
LONGEST_NAME = 100


class Beginning(BaseModel):
    """What the form says."""

    code: str = ""
    clinic: str = Field(default="", max_length=LONGEST_NAME)
    person: str = Field(default="", max_length=LONGEST_NAME)
    passphrase: str = Field(default="", max_length=LONGEST_PASSWORD)
    passphrase_again: str = Field(default="", max_length=LONGEST_PASSWORD)
    password: str = Field(default="", max_length=LONGEST_PASSWORD)
    password_again: str = Field(default="", max_length=LONGEST_PASSWORD)
    has_demo: bool = False


@router.get("/")
@router.get("/begin")
def show_begin(request: Request, code: str = "") -> HTMLResponse:
    """Show the form to whoever brings the code that the terminal printed."""
    check_code(request, code)
    return _render_form(request, Beginning(code=code))


@router.post("/begin")
def take_begin(request: Request, form: Annotated[Beginning, Form()]) -> Response:
    """Begin the record and go on to the day, logged in; or show everything that is wrong at once."""
    tools = check_code(request, form.code)
    problems = find_problems(form)
    if problems:
        return _render_form(request, form, problems)
    facts = ClinicFacts(name=form.clinic.strip(), person_name=form.person.strip())
    stamp = Stamp(at=datetime.now(UTC), by=uuid4().hex)
    try:
        record = tools.begin_record(form.passphrase)
        web = tools.build_tools(record)
        begin_clinic_with_password(record, web.hasher, facts, form.password, stamp)
    except ElbowroomError as e:
        return _render_form(request, form, (str(e),))
    app = build_app(web)
    request.app.state.switch.turn_to(app)
    problem = _load_demo(tools, record, stamp) if form.has_demo else ""
    if problem:
        return answer(request, 500, f"The record was begun, but without the demo club. {problem}")
    return answer_with_session(web, app.state.sessions, stamp.by, "/")


def check_code(request: Request, code: str) -> FirstTools:
    """Return what the first start works with; raises `AccessError` where the code is not the printed one."""
    tools = request.app.state.tools
    assert isinstance(tools, FirstTools)
    if not hmac.compare_digest(code.encode(), tools.code.encode()):
        raise AccessError("There is no record yet: open the whole address that the terminal printed, to begin one.")
    return tools


def find_problems(form: Beginning) -> tuple[str, ...]:
    """Return everything that is wrong with the form, a sentence each."""
    weak = find_password_problem(form.passphrase, form.clinic).replace("password", "passphrase")
    checks = (
        (not form.clinic.strip(), "The clinic needs a name."),
        (not form.person.strip(), "The first clinician needs a name."),
        (form.passphrase != form.passphrase_again, "The two passphrases differ: type the same one twice."),
        (bool(weak), weak),
        (form.password != form.password_again, "The two passwords differ: type the same one twice."),
        (form.password == form.passphrase, "Passphrase and password are the same: take two that differ."),
    )
    own = find_password_problem(form.password, form.person)
    return (*(sentence for is_wrong, sentence in checks if is_wrong), *((own,) if own else ()))


def _load_demo(tools: FirstTools, record: RecordTools, stamp: Stamp) -> str:
    """Load the demo club; return what went wrong, or an empty text: the record stands either way."""
    try:
        if tools.load_demo:
            tools.load_demo(record, stamp)
    except ElbowroomError as e:
        return str(e)
    return ""


def _render_form(request: Request, form: Beginning, problems: tuple[str, ...] = ()) -> HTMLResponse:
    has_club = request.app.state.tools.load_demo is not None
    values = {"form": form, "problems": problems, "has_club": has_club, "shortest": SHORTEST_PASSWORD}
    return render_bare(request, "begin.html", 400 if problems else 200, **values)
