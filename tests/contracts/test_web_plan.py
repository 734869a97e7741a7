"""Pages of intake, exam and drills: what is typed is kept, what is wrong is said beside its field, who may do what.

Sides: pages asked as a browser asks over a record in memory; entries of the record against what was sent; the
form shown again against what was typed.
"""

from __future__ import annotations

import re
from html import unescape

import pytest

from elbowroom.core.plan.warnings import Hold, Released
from elbowroom.service.holds import find_standing
from elbowroom.service.intake_types import DrillPlanEntry, DrillRulesEntry, ExamEntry, IntakeEntry, ReleaseEntry
from elbowroom.service.record_types import Role
from tests.makers.plans import REASON, find_tables, keep_faulty_visit
from tests.makers.record import STAMP, START, add_child
from tests.makers.web import Clinic, find_token, make_clinic

QUESTIONS = [sign.key for sign in find_tables().signs if sign.question]
TODAY = START.date()


@pytest.fixture
def clinic() -> Clinic:
    return make_clinic()


@pytest.fixture
def athlete_id(clinic: Clinic) -> str:
    return add_child(clinic.record)


def make_form(token: str, **changes: str) -> dict[str, str]:
    """Return the fields of an intake without any warning sign."""
    form = {"token": token, "taken_on": TODAY.isoformat(), "height_cm": "152", "sex": "female", "mass_kg": "43"}
    return form | {f"answers.{key}": "no" for key in QUESTIONS} | {"teams": "River Otters, Herons"} | changes


def send_intake(clinic: Clinic, athlete_id: str, role: Role = Role.CLINICIAN, **changes: str):  # type: ignore[no-untyped-def]
    browser = clinic.log_in(role)
    address = f"/athletes/{athlete_id}/intake/new"
    return browser.post(address, data=make_form(find_token(browser.get(address).text), **changes))


