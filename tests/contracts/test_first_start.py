"""The first start: who may begin a record, what is refused, and what stands afterwards.

Sides: the page against the entries of the record that came out of it; a second browser after the first one finished;
every rule of the form broken one at a time.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import pytest

from elbowroom.errors import RecordError
from elbowroom.service.people import check_log_in
from elbowroom.service.people_types import PasswordEntry
from elbowroom.service.record_tools import RecordTools, list_people
from elbowroom.service.record_types import ClinicEntry, PersonEntry, Role, TrailEntry
from elbowroom.service.record_values import Stamp
from elbowroom.service.web_tools import FirstTools, WebTools
from elbowroom.web.first import Switch, build_first_app
from tests.makers.record import begin_clinic
from tests.makers.record_places import make_memory_record
from tests.makers.web import HOST, PASSWORD, Clock, TestClient, find_token, make_tools

CODE = "the-code-of-the-terminal"
WORDS = {
    "code": CODE,
    "clinic": "River Street",
    "person": "Rowan",
    "passphrase": "seven quiet herons at dusk",
    "passphrase_again": "seven quiet herons at dusk",
    "password": PASSWORD,
    "password_again": PASSWORD,
}


@dataclass(kw_only=True)
class Place:
    """A machine without a record."""

    record: RecordTools = field(default_factory=make_memory_record)
    """The record that will be begun."""
    passphrases: list[str] = field(default_factory=list)
    """The passphrases under which one was begun."""
    demos: list[Stamp] = field(default_factory=list)
    """Who loaded the demo club."""
    problem: str = ""
    """What the demo club fails with."""

    def begin(self, passphrase: str) -> RecordTools:
        if self.passphrases:
            raise RecordError("There is a record already.")
        self.passphrases.append(passphrase)
        return self.record

    def load_demo(self, record: RecordTools, stamp: Stamp) -> None:
        if self.problem:
            raise RecordError(self.problem)
        self.demos.append(stamp)

    def build(self, record: RecordTools) -> WebTools:
        return make_tools(record, Clock())


def open_browser(app: Switch) -> TestClient:
    headers = {"sec-fetch-site": "same-origin", "sec-fetch-mode": "navigate", "accept": "text/html"}
    return TestClient(app, base_url=f"http://{HOST}", headers=headers, follow_redirects=False)


@pytest.fixture
def place() -> Place:
    return Place()


@pytest.fixture
def app(place: Place) -> Switch:
    tools = FirstTools(code=CODE, begin_record=place.begin, build_tools=place.build, load_demo=place.load_demo)
    return build_first_app(tools)


def test_form_leads_to_the_day(place: Place, app: Switch) -> None:
    browser = open_browser(app)
    assert "Begin the clinic" in browser.get(f"/begin?code={CODE}").text
    done = browser.post("/begin", data=WORDS)
    assert (done.status_code, done.headers["location"]) == (303, "/")
    assert browser.get("/").status_code == 200
    assert place.passphrases == [WORDS["passphrase"]]
    (clinic,) = place.record.entries.find_entries(ClinicEntry)
    (person,) = list_people(place.record).values()
    assert (clinic.name, person.name, person.role) == ("River Street", "Rowan", Role.CLINICIAN)
    assert place.demos == []


def test_first_clinician_can_log_in_again(app: Switch) -> None:
    open_browser(app).post("/begin", data=WORDS)
    later = open_browser(app)
    words = {"name": "Rowan", "password": PASSWORD, "token": find_token(later.get("/log-in").text)}
    assert later.post("/log-in", data=words).headers["location"] == "/"
    assert later.get("/settings/people").status_code == 200


@pytest.mark.parametrize("code", ["", "wrong", CODE[:-1]])
def test_nobody_begins_without_the_code(place: Place, app: Switch, code: str) -> None:
    browser = open_browser(app)
    for path in (f"/begin?code={code}", "/", "/log-in", "/athletes"):
        answer = browser.get(path)
        assert answer.status_code in (403, 404), path
        assert "passphrase" not in answer.text
    assert browser.post("/begin", data={**WORDS, "code": code}).status_code == 403
    assert place.passphrases == []


def test_code_holds_once(place: Place, app: Switch) -> None:
    browser = open_browser(app)
    browser.post("/begin", data=WORDS)
    other = open_browser(app)
    assert other.get(f"/begin?code={CODE}").status_code == 404
    assert other.post("/begin", data=WORDS).status_code == 404
    assert len(place.passphrases) == 1


WRONG = (
    ({"clinic": " "}, "clinic needs a name"),
    ({"person": ""}, "first clinician needs a name"),
    ({"passphrase": "short", "passphrase_again": "short"}, "passphrase is too short"),
    ({"passphrase_again": "another"}, "two passphrases differ"),
    ({"password_again": "another"}, "two passwords differ"),
    ({"password": "short", "password_again": "short"}, "password is too short"),
    ({"password": WORDS["passphrase"], "password_again": WORDS["passphrase"]}, "are the same"),
)


@pytest.mark.parametrize(("words", "said"), WRONG)
def test_what_is_wrong_is_said_and_nothing_is_begun(
    place: Place, app: Switch, words: dict[str, str], said: str
) -> None:
    answer = open_browser(app).post("/begin", data={**WORDS, **words})
    assert answer.status_code == 400
    assert said in answer.text
    assert PASSWORD not in answer.text
    assert WORDS["passphrase"] not in answer.text
    assert place.passphrases == []


def test_everything_wrong_is_said_at_once(app: Switch) -> None:
    answer = open_browser(app).post("/begin", data={"code": CODE})
    assert len(re.findall("<li>", answer.text)) == 5


def test_demo_club_is_loaded_where_asked_for(place: Place, app: Switch) -> None:
    open_browser(app).post("/begin", data={**WORDS, "has_demo": "true"})
    (stamp,) = place.demos
    assert [stamp.by] == list(list_people(place.record))


def test_record_stands_without_the_demo_club(place: Place, app: Switch) -> None:
    place.problem = "It is missing."
    browser = open_browser(app)
    answer = browser.post("/begin", data={**WORDS, "has_demo": "true"})
    assert "The record was begun, but without the demo club. It is missing." in answer.text
    assert browser.get("/").headers["location"].startswith("/log-in")


def test_other_site_begins_nothing(place: Place, app: Switch) -> None:
    answer = open_browser(app).post("/begin", data=WORDS, headers={"sec-fetch-site": "cross-site"})
    assert answer.status_code == 403
    assert place.passphrases == []


def test_clinic_person_and_password_come_together(place: Place, app: Switch) -> None:
    open_browser(app).post("/begin", data=WORDS)
    counts = {kind: len(place.record.entries.find_entries(kind)) for kind in (ClinicEntry, PersonEntry, PasswordEntry)}
    assert set(counts.values()) == {1}
    assert place.record.entries.find_entries(TrailEntry)
    check_log_in(place.record)


def test_record_of_the_command_line_needs_a_password_first() -> None:
    record = make_memory_record()
    begin_clinic(record)
    with pytest.raises(RecordError, match='record person password "Rowan"'):
        check_log_in(record)
