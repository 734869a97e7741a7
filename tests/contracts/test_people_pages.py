"""People, passwords, roles, program keys and the trail, through the pages and through their use cases.

Sides: what a page shows against the entries of the record; every role against every page; a new session and an old one
after a change; the same use cases on SQLCipher and PostgreSQL.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import pytest
from fastapi import APIRouter, Depends

from elbowroom.adapters.passwords.hashing import Argon2Hasher
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import AccessError, ConflictError, DamageError, RecordError
from elbowroom.service import people
from elbowroom.service.athletes import see_athlete
from elbowroom.service.logging_in import find_wait_s, log_in
from elbowroom.service.people_doubles import QuickHasher
from elbowroom.service.people_ports import PasswordHasher
from elbowroom.service.people_types import AttemptEntry, PasswordEntry, ProgramKeyEntry
from elbowroom.service.people_values import Attempt, Scope
from elbowroom.service.program_keys import add_program_key, close_program_key, get_key_holder, list_program_keys
from elbowroom.service.record_tools import RecordTools, find_person, list_people
from elbowroom.service.record_types import Act, PersonEntry, Role, TrailEntry
from elbowroom.web.asking import Asker, Need, NeedScope
from elbowroom.web.pages import ROUTERS
from tests.makers.record import PERSON_ID, STAMP, add_child, begin_clinic, make_stamp
from tests.makers.record_places import make_memory_record, make_sealed_record, make_server_record
from tests.makers.web import PASSWORD, Clinic, TestClient, find_token, make_clinic

PLACES = ("memory", "sealed file", "server")
OTHER = "violet anchor seven maps"


@pytest.fixture
def clinic() -> Clinic:
    return make_clinic()


@pytest.fixture(params=PLACES)
def tools(request: pytest.FixtureRequest, tmp_path: Path) -> RecordTools:
    makers: dict[str, Callable[[], RecordTools]] = {
        "memory": make_memory_record,
        "sealed file": lambda: make_sealed_record(tmp_path),
        "server": lambda: make_server_record(tmp_path, request.getfixturevalue("postgres_address")),
    }
    made = makers[request.param]()
    begin_clinic(made)
    return made


def get_named(tools: RecordTools, name: str) -> PersonEntry:
    found = people.find_named(tools, name)
    assert not isinstance(found, Absent)
    return found


# -- use cases, in every place ---------------------------------------------------------------------------------------


def test_password_has_versions_and_the_newest_holds(tools: RecordTools) -> None:
    hasher = QuickHasher()
    people.set_password(tools, hasher, PERSON_ID, PASSWORD, STAMP)
    people.set_password(tools, hasher, PERSON_ID, OTHER, make_stamp(1))
    versions = tools.entries.find_entries(PasswordEntry, person_id=PERSON_ID)
    assert [item.version for item in versions] == [1, 2]
    old = Attempt(name="Rowan", password=PASSWORD, address="::1", at=make_stamp(2).at)
    with pytest.raises(AccessError):
        log_in(tools, hasher, old)
    assert log_in(tools, hasher, replace(old, password=OTHER)).person_id == PERSON_ID
    attempts = sorted(tools.entries.find_entries(AttemptEntry), key=lambda item: item.went_well)
    assert [(item.went_well, item.recorded_by) for item in attempts] == [(False, PERSON_ID), (True, PERSON_ID)]


def test_attempts_are_counted_by_name_and_by_machine(tools: RecordTools) -> None:
    hasher = QuickHasher()
    people.set_password(tools, hasher, PERSON_ID, PASSWORD, STAMP)
    attempt = Attempt(name="Rowan", password="no", address="10.0.0.1", at=STAMP.at)
    for number in range(5):
        with pytest.raises(AccessError, match="wrong"):
            log_in(tools, hasher, replace(attempt, address=f"10.0.0.{number}"))
    assert find_wait_s(tools, replace(attempt, name="ROWAN ", address="10.0.0.9")) == 15
    assert find_wait_s(tools, replace(attempt, name="Sam")) == 0
    for number in range(20):
        with pytest.raises(AccessError, match="wrong"):
            log_in(tools, hasher, replace(attempt, name=f"stranger {number}"))
    assert find_wait_s(tools, replace(attempt, name="Sam")) == 15
    assert find_wait_s(tools, replace(attempt, name="Sam", at=make_stamp(0.51).at)) == 0
    names = [item.name_digest for item in tools.entries.find_entries(AttemptEntry)]
    assert all(re.fullmatch("[0-9a-f]{64}", name) for name in names)


def test_role_has_versions_and_the_last_clinician_stays(tools: RecordTools) -> None:
    sam = people.add_person(tools, "Sam", Role.ASSISTANT, STAMP)
    with pytest.raises(RecordError, match="only clinician"):
        people.change_role(tools, PERSON_ID, Role.READER, 1, STAMP)
    people.change_role(tools, sam, Role.CLINICIAN, 1, make_stamp(1))
    with pytest.raises(ConflictError):
        people.change_role(tools, sam, Role.READER, 1, make_stamp(2))
    people.change_role(tools, PERSON_ID, Role.RETIRED, 1, make_stamp(3))
    assert {one.name: one.role for one in list_people(tools).values()} == {"Rowan": "retired", "Sam": "clinician"}
    assert not find_person(tools, "Rowan")
    versions = tools.entries.find_entries(PersonEntry, person_id=sam)
    assert [item.role for item in versions] == [Role.ASSISTANT, Role.CLINICIAN]


def test_names_are_told_apart(tools: RecordTools) -> None:
    for name in ("rowan", " Rowan ", "", "  ", "a\nb", "x" * 101):
        with pytest.raises(RecordError):
            people.add_person(tools, name, Role.READER, STAMP)
    assert len(list_people(tools)) == 1


def test_program_key_is_shown_once_and_can_be_ended(tools: RecordTools) -> None:
    key = add_program_key(tools, lambda: "s3cret", "a study", [Scope.READ], STAMP)
    assert get_key_holder(tools, key.secret, Scope.READ) == PERSON_ID
    with pytest.raises(AccessError, match="does not allow to write"):
        get_key_holder(tools, key.secret, Scope.WRITE)
    (entry,) = tools.entries.find_entries(ProgramKeyEntry)
    assert "s3cret" not in str(entry)
    close_program_key(tools, key.program_key_id, make_stamp(1))
    with pytest.raises(AccessError, match="does not hold"):
        get_key_holder(tools, key.secret, Scope.READ)
    with pytest.raises(ConflictError):
        close_program_key(tools, key.program_key_id, make_stamp(2))
    ((_, end),) = list_program_keys(tools)
    assert not isinstance(end, Absent)
    assert end.recorded_at == make_stamp(1).at


def test_trail_is_listed_newest_first_page_by_page(tools: RecordTools) -> None:
    athlete_id = add_child(tools)
    for days in (3, 1, 2):
        see_athlete(tools, athlete_id, make_stamp(days))
    looks = [entry.recorded_at for entry in tools.lists.list_acts(athlete_id, 2)]
    assert looks == [make_stamp(3).at, make_stamp(2).at]
    assert [entry.recorded_at for entry in tools.lists.list_acts(athlete_id, 1, 2)] == [make_stamp(1).at]
    everything = tools.lists.list_acts("", 100)
    assert sorted(everything, key=str) == sorted(tools.entries.find_entries(TrailEntry), key=str)
    assert tools.lists.list_acts("nobody") == ()


# -- passwords -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "hasher", [QuickHasher(), Argon2Hasher(memory_kib=64, passes=1, lanes=1)], ids=["double", "argon2"]
)
def test_hasher_tells_right_from_wrong(hasher: PasswordHasher) -> None:
    hashed = hasher.hash_password(PASSWORD)
    assert hasher.is_right(hashed, PASSWORD)
    assert not hasher.is_right(hashed, PASSWORD + " ")
    assert not hasher.is_outdated(hashed)
    assert PASSWORD not in hashed


def test_argon2_is_salted_and_knows_its_cost() -> None:
    cheap, usual = Argon2Hasher(memory_kib=64, passes=1, lanes=1), Argon2Hasher()
    assert cheap.hash_password(PASSWORD) != cheap.hash_password(PASSWORD)
    assert usual.is_outdated(cheap.hash_password(PASSWORD))
    assert usual.hash_password(PASSWORD).startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    with pytest.raises(DamageError, match="set a new one"):
        usual.is_right("nonsense", PASSWORD)


WEAK = (
    "short word",
    "password password",
    "elbowroom12",
    "rowanrowanrowan",
    "aaaaaaaaaaaaaaaaa",
    "x" * 300,
    "123456qwerty",
)
STRONG = (PASSWORD, OTHER, "Zoë's 4 blue éclairs", "correct-ish horses 9")


@pytest.mark.parametrize("password", WEAK)
def test_weak_password_is_refused_with_advice(password: str) -> None:
    assert people.find_password_problem(password, "Rowan").endswith(".")


@pytest.mark.parametrize("password", STRONG)
def test_strong_password_is_taken(password: str) -> None:
    assert people.find_password_problem(password, "Rowan") == ""


# -- pages -----------------------------------------------------------------------------------------------------------

FOR_CLINICIANS = ("/settings/people", "/settings/trail", "/settings/keys")


@pytest.mark.parametrize("role", [Role.ASSISTANT, Role.READER])
def test_pages_of_clinicians_are_refused_to_others(clinic: Clinic, role: Role) -> None:
    browser = clinic.log_in(role)
    for path in FOR_CLINICIANS:
        answer = browser.get(path)
        assert answer.status_code == 403, path
        assert f"yours is {role}" in answer.text
        assert path not in browser.get("/settings").text
    token = find_token(browser.get("/").text)
    words = {"token": token, "name": "Eve", "role": "clinician", "password": OTHER}
    assert browser.post("/settings/people/add", data=words).status_code == 403
    assert len(list_people(clinic.record)) == 3


def test_clinician_sees_them(clinic: Clinic) -> None:
    browser = clinic.log_in()
    for path in FOR_CLINICIANS:
        assert browser.get(path).status_code == 200
        assert path in browser.get("/settings").text


def test_added_person_has_to_choose_a_password_first(clinic: Clinic) -> None:
    browser = clinic.log_in()
    words = {"token": find_token(browser.get("/").text), "name": "Ash", "role": "assistant", "password": "short"}
    refused = browser.post("/settings/people/add", data=words)
    assert (refused.status_code, "too short" in refused.text, 'value="Ash"' in refused.text) == (400, True, True)
    assert browser.post("/settings/people/add", data={**words, "password": OTHER}).status_code == 303
    new = log_in_as(clinic, "Ash", OTHER)
    turn = new.get("/athletes")
    assert turn.headers["location"] == "/settings/password?then=%2Fathletes"
    form = new.get(turn.headers["location"])
    assert "Somebody else chose your password" in form.text
    words = {
        "token": find_token(form.text),
        "old": OTHER,
        "then": "/athletes",
        "new": PASSWORD,
        "again": PASSWORD + "!",
    }
    assert "differ" in new.post("/settings/password", data=words).text
    done = new.post("/settings/password", data={**words, "again": PASSWORD})
    assert done.headers["location"] == "/athletes"
    assert new.get("/athletes").status_code == 200
    versions = clinic.record.entries.find_entries(PasswordEntry, person_id=get_named(clinic.record, "Ash").person_id)
    assert [item.version for item in versions] == [1, 2]


def log_in_as(clinic: Clinic, name: str, password: str) -> TestClient:
    browser = clinic.open_browser()
    token = find_token(browser.get("/log-in").text)
    assert browser.post("/log-in", data={"name": name, "password": password, "token": token}).status_code == 303
    return browser


def test_new_password_ends_other_sessions(clinic: Clinic) -> None:
    browser, other = clinic.log_in(), clinic.log_in()
    words = {"token": find_token(browser.get("/").text), "old": "wrong", "new": OTHER, "again": OTHER}
    assert browser.post("/settings/password", data=words).status_code == 400
    assert other.get("/").status_code == 200
    assert browser.post("/settings/password", data={**words, "old": PASSWORD}).status_code == 303
    assert browser.get("/").status_code == 200
    assert other.get("/").status_code == 303


def test_new_role_holds_at_once(clinic: Clinic) -> None:
    browser, sam = clinic.log_in(), clinic.log_in(Role.ASSISTANT)
    person = get_named(clinic.record, "Sam")
    words = {"token": find_token(browser.get("/").text), "role": "reader", "version": "1"}
    assert browser.post(f"/settings/people/{person.person_id}/role", data=words).status_code == 303
    assert sam.get("/").status_code == 303
    assert "reader" in log_in_as(clinic, "Sam", PASSWORD).get("/settings").text
    again = browser.post(f"/settings/people/{person.person_id}/role", data={**words, "role": "clinician"})
    assert (again.status_code, "Somebody else changed this" in again.text) == (400, True)


def test_key_is_on_the_page_once(clinic: Clinic) -> None:
    browser = clinic.log_in()
    token = find_token(browser.get("/").text)
    assert "Choose what the key allows" in browser.post("/settings/keys/add", data={"token": token, "name": "x"}).text
    made = browser.post("/settings/keys/add", data={"token": token, "name": "a study", "scopes": ["read", "write"]})
    secret = re.findall(r'id="secret">([^<]+)<', made.text)[0]
    assert secret.startswith("elbowroom_")
    later = browser.get("/settings/keys").text
    assert "a study" in later
    assert secret not in later
    (key,) = clinic.record.entries.find_entries(ProgramKeyEntry)
    browser.post(f"/settings/keys/{key.id}/end", data={"token": token})
    assert "ended on" in browser.get("/settings/keys").text


def test_trail_shows_names_and_leads_to_one_athlete(clinic: Clinic) -> None:
    athlete_id = add_child(clinic.record)
    browser = clinic.log_in()
    text = browser.get("/settings/trail").text
    assert "Zoë Ångström" in text
    assert "person Sam, assistant" in text
    assert "logged in" in text
    one = browser.get(f"/settings/trail?athlete={athlete_id}").text
    assert "logged in" not in one.split("<main")[1].split("</table>")[0]


def test_trail_comes_in_pages(clinic: Clinic) -> None:
    athlete_id = add_child(clinic.record)
    for days in range(101):
        see_athlete(clinic.record, athlete_id, make_stamp(days))
    browser = clinic.log_in()
    first = browser.get(f"/settings/trail?athlete={athlete_id}").text
    assert first.count("<td>looked") == 100
    assert "skipped=100" in first
    assert "skipped=0" in browser.get(f"/settings/trail?athlete={athlete_id}&skipped=100").text


# -- programs --------------------------------------------------------------------------------------------------------

Readable = Annotated[Asker, Depends(NeedScope(Scope.READ, Role.CLINICIAN, Role.READER))]


@pytest.fixture
def program(clinic: Clinic) -> TestClient:
    """Return a client of the pages with an address for programs, logged in as nobody."""
    router = APIRouter()

    @router.post("/for-programs/try")
    def try_it(asker: Readable) -> dict[str, str]:
        return {"who": asker.person.name}

    clinic.app.include_router(router)
    browser = clinic.open_browser()
    browser.headers.clear()
    return browser


def test_program_asks_with_its_key(clinic: Clinic, program: TestClient) -> None:
    key = add_program_key(clinic.record, lambda: "s", "a study", [Scope.READ], STAMP)
    answer = program.post("/for-programs/try", headers={"authorization": f"Bearer {key.secret}"})
    assert (answer.status_code, answer.json()) == (200, {"who": "Rowan"})
    for wrong in ("Bearer nothing", f"Basic {key.secret}"):
        refused = program.post("/for-programs/try", headers={"authorization": wrong, "sec-fetch-site": "same-origin"})
        assert refused.status_code == 403
        assert set(refused.json()) == {"problem"}
    assert program.post("/for-programs/try").status_code == 403


def test_key_falls_with_its_maker(clinic: Clinic, program: TestClient) -> None:
    sam = get_named(clinic.record, "Sam")
    people.change_role(clinic.record, sam.person_id, Role.CLINICIAN, 1, STAMP)
    key = add_program_key(clinic.record, lambda: "s", "x", [Scope.READ], replace(STAMP, by=sam.person_id))
    headers = {"authorization": f"Bearer {key.secret}"}
    assert program.post("/for-programs/try", headers=headers).json() == {"who": "Sam"}
    people.change_role(clinic.record, sam.person_id, Role.ASSISTANT, 2, STAMP)
    assert "yours is assistant" in program.post("/for-programs/try", headers=headers).json()["problem"]
    people.change_role(clinic.record, sam.person_id, Role.RETIRED, 3, STAMP)
    assert program.post("/for-programs/try", headers=headers).status_code == 403


def test_wrong_key_is_not_saved_by_a_session(clinic: Clinic, program: TestClient) -> None:
    browser = clinic.log_in()
    token = find_token(browser.get("/").text)
    assert browser.post("/for-programs/try", headers={"x-elbowroom-token": token}).json() == {"who": "Rowan"}
    headers = {"x-elbowroom-token": token, "authorization": "Bearer wrong"}
    assert browser.post("/for-programs/try", headers=headers).status_code == 403
    assert browser.post("/for-programs/try").status_code == 403


def test_reader_changes_nothing() -> None:
    """Every form but those to log in, of one's own password and of a link for counts leaves the reader out."""
    own = {"/count/{code}", "/log-in", "/log-out", "/unlock", "/settings/password"}
    routes = [route for router in ROUTERS for route in router.routes]
    for route in routes:
        if getattr(route, "methods", set()) <= {"GET", "HEAD"} or route.path in own:  # type: ignore[attr-defined]
            continue
        needs = [item.call for item in route.dependant.dependencies if isinstance(item.call, Need)]  # type: ignore[attr-defined]
        assert needs, route
        assert all(Role.READER not in need.roles for need in needs), route