def read_text(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_intake_is_kept_and_says_that_nothing_holds(clinic: Clinic, athlete_id: str) -> None:
    answer = send_intake(clinic, athlete_id)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/athletes/{athlete_id}/standing")
    (entry,) = clinic.record.entries.find_entries(IntakeEntry, athlete_id=athlete_id)
    assert '"River Otters", "Herons"' in entry.content
    page = read_text(clinic.log_in().get(f"/athletes/{athlete_id}/intake").text)
    assert "All warning signs were asked for and none shows." in page
    assert "give or take" in page
    assert "not a diagnosis" in page


def test_wrong_intake_comes_back_with_everything_that_was_typed(clinic: Clinic, athlete_id: str) -> None:
    changes = {
        "height_cm": "15200",
        "teams": "Kept Team",
        "pain.2.place": "knee",
        "pain.2.worst": "twelve",
        "answers.pop": "yes",
        "past.1.what": "broken wrist",
    }
    answer = send_intake(clinic, athlete_id, **changes)
    assert answer.status_code == 422
    assert clinic.record.entries.find_entries(IntakeEntry, athlete_id=athlete_id) == ()
    for typed in ("Kept Team", "15200", "twelve", "broken wrist"):
        assert f'value="{typed}"' in answer.text
    assert "<option selected>knee</option>" in answer.text
    assert re.search(r'name="answers.pop" value="yes" checked', answer.text)
    targets = re.findall(r'<a href="#([^"]+)">', answer.text.split('role="alert"', 1)[1])
    assert targets
    assert all(f'id="{target}"' in answer.text for target in targets)
    assert 'aria-invalid="true"' in answer.text


def test_another_row_keeps_what_was_typed(clinic: Clinic, athlete_id: str) -> None:
    answer = send_intake(clinic, athlete_id, more="pain", teams="Kept Team")
    assert answer.status_code == 200
    assert 'value="Kept Team"' in answer.text
    assert 'name="pain.3.place"' in answer.text
    assert clinic.record.entries.find_entries(IntakeEntry) == ()


def test_hold_is_shown_and_released_by_a_clinician(clinic: Clinic, athlete_id: str) -> None:
    send_intake(clinic, athlete_id, **{"answers.numbness": "yes", "answers.fever": "not asked"})
    assert isinstance(find_standing(clinic.record, athlete_id, TODAY), Hold)
    browser = clinic.log_in()
    page = browser.get(f"/athletes/{athlete_id}/intake").text
    assert "On hold" in page
    assert "Numb or tingling fingers have to be looked at today." in page
    token = find_token(page)
    release = f"/athletes/{athlete_id}/release"
    refused = browser.post(release, data={"token": token, "sign": "numbness", "reason": "ok"})
    assert refused.status_code == 422
    assert "has no reason" in unescape(refused.text)
    assert re.search(r'value="numbness" checked', refused.text)
    unticked = browser.post(release, data={"token": token, "reason": REASON})
    assert "No warning sign was ticked" in unticked.text
    assert REASON in unescape(unticked.text)
    assert clinic.record.entries.find_entries(ReleaseEntry) == ()
    browser.post(release, data={"token": token, "sign": ["numbness", "fever"], "reason": REASON})
    assert isinstance(find_standing(clinic.record, athlete_id, TODAY), Released)
    assert f"Released by Rowan on {TODAY}: {REASON}" in unescape(browser.get(f"/athletes/{athlete_id}/intake").text)


def test_day_names_who_is_on_hold(clinic: Clinic, athlete_id: str) -> None:
    browser = clinic.log_in(Role.ASSISTANT)
    browser.post(f"/day/{athlete_id}", data={"token": find_token(browser.get("/").text), "on": TODAY.isoformat()})
    assert "no intake yet" in browser.get("/").text
    send_intake(clinic, athlete_id, **{"answers.numbness": "yes"})
    assert "on hold" in browser.get("/").text


@pytest.mark.parametrize("role", [Role.ASSISTANT, Role.READER])
def test_nobody_else_releases(clinic: Clinic, athlete_id: str, role: Role) -> None:
    send_intake(clinic, athlete_id, **{"answers.numbness": "yes"})
    browser = clinic.log_in(role)
    token = find_token(browser.get("/").text)
    form = {"token": token, "sign": "numbness", "reason": REASON}
    assert browser.post(f"/athletes/{athlete_id}/release", data=form).status_code == 403
    assert clinic.record.entries.find_entries(ReleaseEntry) == ()


def test_assistant_takes_an_intake_and_sees_only_the_standing(clinic: Clinic, athlete_id: str) -> None:
    answer = send_intake(clinic, athlete_id, Role.ASSISTANT, **{"answers.numbness": "yes", "mass_kg": "43.7"})
    browser = clinic.log_in(Role.ASSISTANT)
    page = browser.get(answer.headers["location"])
    assert "On hold" in page.text
    assert "43.7" not in page.text
    assert browser.get(f"/athletes/{athlete_id}/intake").status_code == 403
    assert browser.get(f"/athletes/{athlete_id}/drills").status_code == 403


def send_exam(clinic: Clinic, athlete_id: str, **values: str):  # type: ignore[no-untyped-def]
    browser = clinic.log_in()
    address = f"/athletes/{athlete_id}/exam/new"
    form = {
        "token": find_token(browser.get(address).text),
        "examined_on": TODAY.isoformat(),
        "rater": "Rowan",
        "instrument.motion": "inclinometer",
        "instrument.strength": "handheld_dynamometer",
        "instrument.grip": "grip_dynamometer",
    }
    return browser.post(address, data={**form, **values})


def test_exam_is_kept_and_judged(clinic: Clinic, athlete_id: str) -> None:
    answer = send_exam(
        clinic,
        athlete_id,
        **{
            "shoulder_internal_rotation.throwing": "40 42 41",
            "shoulder_internal_rotation.glove": "62 61 63",
            "hip_internal_rotation.throwing": "18",
        },
    )
    assert answer.status_code == 303
    page = read_text(clinic.log_in().get(answer.headers["location"]).text)
    assert "internal rotation that the throwing shoulder lacks" in page
    assert "too close to call" in page
    assert "beyond" in page
    assert "not measured" in page
    assert "54.1° (SD 10.9) in Division III baseball players" in page


def test_wrong_exam_comes_back_with_everything_that_was_typed(clinic: Clinic, athlete_id: str) -> None:
    values = {
        "shoulder_internal_rotation.throwing": "400",
        "elbow_flexion.glove": "a lot",
        "grip_strength.glove": "210",
        "instrument.motion": "goniometer",
    }
    answer = send_exam(clinic, athlete_id, **values)
    assert answer.status_code == 422
    assert clinic.record.entries.find_entries(ExamEntry) == ()
    assert all(f'value="{typed}"' in answer.text for typed in ("400", "a lot", "210"))
    assert '<option value="goniometer" selected>' in answer.text
    assert re.search(r'id="elbow_flexion-glove"[^>]*aria-invalid="true"', answer.text)


def test_fields_of_the_exam_follow_the_sides(clinic: Clinic, athlete_id: str) -> None:
    page = clinic.log_in().get(f"/athletes/{athlete_id}/exam/new").text
    fields = re.findall(r'<input id="([a-z_]+)-(throwing|glove)"', page)
    items = [item.key for item in find_tables().exam.items]
    assert fields == [(key, side) for key in items for side in ("throwing", "glove")]
    assert "tabindex" not in page.split("<tbody>", 1)[1]


def test_drills_are_chosen_shown_and_kept(clinic: Clinic, athlete_id: str, tmp_path) -> None:  # type: ignore[no-untyped-def]
    keep_faulty_visit(clinic.record, athlete_id, tmp_path / "v", STAMP)
    send_intake(clinic, athlete_id)
    browser = clinic.log_in()
    page = browser.get(f"/athletes/{athlete_id}/drills?stage=building").text
    assert "Step and keep the chest" in page
    assert page.count("<svg") >= 2
    assert "Chosen because" in unescape(page)
    assert "Nothing that was found asks for it." in page
    browser.post(f"/athletes/{athlete_id}/drills", data={"token": find_token(page), "stage": "building"})
    (plan,) = clinic.record.entries.find_entries(DrillPlanEntry, athlete_id=athlete_id)
    assert "late_chest_step" in plan.content
    assert browser.get(f"/athletes/{athlete_id}/drills?stage=flying").status_code == 400


def test_held_athlete_sees_no_drill(clinic: Clinic, athlete_id: str, tmp_path) -> None:  # type: ignore[no-untyped-def]
    keep_faulty_visit(clinic.record, athlete_id, tmp_path / "v", STAMP)
    send_intake(clinic, athlete_id, **{"answers.pop": "yes"})
    browser = clinic.log_in()
    page = browser.get(f"/athletes/{athlete_id}/drills").text
    assert "No drills while a warning sign shows" in unescape(page)
    assert "<svg" not in page
    form = {"token": find_token(page), "stage": "learning"}
    assert browser.post(f"/athletes/{athlete_id}/drills", data=form).status_code == 400
    assert clinic.record.entries.find_entries(DrillPlanEntry) == ()


def test_library_is_for_everybody(clinic: Clinic) -> None:
    browser = clinic.log_in(Role.ASSISTANT)
    assert browser.get("/drills").text.count('<li class="sheet">') == len(find_tables().drills)
    assert "Stride along a line" in browser.get("/drills?word=chalk").text
    page = browser.get("/drills/chalk_line_stride").text
    assert "<svg" in page
    assert "Stop when the landing foot or knee hurts." in page
    assert browser.get("/drills/backflip").status_code == 400


def test_rules_are_changed_or_come_back_with_what_is_wrong(clinic: Clinic) -> None:
    browser = clinic.log_in()
    page = browser.get("/settings/drill-rules").text
    text = find_tables().rules_text
    wrong = {"token": find_token(page), "rules": text.replace("late_chest_step", "backflip"), "reason": "for fun"}
    refused = browser.post("/settings/drill-rules", data=wrong)
    assert refused.status_code == 422
    assert "not in the library" in unescape(refused.text)
    assert "backflip" in refused.text.split("<textarea", 1)[1]
    right = {"token": find_token(page), "rules": text, "reason": "our own"}
    assert browser.post("/settings/drill-rules", data=right).status_code == 303
    assert [entry.reason for entry in clinic.record.entries.find_entries(DrillRulesEntry)] == ["our own"]
    assert clinic.log_in(Role.READER).get("/settings/drill-rules").status_code == 403
