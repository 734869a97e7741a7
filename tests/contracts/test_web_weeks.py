"""Pages of counts, plans, returns, retests and teams, and the page behind a link for a phone.

Sides: pages asked as a browser asks over a record in memory; entries of the record against what was sent; the form
shown again against what was typed; what a page without an account shows, searched for everything that it may not.
"""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape

import pytest

from elbowroom.bootstrap_pages import add_demo_club
from elbowroom.service.counting import keep_count, list_counts
from elbowroom.service.record_types import Act, Role, TrailEntry
from elbowroom.service.retesting import list_screened_visits
from elbowroom.service.returning import find_course
from elbowroom.service.teams import list_members, list_teams
from elbowroom.service.week_types import CountLink, RetestEntry, ThrowingPlan
from tests.makers.record import STAMP, START, add_child
from tests.makers.throwing import make_count, make_week_tools
from tests.makers.web import Clinic, find_token, make_clinic

TODAY = START.date()
COUNT = {
    "day": TODAY.isoformat(),
    "team": "Herons",
    "activity": "game",
    "pitches": "51",
    "throws": "20",
    "innings_caught": "0",
    "before_last_batter": "45",
}
PLAN = {"first_day": TODAY.isoformat(), "sizes": "20, 35", "games": "", "times_off": ""}
PHONE = "/count/"


@pytest.fixture
def clinic() -> Clinic:
    return make_clinic()


@pytest.fixture
def child(clinic: Clinic) -> str:
    return add_child(clinic.record)


def send(browser, page: str, address: str, **fields: str):  # type: ignore[no-untyped-def]
    """Send a form of a page with the page's own token."""
    return browser.post(address, data={"token": find_token(browser.get(page).text), **fields})


def test_count_is_kept_and_the_page_says_when(clinic: Clinic, child: str) -> None:
    browser, here = clinic.log_in(), f"/athletes/{child}/counts"
    team = send(browser, "/teams", "/teams", name="Herons", rest_table="league-regulation-6")
    assert team.status_code == 303
    (team_id,) = list_teams(clinic.record)
    send(browser, "/teams", f"/teams/{team_id}/members", athlete_id=child, is_member="true")
    assert list_members(clinic.record, team_id) == (child,)
    assert send(browser, here, here, **COUNT).status_code == 303
    text = unescape(browser.get(here).text)
    assert "2 days' rest owed, 51 counted as 45 by the last-batter rule" in text
    assert "No risk is worked out" in text
    assert "second-hand copy" in text
    looks = [entry.what for entry in clinic.record.entries.find_entries(TrailEntry) if entry.act is Act.LOOKED]
    assert "counts" in looks


def test_wrong_count_comes_back_as_typed(clinic: Clinic, child: str) -> None:
    browser, here = clinic.log_in(Role.ASSISTANT), f"/athletes/{child}/counts"
    late = (TODAY + timedelta(days=3)).isoformat()
    answer = send(browser, here, here, **{**COUNT, "day": late, "team": "Night Herons"})
    assert answer.status_code == 400
    assert "yet to come" in answer.text
    assert 'value="Night Herons"' in answer.text
    assert list_counts(clinic.record, child) == ()
    words = send(browser, here, here, **{**COUNT, "before_last_batter": "many"})
    assert "no number of pitches" in unescape(words.text)


def test_count_is_corrected_and_taken_back(clinic: Clinic, child: str) -> None:
    browser, here = clinic.log_in(), f"/athletes/{child}/counts"
    count_id = keep_count(clinic.record, child, make_count(30), STAMP)
    send(browser, here, f"{here}/{count_id}", **{**COUNT, "pitches": "46", "number": "1"})
    assert [entry.pitches for entry in list_counts(clinic.record, child)] == [46]
    assert send(browser, here, f"{here}/{count_id}", **COUNT, number="1").status_code == 409
    send(browser, here, f"{here}/{count_id}/remove", number="2")
    assert list_counts(clinic.record, child) == ()


def make_address(clinic: Clinic, child: str, shown: str = "Player 12") -> str:
    browser, here = clinic.log_in(), f"/athletes/{child}/counts"
    page = send(browser, here, f"/athletes/{child}/count-links", shown=shown, holder="coach", days="30").text
    found = re.search(r'value="http://[^"/]+(/count/[^"]+)"', page)
    assert found, page
    assert found.group(1).removeprefix(PHONE) not in browser.get(here).text
    return found.group(1)


def test_link_takes_counts_without_an_account(clinic: Clinic, child: str) -> None:
    keep_count(clinic.record, child, make_count(30), STAMP)
    address, phone = make_address(clinic, child), clinic.open_browser()
    page = unescape(phone.get(address).text)
    assert "Player 12" in page
    assert "1 day's rest owed" in page
    assert phone.post(address, data=COUNT).status_code == 303
    (sent, _) = list_counts(clinic.record, child)
    (link,) = clinic.record.entries.find_entries(CountLink)
    assert (sent.pitches, sent.sent_by_link_id, sent.recorded_by) == (51, link.id, link.id)


def test_page_behind_a_link_shows_nothing_else(clinic: Clinic, child: str) -> None:
    page = unescape(clinic.open_browser().get(make_address(clinic, child)).text)
    for word in ("Zoë", "Ångström", "2013", child, "Ines", 'href="/athletes', "Log out"):
        assert word not in page, word


