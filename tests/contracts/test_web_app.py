"""The pages as a browser asks for them: who gets in, what is refused, and with which headers.

Sides: answers of the application over a record in memory; the routes themselves, walked, against the rule that each
says who may ask; the entries of the trail; requests as another site or another name would send them.
"""

from __future__ import annotations

import re
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from fastapi.routing import APIRoute

from elbowroom.service.people_doubles import QuickHasher
from elbowroom.service.people_types import AttemptEntry
from elbowroom.service.record_types import Act, Role, TrailEntry
from elbowroom.web.asking import Need, choose_local
from elbowroom.web.guarding import SAFE_METHODS
from elbowroom.web.pages import ROUTERS
from tests.makers.web import HOST, NAMES, PASSWORD, Clinic, find_token, make_clinic

OPEN_TO_ALL = {"/count/{code}", "/log-in", "/log-out", "/lock", "/unlock"}
"""Pages that nobody has to be logged in for; each looks at the session itself."""


@pytest.fixture
def clinic() -> Clinic:
    return make_clinic()


def list_routes() -> list[APIRoute]:
    routes = [route for router in ROUTERS for route in router.routes]
    assert len(routes) > 5
    assert all(isinstance(route, APIRoute) for route in routes)
    return [route for route in routes if isinstance(route, APIRoute)]


def test_every_page_says_who_may_ask() -> None:
    routes = list_routes()
    calls = {route.path: [item.call for item in route.dependant.dependencies] for route in routes}
    unguarded = {path for path, some in calls.items() if not any(isinstance(call, Need) for call in some)}
    assert unguarded == OPEN_TO_ALL


def test_every_page_sends_strangers_to_the_door(clinic: Clinic) -> None:
    browser = clinic.open_browser()
    for route in list_routes():
        if route.path in OPEN_TO_ALL or "GET" not in route.methods or "{" in route.path:
            continue
        answer = browser.get(route.path)
        assert (answer.status_code, answer.headers["location"].split("?")[0]) == (303, "/log-in"), route.path


def test_log_in_leads_to_the_page_that_was_asked_for(clinic: Clinic) -> None:
    browser = clinic.open_browser()
    door = browser.get(browser.get("/athletes?name=ann").headers["location"])
    words = {"name": "rowan", "password": PASSWORD, "token": find_token(door.text), "then": "/athletes?name=ann"}
    assert 'value="/athletes?name=ann"' in door.text
    answer = browser.post("/log-in", data=words)
    assert (answer.status_code, answer.headers["location"]) == (303, "/athletes?name=ann")
    assert browser.get("/athletes?name=ann").status_code == 200
    acts = [entry.act for entry in clinic.record.entries.find_entries(TrailEntry)]
    assert acts[-1] is Act.LOGGED_IN


def test_cookie_is_for_this_server_only(clinic: Clinic) -> None:
    browser = clinic.open_browser()
    words = {"name": "Rowan", "password": PASSWORD, "token": find_token(browser.get("/log-in").text)}
    cookie = browser.post("/log-in", data=words).headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "secure" not in cookie.replace("secret", "")
    sealed = make_clinic(is_sealed=True)
    browser = sealed.open_browser()
    browser.base_url = f"https://{HOST}"
    words["token"] = find_token(browser.get("/log-in").text)
    cookie = browser.post("/log-in", data=words).headers["set-cookie"]
    assert cookie.startswith("__Host-elbowroom=")
    assert "; Secure" in cookie
    assert "Path=/" in cookie
    assert "Domain" not in cookie


def test_log_out_ends_the_session(clinic: Clinic) -> None:
    browser = clinic.log_in()
    token, cookies = find_token(browser.get("/").text), dict(browser.cookies)
    assert browser.post("/log-out", data={"token": token}).headers["location"] == "/log-in"
    again = clinic.open_browser()
    again.cookies.update(cookies)
    assert again.get("/").status_code == 303


def test_locked_session_can_be_ended(clinic: Clinic) -> None:
    browser = clinic.log_in()
    token = find_token(browser.get("/").text)
    browser.get("/lock")
    assert browser.post("/log-out", data={"token": "x"}).status_code == 403
    assert browser.post("/log-out", data={"token": token}).headers["location"] == "/log-in"
    assert browser.get("/").headers["location"].startswith("/log-in")


def test_wrong_name_and_wrong_password_sound_alike(clinic: Clinic) -> None:
    browser = clinic.open_browser()
    token = find_token(browser.get("/log-in").text)
    said = []
    for name, password in (("Rowan", "wrong"), ("Nobody", PASSWORD)):
        answer = browser.post("/log-in", data={"name": name, "password": password, "token": token})
        assert answer.status_code == 401
        said.append(re.findall(r'role="alert">([^<]+)<', answer.text))
    assert said[0] == said[1] != []


