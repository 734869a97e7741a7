"""The pages of the day, of athletes, of findings and of limits, as a browser asks for them.

Sides: the pages against the use cases' own answers over the same record; roles against the rule of who sees findings;
what is inside a page against the policy of the browser; the trail after each look.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

import pytest

from elbowroom import bootstrap_pages
from elbowroom.core.quantities.types import Uncertain
from elbowroom.service.demo_visits import INVENTED
from elbowroom.service.findings import see_findings
from elbowroom.service.record_types import Act, AthleteVersion, Role, TrailEntry
from elbowroom.service.tolerances import see_tolerances
from tests.makers.record import STAMP
from tests.makers.web import Clinic, find_token, make_clinic

MEASURE = "elbow_to_shoulder_line_at_foot_contact"
Fill = Callable[[str], str]


@pytest.fixture(scope="module")
def club() -> Clinic:
    """A clinic with a small club; tests of this file add to it and take nothing away."""
    clinic = make_clinic()
    bootstrap_pages.add_demo_club(clinic.record, STAMP, lambda _done, _count: None, 5)
    return clinic


@pytest.fixture(scope="module")
def fill(club: Clinic) -> Fill:
    """Fill the names of an address with an athlete, a visit and a measure that are there."""
    athlete_id = find_athlete(club)
    visit_id = club.record.days.list_athlete_visits(athlete_id)[0].visit_id
    return lambda address: address.format(athlete=athlete_id, visit=visit_id, measure=MEASURE)


def find_athlete(club: Clinic, place: int = 0) -> str:
    """Return an athlete of the club, the one with most visits first."""
    lines = sorted(club.record.lists.list_athletes(), key=lambda line: (-line.visit_count, line.name))
    return lines[place].athlete_id


FOR_LOOKERS = (
    "/athletes/{athlete}/measures/{measure}",
    "/visits/{visit}",
    "/visits/{visit}/why/{measure}",
    "/settings/limits",
)
FOR_CLINICIANS = ("/settings/limits/4", "/settings/judging", "/settings/retention")
FOR_ALL = ("/", "/running", "/athletes", "/athletes/{athlete}", "/settings")


@pytest.mark.parametrize("address", [*FOR_ALL, "/athletes/add", *FOR_LOOKERS, *FOR_CLINICIANS])
def test_page_is_whole_and_keeps_the_policy(club: Clinic, fill: Fill, address: str) -> None:
    answer = club.log_in().get(fill(address))
    assert answer.status_code == 200
    assert not re.search(r"\sstyle=|<style|<script(?! [^>]*src=)|\son[a-z]+=", answer.text)
    ids = re.findall(r'\sid="([^"]+)"', answer.text)
    assert len(ids) == len(set(ids))
    for label in re.findall(r'<label [^>]*for="([^"]+)"', answer.text):
        assert label in ids
    for form in re.findall(r'<form[^>]*method="post".*?</form>', answer.text, flags=re.S):
        assert 'name="token"' in form


@pytest.mark.parametrize("address", [*FOR_LOOKERS, *FOR_CLINICIANS])
def test_assistant_sees_no_findings(club: Clinic, fill: Fill, address: str) -> None:
    assert club.log_in(Role.ASSISTANT).get(fill(address)).status_code == 403


@pytest.mark.parametrize("address", FOR_ALL)
def test_what_an_assistant_sees_names_no_verdict(club: Clinic, fill: Fill, address: str) -> None:
    text = club.log_in(Role.ASSISTANT).get(fill(address)).text
    main = text.partition("<main")[2].partition("</main>")[0]
    for word in ("beyond", "too close", "within", "/visits/", "give or take", "Invented for the demo club"):
        assert word not in main


@pytest.mark.parametrize("address", [*FOR_ALL, *FOR_LOOKERS])
def test_reader_looks_and_is_offered_no_change(club: Clinic, fill: Fill, address: str) -> None:
    answer = club.log_in(Role.READER).get(fill(address))
    assert answer.status_code == 200
    main = answer.text.partition("<main")[2].partition("</main>")[0]
    assert 'method="post"' not in main


@pytest.mark.parametrize("address", ["/athletes/{athlete}", *FOR_LOOKERS[:3]])
def test_every_look_at_an_athlete_is_noted(club: Clinic, fill: Fill, address: str) -> None:
    def count() -> int:
        looks = club.record.entries.find_entries(TrailEntry, athlete_id=find_athlete(club))
        return sum(entry.act is Act.LOOKED for entry in looks)

    browser, before = club.log_in(), count()
    browser.get(fill(address))
    assert count() == before + 1


def test_findings_page_says_what_the_use_case_found(club: Clinic, fill: Fill) -> None:
    visit_id = fill("{visit}")
    text = club.log_in().get(f"/visits/{visit_id}").text
    sheet = see_findings(bootstrap_pages.build_clinic(club.record), visit_id, 0, STAMP)
    assert INVENTED in text
    assert "not a diagnosis" in text
    places = [text.index(f">{place}</span>") for place in range(1, len(sheet.report.priorities) + 1)]
    assert places == sorted(places)
    measured = [item for item in sheet.report.findings if isinstance(item.typical, Uncertain)]
    assert len(measured) > 10
    for finding in measured:
        assert finding.definition.words[1:] in text
    for item in sheet.report.priorities:
        assert f"/visits/{visit_id}/why/{item.measure}" in text


def test_why_page_adds_up_to_the_interval(club: Clinic, fill: Fill) -> None:
    text = club.log_in().get(fill("/visits/{visit}/why/{measure}")).text
    shares = [float(share) for share in re.findall(r'<rect width="([\d.]+)" height="8"/>', text)]
    assert sum(shares) == pytest.approx(100, abs=0.05 * len(shares) + 1e-9)
    assert "Definition" in text
    assert "common practice, no source" in text


def test_strange_addresses_are_answered_with_a_sentence(club: Clinic, fill: Fill) -> None:
    browser = club.log_in()
    for address in ("/athletes/nobody", "/visits/none", "/visits/{visit}/why/none", "/visits/{visit}?version=77"):
        answer = browser.get(fill(address))
        assert answer.status_code == 404
        assert "open" in answer.text or "choose" in answer.text or "screen" in answer.text or "record" in answer.text
    assert browser.get(fill("/visits/{visit}/pictures/" + "0" * 64)).status_code == 500
    assert browser.get("/settings/limits/999").status_code == 404


def test_list_turns_over_and_finds(club: Clinic, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("elbowroom.web.pages.athletes.MOST_ATHLETES", 2)
    browser, seen, address = club.log_in(), [], "/athletes"
    while address:
        text = browser.get(address).text
        seen += re.findall(r'<th scope="row"><a href="/athletes/([^"]+)"', text)
        found = re.search(r'<a href="(/athletes\?[^"]+)">Those after', text)
        address = found[1].replace("&amp;", "&") if found else ""
    assert seen == [line.athlete_id for line in club.record.lists.list_athletes()]
    name = club.record.lists.list_athletes()[1].name
    assert name in browser.get("/athletes", params={"name": name[2:6].upper()}).text


def test_day_takes_an_athlete_on_and_off(club: Clinic) -> None:
    browser, athlete_id = club.log_in(Role.ASSISTANT), find_athlete(club)
    token = find_token(browser.get("/").text)
    said = {"token": token, "on": "2026-04-02", "note": "<b>9:15</b>"}
    assert browser.post(f"/day/{athlete_id}", data=said).headers["location"] == "/?on=2026-04-02"
    text = browser.get("/?on=2026-04-02").text
    assert "&lt;b&gt;9:15&lt;/b&gt;" in text
    assert f"/athletes/{athlete_id}" in text
    browser.post(f"/day/{athlete_id}/off", data=said)
    assert f"/athletes/{athlete_id}" not in browser.get("/?on=2026-04-02").text


def test_athlete_guardian_and_consent_by_forms(club: Clinic) -> None:
    browser = club.log_in(Role.ASSISTANT)
    token = find_token(browser.get("/athletes/add").text)
    said = {"token": token, "name": "Odd <i>Name</i>", "born_on": "2014-05-06", "hand": "left", "note": ""}
    page = browser.post("/athletes/add", data=said).headers["location"]
    assert "Odd &lt;i&gt;Name&lt;/i&gt;" in browser.get(page).text
    alone = browser.post(f"{page}/consents", data={"token": token, "purpose": "care", "given_on": "2026-03-01"})
    assert (alone.status_code, "name the guardian" in alone.text) == (400, True)
    browser.post(f"{page}/guardians", data={"token": token, "name": "Ines", "relation": "mother"})
    guardian = re.search(r'<option value="([0-9a-f]+)">Ines', browser.get(page).text)
    assert guardian
    consent = {"token": token, "purpose": "care", "given_on": "2026-03-01", "guardian_id": guardian[1]}
    assert browser.post(f"{page}/consents", data=consent).status_code == 303
    assert "No consent for care holds" not in browser.get(page).text
    browser.post(f"{page}/consents/withdraw", data={"token": token, "purpose": "care"})
    assert "No consent for care holds" in browser.get(page).text


def test_future_birth_is_refused_with_the_form_still_filled(club: Clinic) -> None:
    browser = club.log_in()
    token = find_token(browser.get("/athletes/add").text)
    said = {"token": token, "name": "Late Comer", "born_on": "2031-01-01", "hand": "left"}
    answer = browser.post("/athletes/add", data=said)
    assert answer.status_code == 400
    assert "yet to come" in answer.text
    assert 'value="Late Comer"' in answer.text


def test_two_who_change_an_athlete_are_told(club: Clinic) -> None:
    athlete_id = find_athlete(club, 1)
    browser, page = club.log_in(), f"/athletes/{athlete_id}/version"
    token = find_token(browser.get("/").text)
    said = {"token": token, "name": "New Name", "born_on": "2012-01-01", "hand": "right", "version": 1}
    assert browser.post(page, data=said).status_code == 303
    assert browser.post(page, data=said).status_code == 409
    names = [item.name for item in club.record.entries.find_entries(AthleteVersion, athlete_id=athlete_id)]
    assert (len(names), names[-1]) == (2, "New Name")


def test_limit_changed_by_the_form_judges_again_beside_the_old_version(club: Clinic, fill: Fill) -> None:
    browser, clinic = club.log_in(), bootstrap_pages.build_clinic(club.record)
    rows = see_tolerances(clinic).rows
    place = next(number for number, row in enumerate(rows) if row.measure == MEASURE)
    text = browser.get(f"/settings/limits/{place}").text
    said = {"token": find_token(text), "version": see_tolerances(clinic).version, "upper": ""}
    refused = browser.post(f"/settings/limits/{place}", data={**said, "lower": "60", "aim": "50", "reason": "a"})
    assert (refused.status_code, 'value="60"' in refused.text) == (400, True)
    taken = browser.post(f"/settings/limits/{place}", data={**said, "lower": "60", "aim": "80", "reason": "a trial"})
    assert taken.status_code == 303
    assert (
        "the clinic&#39;s own" in browser.get("/settings/limits").text
        or "the clinic's own" in browser.get("/settings/limits").text
    )
    browser.post(fill("/visits/{visit}/judge"), data=said)
    text = browser.get(fill("/visits/{visit}/why/{measure}")).text
    assert re.search(r"Version 2</a>: beyond", text)
    assert re.search(r"Version 1</a>: (within|too close to call|beyond)", text)
    assert "older version" in browser.get(fill("/visits/{visit}?version=1")).text


def test_review_by_the_form_takes_the_visit_off_the_day(club: Clinic) -> None:
    browser = club.log_in()
    line = club.record.days.list_waiting()[-1]
    page = f"/visits/{line.visit_id}"
    screening = re.search(r'name="screening" value="([^"]+)"', browser.get(page).text)
    assert screening
    said = {"token": find_token(browser.get("/").text), "screening": screening[1], "note": "seen"}
    assert browser.post(f"{page}/review", data=said).status_code == 303
    assert line.visit_id not in {item.visit_id for item in club.record.days.list_waiting()}
    assert "looked through by Rowan" in browser.get(page).text


def test_rule_units_and_retention_by_forms(club: Clinic, fill: Fill) -> None:
    browser = club.log_in()
    said = {"token": find_token(browser.get("/").text), "version": 0, "lengths": "in", "reason": "here it is inches"}
    assert browser.post("/settings/judging", data={**said, "beyond": 40, "within": 10}).status_code == 400
    assert browser.post("/settings/judging", data={**said, "beyond": 95, "within": 5}).status_code == 303
    assert "beyond from 95 %, within up to 5 %, lengths in in" in browser.get("/settings/judging").text
    assert re.search(r"[\d.]+ in, give or take", browser.get(fill("/visits/{visit}/why/stride_offset")).text)
    keep = {"token": said["token"], "version": 1, "keep_years": 10, "until_age": 25}
    assert browser.post("/settings/retention", data=keep).status_code == 303
    assert "10 years after the last visit, until the age of 25" in browser.get("/settings/retention").text


def test_day_of_the_year_before_is_empty(club: Clinic) -> None:
    text = club.log_in().get("/", params={"on": date(1999, 1, 1).isoformat()}).text
    assert "Nobody is on the list." in text
    assert "No visit yet." in text