def test_wrong_count_of_a_phone_comes_back(clinic: Clinic, child: str) -> None:
    answer = clinic.open_browser().post(
        make_address(clinic, child), data={**COUNT, "pitches": "-4", "team": "Red Kites"}
    )
    assert answer.status_code == 400
    assert "negative" in answer.text
    assert 'value="Red Kites"' in answer.text
    assert list_counts(clinic.record, child) == ()


def test_link_expires_and_can_be_ended(clinic: Clinic, child: str) -> None:
    address, phone = make_address(clinic, child), clinic.open_browser()
    clinic.clock.turn(30 * 24 * 3600)
    assert phone.get(address).status_code == 404
    assert phone.post(address, data=COUNT).status_code == 404
    other = make_address(clinic, child)
    link = max(clinic.record.entries.find_entries(CountLink), key=lambda one: one.recorded_at)
    browser = clinic.log_in()
    send(browser, f"/athletes/{child}/counts", f"/athletes/{child}/count-links/{link.id}/end")
    assert "does not work" in phone.get(other).text
    assert list_counts(clinic.record, child) == ()


def test_codes_cannot_be_tried_for_long(clinic: Clinic, child: str) -> None:
    address, phone = make_address(clinic, child), clinic.open_browser()
    assert [phone.get(f"/count/guess-{n}").status_code for n in range(11)] == [404] * 10 + [429]
    assert phone.get(address).status_code == 429
    clinic.clock.turn(15 * 60)
    assert phone.get(address).status_code == 200


def test_one_link_sends_no_flood(clinic: Clinic, child: str) -> None:
    address, phone = make_address(clinic, child), clinic.open_browser()
    answers = [
        phone.post(address, data={**COUNT, "pitches": "1", "before_last_batter": ""}).status_code for _ in range(61)
    ]
    assert answers == [303] * 60 + [429]
    assert len(list_counts(clinic.record, child)) == 60


def test_plan_is_laid_out_and_each_day_has_its_reason(clinic: Clinic, child: str) -> None:
    browser, here = clinic.log_in(), f"/athletes/{child}/plan"
    game = (TODAY + timedelta(days=6)).isoformat()
    assert send(browser, here, here, **{**PLAN, "games": f"{game}, Herons, 45"}).status_code == 303
    page = unescape(browser.get(here).text)
    (plan,) = clinic.record.entries.find_entries(ThrowingPlan)
    assert plan.words in page
    assert "2 days' rest owed after 45 pitches" in page
    assert page.count('<tr><th scope="row">') >= 32


def test_plan_that_cannot_be_asked_for_comes_back(clinic: Clinic, child: str) -> None:
    browser, here = clinic.log_in(), f"/athletes/{child}/plan"
    answer = send(browser, here, here, **{**PLAN, "games": "on Saturday, Herons"})
    assert answer.status_code == 400
    assert "cannot be read" in answer.text
    assert "on Saturday, Herons</textarea>" in answer.text
    assert clinic.record.entries.find_entries(ThrowingPlan) == ()


def test_return_is_begun_recorded_and_held(clinic: Clinic, child: str) -> None:
    browser, here = clinic.log_in(), f"/athletes/{child}/return"
    day = TODAY.isoformat()
    assert send(browser, here, f"{here}/begin", day=day, reason="no").status_code == 400
    send(browser, here, f"{here}/begin", day=day, reason="released after six weeks", programme="adolescent")
    send(browser, here, f"{here}/done", day=day, step="1", answer="pain")
    course = find_course(make_week_tools(clinic.record), child)
    assert course
    assert course.state.is_held
    page = unescape(browser.get(here).text)
    assert "On hold: pain" in page
    assert "from memory" in page or "seen" in page
    assert "On hold" in send(browser, f"/athletes/{child}/plan", f"/athletes/{child}/plan", **PLAN).text
    send(browser, here, f"{here}/set", day=day, step="2", reason="examined, free of pain")
    assert "phase 2" in unescape(browser.get(here).text)


@pytest.mark.parametrize("part", ["plan", "return", "retest"])
def test_assistant_sees_no_plan_and_a_reader_changes_none(clinic: Clinic, child: str, part: str) -> None:
    assert clinic.log_in(Role.ASSISTANT).get(f"/athletes/{child}/{part}").status_code == 403
    reader = clinic.log_in(Role.READER)
    assert reader.get(f"/athletes/{child}/{part}").status_code == 200
    assert f'action="/athletes/{child}' not in reader.get(f"/athletes/{child}/{part}").text


def test_team_and_retest_of_the_invented_club() -> None:
    clinic = make_clinic()
    ids = add_demo_club(clinic.record, STAMP, lambda *_: None, 6)
    browser = clinic.log_in()
    send(browser, "/teams", "/teams", name="Otters", rest_table="us-national-newer")
    (team_id,) = list_teams(clinic.record)
    for athlete_id in ids:
        send(browser, "/teams", f"/teams/{team_id}/members", athlete_id=athlete_id, is_member="true")
    page = unescape(browser.get(f"/teams/{team_id}").text)
    assert page.count('<li><a href="/athletes/') == 6
    assert "athletes: middle" in page
    tools = make_week_tools(clinic.record)
    twice = next(one for one in ids if len(list_screened_visits(tools, one)) > 1)
    retest = unescape(browser.get(f"/athletes/{twice}/retest").text)
    assert "MDC95" in retest
    assert "the chance" in retest or "not shown" in retest
    earlier, later = list_screened_visits(tools, twice)[-2:]
    answer = send(browser, f"/athletes/{twice}/retest", f"/athletes/{twice}/retest", earlier=earlier.id, later=later.id)
    assert answer.status_code == 303
    assert len(clinic.record.entries.find_entries(RetestEntry)) == 1