def test_wrong_attempts_make_wait_and_a_restart_does_not_forget(clinic: Clinic) -> None:
    def try_once(place: Clinic, password: str) -> str:
        browser = place.open_browser()
        token = find_token(browser.get("/log-in").text)
        answer = browser.post("/log-in", data={"name": "Rowan", "password": password, "token": token})
        return "in" if answer.status_code == 303 else " ".join(re.findall(r'role="alert">([^<]+)<', answer.text))

    for _ in range(5):
        assert "wrong" in try_once(clinic, "no")
    assert "wait 15 s" in try_once(clinic, PASSWORD)
    restarted = make_clinic_again(clinic)
    clinic.clock.turn(14)
    assert "wait 1 s" in try_once(restarted, PASSWORD)
    clinic.clock.turn(1)
    assert "wrong" in try_once(restarted, "no")
    assert "wait 30 s" in try_once(restarted, "no")
    clinic.clock.turn(30)
    assert try_once(restarted, PASSWORD) == "in"
    assert "wrong" in try_once(restarted, "no")
    assert len(clinic.record.entries.find_entries(AttemptEntry)) == 8


def test_many_at_once_do_not_slip_past_the_waiting_time(clinic: Clinic, monkeypatch: pytest.MonkeyPatch) -> None:
    def compare_slowly(hasher: QuickHasher, hashed: str, password: str) -> bool:
        time.sleep(0.05)
        return hashed == hasher.hash_password(password)

    monkeypatch.setattr(QuickHasher, "is_right", compare_slowly)
    browser = clinic.open_browser()
    token = find_token(browser.get("/log-in").text)

    def try_once(number: int) -> str:
        words = {"name": "Rowan", "password": f"guess {number}", "token": token}
        return browser.post("/log-in", data=words).text

    with ThreadPoolExecutor(max_workers=8) as pool:
        said = list(pool.map(try_once, range(16)))
    assert sum("password is wrong" in text for text in said) == 5
    assert sum("Too many wrong attempts" in text for text in said) == 11


def test_old_password_cannot_be_guessed_from_within(clinic: Clinic) -> None:
    browser = clinic.log_in()
    new = "violet anchor seven maps"
    words = {"token": find_token(browser.get("/").text), "new": new, "again": new}
    for number in range(5):
        answer = browser.post("/settings/password", data={**words, "old": f"guess {number}"})
        assert "password is wrong" in answer.text
    assert "wait 15 s" in browser.post("/settings/password", data={**words, "old": PASSWORD}).text


@pytest.mark.parametrize("length", ["16777217", "99999999999999", "-1", "abc"])
def test_large_forms_are_not_read(clinic: Clinic, length: str) -> None:
    headers = {"content-length": length, "content-type": "application/x-www-form-urlencoded"}
    answer = clinic.open_browser().post("/log-in", content=b"name=x", headers=headers)
    assert answer.status_code == 413


def test_forms_of_unsaid_length_are_not_read(clinic: Clinic) -> None:
    answer = clinic.open_browser().post("/log-in", content=iter([b"name=x"]))
    assert answer.status_code == 413


def make_clinic_again(clinic: Clinic) -> Clinic:
    """Return the same record behind a new server."""
    from elbowroom.web.app import build_app

    return Clinic(record=clinic.record, clock=clinic.clock, tools=clinic.tools, app=build_app(clinic.tools))


def test_restart_ends_sessions_cleanly(clinic: Clinic) -> None:
    browser = clinic.log_in()
    again = make_clinic_again(clinic).open_browser()
    again.cookies.update(dict(browser.cookies))
    answer = again.get("/athletes")
    assert (answer.status_code, answer.headers["location"]) == (303, "/log-in?then=%2Fathletes")


def test_idle_session_locks_and_comes_back_to_the_page(clinic: Clinic) -> None:
    browser = clinic.log_in()
    for _ in range(3):
        clinic.clock.turn(599)
        assert browser.get("/").status_code == 200
    clinic.clock.turn(600)
    locked = browser.get("/athletes?name=ann")
    assert locked.headers["location"] == "/unlock?then=%2Fathletes%3Fname%3Dann"
    form = browser.get(locked.headers["location"])
    assert "Rowan" in form.text
    words = {"token": find_token(form.text), "then": "/athletes?name=ann"}
    assert browser.post("/unlock", data={**words, "password": "wrong"}).status_code == 401
    assert browser.get("/").status_code == 303
    answer = browser.post("/unlock", data={**words, "password": PASSWORD})
    assert answer.headers["location"] == "/athletes?name=ann"
    assert browser.get("/athletes").status_code == 200


def test_scripts_by_themselves_keep_nothing_awake(clinic: Clinic) -> None:
    browser = clinic.log_in()
    for _ in range(3):
        clinic.clock.turn(250)
        answer = browser.get("/", headers={"x-elbowroom-background": "yes", "hx-request": "true"})
    assert answer.status_code == 401
    assert answer.headers["hx-redirect"].startswith("/unlock?then=")


def test_session_ends_after_half_a_day_however_busy(clinic: Clinic) -> None:
    browser = clinic.log_in()
    for _ in range(12 * 12 - 1):
        clinic.clock.turn(300)
        assert browser.get("/settings").status_code == 200
    clinic.clock.turn(300)
    assert browser.get("/settings").headers["location"].startswith("/log-in")