KEPT_FROM_ASSISTANTS = re.compile(r"/(papers|data|measures|why|pictures|exam|drills|judge|review|release|findings)\b")


def test_assistant_is_kept_from_findings_and_health_details() -> None:
    """Every page of an athlete or a visit that shows a finding or health detail leaves the assistant out."""
    routes = [route for router in ROUTERS for route in router.routes]
    kept = [route for route in routes if "{" in route.path and KEPT_FROM_ASSISTANTS.search(route.path)]  # type: ignore[attr-defined]
    kept = [route for route in kept if not route.path.startswith("/drills/")]  # type: ignore[attr-defined]
    assert len(kept) > 10
    for route in kept:
        needs = [item.call for item in route.dependant.dependencies if isinstance(item.call, Need)]  # type: ignore[attr-defined]
        assert all(Role.ASSISTANT not in need.roles for need in needs), route


def test_refused_acts_leave_nothing(clinic: Clinic) -> None:
    before = len(list(clinic.record.entries.walk_entries()))
    browser = clinic.log_in(Role.READER)
    browser.get("/settings/people")
    added = [entry for entry in clinic.record.entries.find_entries(TrailEntry) if entry.act is Act.LOGGED_IN]
    assert len(list(clinic.record.entries.walk_entries())) == before + 2
    assert len(added) == 1
