"""The pages over an invented clinic in memory, asked as a browser asks, with a clock that a test turns."""

from __future__ import annotations

import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from itertools import count

from fastapi import FastAPI

from elbowroom.bootstrap_papers import PackagedPapers
from elbowroom.service.people import add_person, set_password
from elbowroom.service.people_doubles import QuickHasher
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import Role
from elbowroom.service.web_tools import WebTools
from elbowroom.web.app import build_app
from tests.makers.plans import find_tables
from tests.makers.record import PERSON_ID, STAMP, START, begin_clinic
from tests.makers.record_places import make_memory_record

with warnings.catch_warnings():
    # It asks for a successor of httpx that is not pinned here; what it does with httpx is the same.
    warnings.simplefilter("ignore")
    from fastapi.testclient import TestClient

PASSWORD = "heron lamp quiet river"
NAMES = {Role.CLINICIAN: "Rowan", Role.ASSISTANT: "Sam", Role.READER: "Kit"}
HOST = "127.0.0.1"


@dataclass
class Clock:
    """Tells a time that only a test moves."""

    now: datetime = START
    """The time, UTC."""

    def __call__(self) -> datetime:
        return self.now

    def turn(self, seconds: float) -> None:
        self.now += timedelta(seconds=seconds)


@dataclass(kw_only=True)
class Clinic:
    """A clinic whose pages can be asked."""

    record: RecordTools
    """Its record."""
    clock: Clock = field(default_factory=Clock)
    """Its clock."""
    tools: WebTools
    """What the pages work with."""
    app: FastAPI
    """The pages."""

    def open_browser(self) -> TestClient:
        """Return a browser without any cookie."""
        headers = {"sec-fetch-site": "same-origin", "sec-fetch-mode": "navigate", "accept": "text/html"}
        return TestClient(self.app, base_url=f"http://{HOST}", headers=headers, follow_redirects=False)

    def log_in(self, role: Role = Role.CLINICIAN) -> TestClient:
        """Return a browser in which somebody of a role is logged in."""
        browser = self.open_browser()
        token = find_token(browser.get("/log-in").text)
        words = {"name": NAMES[role], "password": PASSWORD, "token": token}
        assert browser.post("/log-in", data=words).status_code == 303
        return browser


def make_clinic(record: RecordTools | None = None, **values: object) -> Clinic:
    """Return a clinic with a person of each role; `values` replace fields of its `WebTools`."""
    record = record or make_memory_record()
    begin_clinic(record)
    hasher, clock = QuickHasher(), Clock()
    set_password(record, hasher, PERSON_ID, PASSWORD, STAMP)
    for role in (Role.ASSISTANT, Role.READER):
        person_id = add_person(record, NAMES[role], role, STAMP)
        set_password(record, hasher, person_id, PASSWORD, replace(STAMP, by=person_id))
    tools = make_tools(record, clock, **values)
    return Clinic(record=record, clock=clock, tools=tools, app=build_app(tools))


def make_tools(record: RecordTools, clock: Clock, **values: object) -> WebTools:
    """Return what the pages of a record work with; a field that the tools gain is given a value here."""
    usual: dict[str, object] = {
        "hasher": QuickHasher(),
        "make_secret": make_secrets(),
        "papers": PackagedPapers(),
        "plan": find_tables(),
    }
    return WebTools(record=record, now=clock, **{**usual, **values})  # type: ignore[arg-type]


def make_secrets() -> Callable[[], str]:
    """Return a maker of secrets that repeat from run to run."""
    numbers = count(1)
    return lambda: f"secret-{next(numbers)}"


def find_token(page: str) -> str:
    """Return the token of the first form of a page."""
    found = re.search(r'name="token" value="([^"]+)"', page)
    assert found, page
    return found.group(1)
