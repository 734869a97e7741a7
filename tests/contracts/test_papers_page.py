"""Papers to download from the pages.

Sides: answers of the application over a record in memory, as each role asks; the file read by pypdf; the trail.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from elbowroom.adapters.report.json_file import render_report_json
from elbowroom.cli.paper_options import KINDS, LANGUAGES
from elbowroom.service.athletes import list_trail, withdraw_consent
from elbowroom.service.keeping import keep_visit
from elbowroom.service.paper_values import Language, PaperKind
from elbowroom.service.record_types import Act, Purpose, Role
from tests.contracts.test_family_page import make_moving_report
from tests.makers.pdfs import open_pdf, read_words
from tests.makers.record import CHILD, STAMP, START, add_child, make_parcel
from tests.makers.web import Clinic, make_clinic


@pytest.fixture
def clinic() -> Clinic:
    return make_clinic()


@pytest.fixture
def kept(clinic: Clinic, tmp_path: Path) -> tuple[str, str]:
    """Return the ids of an athlete and a visit whose report is whole."""
    athlete_id = add_child(clinic.record)
    parcel = make_parcel(tmp_path / "visit")
    (tmp_path / "visit" / "report.json").write_text(render_report_json(make_moving_report()), encoding="utf-8")
    return athlete_id, keep_visit(clinic.record, athlete_id, parcel, STAMP).visit_id


@pytest.mark.parametrize("role", [Role.CLINICIAN, Role.READER])
def test_page_offers_every_paper(clinic: Clinic, kept: tuple[str, str], role: Role) -> None:
    page = clinic.log_in(role).get(f"/visits/{kept[1]}/papers").text
    for kind in PaperKind:
        assert f'action="/visits/{kept[1]}/papers/{kind}"' in page
    labels, fields = set(re.findall(r'<label for="([^"]+)"', page)), set(re.findall(r'<select id="([^"]+)"', page))
    assert fields
    assert fields <= labels
    assert CHILD.name in page
    assert list_trail(clinic.record, kept[0])[-1].what == f"visit {kept[1]}, papers"


def test_findings_lead_to_the_papers_and_back(clinic: Clinic, kept: tuple[str, str]) -> None:
    browser = clinic.log_in(Role.READER)
    assert f'href="/visits/{kept[1]}/papers"' in browser.get(f"/visits/{kept[1]}").text
    assert f'href="/visits/{kept[1]}"' in browser.get(f"/visits/{kept[1]}/papers").text


def test_day_of_the_next_visit_stands_on_the_page(clinic: Clinic, kept: tuple[str, str]) -> None:
    browser = clinic.log_in()
    assert "9 December 2026" in read_words(browser.get(f"/visits/{kept[1]}/papers/family?back=2026-12-09").content)
    assert "no day" in browser.get(f"/visits/{kept[1]}/papers/family?back=soon").text


def test_family_page_is_sent_as_a_file(clinic: Clinic, kept: tuple[str, str]) -> None:
    answer = clinic.log_in().get(f"/visits/{kept[1]}/papers/family?language=es&sheet=a4&units=in")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/pdf")
    assert answer.headers["content-disposition"] == 'attachment; filename="family.pdf"'
    assert "no-store" in answer.headers["cache-control"]
    pdf = open_pdf(answer.content)
    assert float(pdf.pages[0].mediabox[3]) == pytest.approx(841.89, abs=0.1)
    assert "Tu tiro" in read_words(answer.content)
    assert CHILD.name in read_words(answer.content)
    given = [entry for entry in list_trail(clinic.record, kept[0]) if entry.act is Act.GAVE]
    assert [entry.what for entry in given] == [f"visit {kept[1]}, screening 1: family"]
    assert given[0].recorded_at >= START


def test_note_and_clinical_report_are_sent(clinic: Clinic, kept: tuple[str, str]) -> None:
    browser = clinic.log_in(Role.READER)
    note = browser.get(f"/visits/{kept[1]}/papers/note")
    assert note.headers["content-type"] == "text/plain; charset=utf-8"
    assert f"Athlete: {CHILD.name}" in note.text
    assert len(open_pdf(browser.get(f"/visits/{kept[1]}/papers/clinical").content).pages) > 3


def test_assistant_gets_no_findings(clinic: Clinic, kept: tuple[str, str]) -> None:
    browser = clinic.log_in(Role.ASSISTANT)
    for place in ("papers", "papers/family"):
        assert browser.get(f"/visits/{kept[1]}/{place}").status_code == 403
    assert [entry for entry in list_trail(clinic.record, kept[0]) if entry.act is Act.GAVE] == []


def test_without_consent_nothing_is_sent(clinic: Clinic, kept: tuple[str, str]) -> None:
    withdraw_consent(clinic.record, kept[0], Purpose.CARE, START.date(), STAMP)
    answer = clinic.log_in().get(f"/visits/{kept[1]}/papers/family")
    assert answer.status_code >= 400
    assert "No consent for care holds" in answer.text
    assert [entry for entry in list_trail(clinic.record, kept[0]) if entry.act is Act.GAVE] == []


@pytest.mark.parametrize("asked", ["poster", "family?language=xx", "family?sheet=a5", "family?units=ell"])
def test_what_is_not_offered_is_refused(clinic: Clinic, kept: tuple[str, str], asked: str) -> None:
    assert 400 <= clinic.log_in().get(f"/visits/{kept[1]}/papers/{asked}").status_code < 500


def test_unknown_visit_is_said(clinic: Clinic) -> None:
    answer = clinic.log_in().get("/visits/nothing/papers")
    assert answer.status_code >= 400
    assert "no such visit" in answer.text


def test_commands_offer_what_the_pages_offer() -> None:
    assert tuple(map(str, PaperKind)) == KINDS
    assert tuple(map(str, Language)) == LANGUAGES
