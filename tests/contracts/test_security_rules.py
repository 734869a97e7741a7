"""Small rules of protection that the page on it names.

Sides: answers of the application against what a browser keeps; the log as it is written; the wiring's own generator.
"""

from __future__ import annotations

import logging

import pytest
from fastapi import APIRouter

from elbowroom import bootstrap_web
from elbowroom.settings import WebSettings
from tests.makers.record_places import make_memory_record
from tests.makers.web import PASSWORD, Clinic, find_token, make_clinic


@pytest.fixture
def clinic() -> Clinic:
    return make_clinic()


def test_id_is_new_after_log_in_and_unlock(clinic: Clinic) -> None:
    browser = clinic.open_browser()
    browser.cookies.set("elbowroom", "chosen by somebody else", domain="127.0.0.1")
    words = {"name": "Rowan", "password": PASSWORD, "token": find_token(browser.get("/log-in").text)}
    ids = [browser.post("/log-in", data=words).cookies["elbowroom"]]
    browser.cookies.delete("elbowroom")
    browser.cookies.set("elbowroom", ids[0])
    token = find_token(browser.get("/unlock", follow_redirects=True).text)
    browser.get("/lock")
    ids.append(browser.post("/unlock", data={"password": PASSWORD, "token": token}).cookies["elbowroom"])
    assert len({*ids, "chosen by somebody else"}) == 3
    old = clinic.open_browser()
    old.cookies.set("elbowroom", ids[0])
    assert old.get("/").headers["location"].startswith("/log-in")


def test_secrets_are_long_and_differ() -> None:
    tools = bootstrap_web.build_web_tools(make_memory_record(), WebSettings(lock_after_s=60.0), (), is_sealed=False)
    made = {tools.make_secret() for _ in range(200)}
    assert len(made) == 200
    assert min(len(secret) for secret in made) >= 43


def test_wrong_values_are_named_and_nothing_else(clinic: Clinic) -> None:
    browser = clinic.log_in()
    answer = browser.get("/settings/trail", params={"skipped": "a secret word"})
    assert answer.status_code == 422
    assert "skipped" in answer.text
    assert "a secret word" not in answer.text


def test_unforeseen_error_is_logged_without_the_words_of_the_request(
    clinic: Clinic, caplog: pytest.LogCaptureFixture
) -> None:
    router = APIRouter()

    @router.get("/fails")
    def fail() -> None:
        raise ZeroDivisionError("inside")

    clinic.app.include_router(router)
    browser = clinic.log_in()
    browser._transport.raise_server_exceptions = False  # type: ignore[attr-defined]
    with caplog.at_level(logging.DEBUG):
        answer = browser.get("/fails?name=Quill")
    assert answer.status_code == 500
    assert "elbowroom itself failed" in answer.text
    assert "inside" not in answer.text
    own = [record.getMessage() for record in caplog.records if record.name == "elbowroom.web"]
    assert own == ["GET /fails failed"]
    assert PASSWORD not in caplog.text


def test_log_out_tells_the_browser_to_forget(clinic: Clinic) -> None:
    browser = clinic.log_in()
    answer = browser.post("/log-out", data={"token": find_token(browser.get("/").text)})
    assert answer.headers["clear-site-data"] == '"cache", "storage"'
    assert "elbowroom" not in browser.cookies


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "TRACE", "OPTIONS", "CONNECT"])
def test_other_methods_are_refused(clinic: Clinic, method: str) -> None:
    browser = clinic.log_in()
    answer = browser.request(method, "/athletes")
    assert answer.status_code == 405
    assert "allow-origin" not in str(answer.headers)


def test_no_other_site_may_read(clinic: Clinic) -> None:
    headers = {"origin": "https://example.org", "access-control-request-method": "GET", "sec-fetch-site": "cross-site"}
    for method in ("GET", "OPTIONS"):
        answer = clinic.open_browser().request(method, "/log-in", headers=headers)
        assert not any(name.startswith("access-control-") for name in answer.headers)