def test_lock_is_a_button_too(clinic: Clinic) -> None:
    browser = clinic.log_in()
    assert browser.get("/lock?then=/athletes").headers["location"] == "/unlock?then=%2Fathletes"
    assert browser.get("/").headers["location"].startswith("/unlock")


@pytest.mark.parametrize("token", ["", "secret-1", "x"])
def test_form_without_its_token_is_refused(clinic: Clinic, token: str) -> None:
    browser = clinic.log_in()
    answer = browser.post("/log-out", data={"token": token})
    assert answer.status_code == 403
    assert "earlier session" in answer.text
    assert browser.get("/").status_code == 200


def test_token_may_come_in_a_header(clinic: Clinic) -> None:
    browser = clinic.log_in()
    token = find_token(browser.get("/").text)
    assert browser.post("/log-out", headers={"x-elbowroom-token": token}).status_code == 303


@pytest.mark.parametrize(
    "headers",
    [
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"sec-fetch-site": "none"},
        {"sec-fetch-site": "", "origin": "https://example.org"},
        {"sec-fetch-site": "", "origin": "null"},
        {"sec-fetch-site": ""},
    ],
)
def test_other_sites_cannot_send_forms(clinic: Clinic, headers: dict[str, str]) -> None:
    browser = clinic.log_in()
    token = find_token(browser.get("/").text)
    answer = browser.post("/log-out", data={"token": token}, headers=headers)
    assert (answer.status_code, "another site" in answer.text) == (403, True)
    fine = browser.post("/log-out", data={"token": token}, headers={"sec-fetch-site": "", "origin": f"http://{HOST}"})
    assert fine.status_code == 303


@pytest.mark.parametrize("host", ["example.org", "127.0.0.1.example.org", "", "10.0.0.7:80", "[::2]"])
def test_other_names_are_not_answered(clinic: Clinic, host: str) -> None:
    answer = clinic.open_browser().get("/log-in", headers={"host": host})
    assert answer.status_code == 403
    assert "under this name" in answer.text
    assert clinic.open_browser().get("/log-in", headers={"host": "localhost:8080"}).status_code == 200


def test_every_answer_is_sealed(clinic: Clinic) -> None:
    browser = clinic.log_in()
    for path in ("/", "/log-in", "/nowhere", "/static/elbowroom.css", "/static/made/../../../app.py"):
        headers = browser.get(path).headers
        policy = headers["content-security-policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self';")
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
        assert headers["cache-control"] == ("no-cache" if path.startswith("/static/e") else headers["cache-control"])
    assert browser.get("/").headers["cache-control"] == "no-store"
    assert browser.get("/static/made/%2e%2e/%2e%2e/app.py").status_code == 404


def test_pages_hold_no_script_or_style_of_their_own(clinic: Clinic) -> None:
    for role in NAMES:
        browser = clinic.log_in(role)
        for route in list_routes():
            if "GET" in route.methods and "{" not in route.path:
                text = browser.get(route.path).text
                assert not re.search(r"<style|\sstyle=|\son\w+=|javascript:|<script(?![^>]*\ssrc=)", text), route.path


def test_problems_are_sentences(clinic: Clinic) -> None:
    browser = clinic.log_in()
    answer = browser.get("/nowhere")
    assert answer.status_code == 404
    assert "There is no such page" in answer.text
    assert browser.get("/nowhere", headers={"accept": "application/json"}).json()["problem"].startswith("There is no")
    part = browser.get("/nowhere", headers={"hx-request": "true"})
    assert "<html" not in part.text
    assert "There is no such page" in part.text


@pytest.mark.parametrize(
    "address", ["https://example.org/", "//example.org", "/\\example.org", "javascript:x", "", "/a\nb", "/\t/x"]
)
def test_way_back_stays_here(clinic: Clinic, address: str) -> None:
    assert choose_local(address) == "/"
    assert choose_local("/athletes?name=a%2Fb") == "/athletes?name=a%2Fb"


def test_names_with_marks_are_written_as_text(clinic: Clinic) -> None:
    browser = clinic.log_in()
    text = browser.get("/athletes", params={"name": '"><script>x</script>'}).text
    assert "<script>x" not in text
    assert "&lt;script&gt;" in text


def test_retired_person_is_out_at_once(clinic: Clinic) -> None:
    from elbowroom.service.people import change_role, find_named
    from tests.makers.record import STAMP

    browser = clinic.log_in(Role.READER)
    assert browser.get("/").status_code == 200
    person = find_named(clinic.record, "Kit")
    assert person
    change_role(clinic.record, person.person_id, Role.RETIRED, 1, STAMP)  # type: ignore[union-attr]
    assert browser.get("/").status_code == 403


def test_safe_methods_are_those_that_change_nothing() -> None:
    assert SAFE_METHODS == ("GET", "HEAD")
