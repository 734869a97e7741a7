"""Data of a visit to download from the pages.

Sides: answers of the application over a record in memory, as each role asks; the file opened by the standard library
and its tables read back; consent; the trail.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from pathlib import Path

import pytest

from elbowroom.service.athletes import add_consent, list_trail, withdraw_consent
from elbowroom.service.keeping import keep_visit
from elbowroom.service.record_types import Act, GuardianEntry, Purpose, Role
from tests.makers.handed import make_report_bytes
from tests.makers.record import CHILD, STAMP, START, add_child, make_parcel
from tests.makers.reports import ATHLETE
from tests.makers.web import Clinic, make_clinic


@pytest.fixture
def clinic() -> Clinic:
    return make_clinic()


@pytest.fixture
def kept(clinic: Clinic, tmp_path: Path) -> tuple[str, str]:
    """Return the ids of an athlete and a visit whose report is whole."""
    athlete_id = add_child(clinic.record)
    parcel = make_parcel(tmp_path / "visit")
    (tmp_path / "visit" / "report.json").write_bytes(make_report_bytes())
    return athlete_id, keep_visit(clinic.record, athlete_id, parcel, STAMP).visit_id


@pytest.mark.parametrize("role", [Role.CLINICIAN, Role.READER])
def test_page_offers_every_format(clinic: Clinic, kept: tuple[str, str], role: Role) -> None:
    page = clinic.log_in(role).get(f"/visits/{kept[1]}/data").text
    assert set(re.findall(r'name="format" value="(\w+)"', page)) == {"csv", "parquet", "c3d", "fhir"}
    labels = set(re.findall(r'<label for="([^"]+)"', page))
    assert set(re.findall(r'<(?:select|input) id="([^"]+)"', page)) <= labels
    assert list_trail(clinic.record, kept[0])[-1].what == f"visit {kept[1]}, data"


def test_findings_lead_to_the_data(clinic: Clinic, kept: tuple[str, str]) -> None:
    browser = clinic.log_in()
    assert f'href="/visits/{kept[1]}/data"' in browser.get(f"/visits/{kept[1]}").text


def test_data_come_as_one_file_without_a_name(clinic: Clinic, kept: tuple[str, str]) -> None:
    answer = clinic.log_in().get(f"/visits/{kept[1]}/data/file?code=A-17")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/zip")
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert {"measures.csv", "measures.parquet", "throw-1.c3d", "health-record.json"} <= set(archive.namelist())
        contents = {name: archive.read(name) for name in archive.namelist()}
    rows = list(csv.DictReader(io.StringIO(contents["measures.csv"].decode("utf-8"))))
    assert {row["code"] for row in rows} == {"A-17"}
    assert not any(name.encode() in content for content in contents.values() for name in (CHILD.name, ATHLETE.name))
    last = list_trail(clinic.record, kept[0])[-1]
    assert (last.act, last.what) == (Act.GAVE, f"visit {kept[1]}, screening 1: data for care")


def test_only_the_formats_asked_for_are_made(clinic: Clinic, kept: tuple[str, str]) -> None:
    answer = clinic.log_in().get(f"/visits/{kept[1]}/data/file?code=1&format=c3d")
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert {Path(name).suffix for name in archive.namelist()} == {".c3d", ".json"}


def test_a_study_needs_a_consent_for_research(clinic: Clinic, kept: tuple[str, str]) -> None:
    browser, address = clinic.log_in(), f"/visits/{kept[1]}/data/file?code=1&purpose=research&format=csv"
    before = len(list_trail(clinic.record, kept[0]))
    assert browser.get(address).status_code == 409 or "consent" in browser.get(address).text
    assert not any(item.act is Act.GAVE for item in list_trail(clinic.record, kept[0])[before:])
    (guardian,) = clinic.record.entries.find_entries(GuardianEntry, athlete_id=kept[0])
    add_consent(clinic.record, kept[0], guardian.id, Purpose.RESEARCH, START.date(), STAMP)
    assert browser.get(address).headers["content-type"] == "application/zip"
    withdraw_consent(clinic.record, kept[0], Purpose.RESEARCH, START.date(), STAMP)
    assert browser.get(address).headers["content-type"] != "application/zip"


def test_a_code_that_cannot_stand_is_refused_in_a_sentence(clinic: Clinic, kept: tuple[str, str]) -> None:
    answer = clinic.log_in().get(f"/visits/{kept[1]}/data/file?code=%C3%84")
    assert answer.headers["content-type"].startswith("text/html")
    assert "plain letters" in answer.text


def test_an_assistant_gets_no_data(clinic: Clinic, kept: tuple[str, str]) -> None:
    assert clinic.log_in(Role.ASSISTANT).get(f"/visits/{kept[1]}/data/file?code=1").status_code == 403
