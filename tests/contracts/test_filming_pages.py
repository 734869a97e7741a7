"""The filming pages and the uploads behind them, asked as a browser asks, over a clinic in memory.

Sides: what is sent against what the record then holds; who may ask; bad input, each a sentence and nothing kept.
"""

from __future__ import annotations

import base64
import hashlib
import re

import pytest

from elbowroom.core.cameras.types import View
from elbowroom.service.filming import get_filmed_visit
from elbowroom.service.filming_board import phrase_left
from elbowroom.service.filming_types import SetUpEntry, UploadEntry
from elbowroom.service.job_types import JobKind, JobState
from elbowroom.service.record_types import FileEntry, Role, VisitEntry
from elbowroom.service.uploading import PIECE_BYTES
from tests.contracts.test_filming import run_all
from tests.makers.filming import begin_filmed, make_facts, send_two_views, split_pieces
from tests.makers.record import CHILD, add_child
from tests.makers.web import Clinic, TestClient, make_clinic

CONTENT = bytes(range(256)) * 20_000
FORM = {"height_cm": "152", "kind": "flat-ground pitch", "target_m": "9.05", "tape_m": "3,5", "mass_kg": ""}


def find_page_token(browser: TestClient) -> str:
    found = re.search(r'name="elbowroom-token" content="([^"]+)"', browser.get("/athletes").text)
    assert found
    return found.group(1)


class Filmer:
    """An assistant with a browser, at a visit that was begun."""

    def __init__(self, role: Role = Role.ASSISTANT) -> None:
        self.clinic: Clinic = make_clinic()
        self.athlete_id = add_child(self.clinic.record)
        self.visit_id = begin_filmed(self.clinic.record, self.athlete_id)
        self.browser = self.clinic.log_in(role)
        self.token = find_page_token(self.browser)
        self.headers = {"x-elbowroom-token": self.token, "accept": "application/json"}

    def announce(self, content: bytes = CONTENT, **changed: object):  # type: ignore[no-untyped-def]
        facts = make_facts(content)
        said = {"name": "a.mp4", "size": len(content), "pieces": list(facts.piece_digests), "view": "front", **changed}
        return self.browser.post(f"/visits/{self.visit_id}/uploads", json=said, headers=self.headers)

    def put(self, upload_id: str, number: int, piece: bytes, digest: str = ""):  # type: ignore[no-untyped-def]
        value = base64.b64encode(hashlib.sha256(piece).digest()).decode()
        headers = {**self.headers, "content-digest": digest or f"sha-256=:{value}:"}
        return self.browser.put(f"/uploads/{upload_id}/pieces/{number}", content=piece, headers=headers)

    def post(self, address: str, **form: str):  # type: ignore[no-untyped-def]
        return self.browser.post(address, data={"token": self.token, **form})


@pytest.fixture
def filmer() -> Filmer:
    return Filmer()


def test_visit_is_begun_over_its_form(filmer: Filmer) -> None:
    page = filmer.browser.get(f"/athletes/{filmer.athlete_id}/film")
    assert CHILD.name in page.text
    answer = filmer.post(f"/athletes/{filmer.athlete_id}/film", **FORM)
    assert answer.status_code == 303
    visit_id = answer.headers["location"].split("/")[2]
    (visit,) = filmer.clinic.record.entries.find_entries(VisitEntry, id=visit_id)
    (ground,) = filmer.clinic.record.entries.find_entries(SetUpEntry, visit_id=visit_id)
    assert (visit.height_m, visit.kind, ground.target_m, ground.tape_m) == (1.52, "flat-ground pitch", 9.05, 3.5)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"height_cm": "20"}, "height of 0.2 m cannot be"),
        ({"tape_m": "long"}, "tape is &#39;long&#39;: give a number"),
        ({"tape_m": "nan"}, "give a number"),
    ],
)
def test_sizes_that_cannot_be_begin_nothing(filmer: Filmer, changed: dict[str, str], words: str) -> None:
    answer = filmer.post(f"/athletes/{filmer.athlete_id}/film", **{**FORM, **changed})
    assert answer.status_code == 400
    assert words in answer.text
    assert len(filmer.clinic.record.entries.find_entries(VisitEntry)) == 1


def test_reader_does_not_film() -> None:
    reader = Filmer(Role.READER)
    assert reader.browser.get(f"/visits/{reader.visit_id}/film").status_code == 403
    assert reader.announce().status_code == 403


def test_clip_arrives_over_http(filmer: Filmer) -> None:
    state = filmer.announce().json()
    assert (state["received"], state["pieces"], state["finished"]) == (0, 2, False)
    for number, piece in enumerate(split_pieces(CONTENT)):
        state = filmer.put(state["id"], number, piece).json()
    assert filmer.browser.post(f"/uploads/{state['id']}/end", headers=filmer.headers).json()["finished"] is True
    (file,) = filmer.clinic.record.entries.find_entries(FileEntry)
    assert (file.digest, file.name) == (hashlib.sha256(CONTENT).hexdigest(), "a.mp4")
    assert get_filmed_visit(filmer.clinic.record, filmer.visit_id).clips[0].known.view is View.FRONT


def test_upload_without_the_token_is_refused(filmer: Filmer) -> None:
    upload_id = filmer.announce().json()["id"]
    filmer.headers["x-elbowroom-token"] = "another"
    assert filmer.put(upload_id, 0, split_pieces(CONTENT)[0]).status_code == 403


def test_damaged_and_overlong_pieces_keep_nothing(filmer: Filmer) -> None:
    upload_id = filmer.announce().json()["id"]
    damaged = filmer.put(upload_id, 0, split_pieces(CONTENT)[0], "sha-256=:AAAA:")
    overlong = filmer.put(upload_id, 0, bytes(PIECE_BYTES + 1))
    assert (damaged.status_code, overlong.status_code) == (400, 400)
    assert "damaged on its way" in damaged.json()["problem"]
    assert "too long" in overlong.json()["problem"]
    assert filmer.browser.get(f"/uploads/{upload_id}").json()["received"] == 0


def test_another_file_under_the_upload_is_a_conflict(filmer: Filmer) -> None:
    upload_id = filmer.announce().json()["id"]
    answer = filmer.put(upload_id, 0, bytes(PIECE_BYTES))
    assert answer.status_code == 409
    assert "choose the same file again" in answer.json()["problem"]


@pytest.mark.parametrize("changed", [{"size": -1}, {"pieces": ["zz"]}, {"view": "above"}, {"size": "many"}])
def test_false_announcement_is_a_sentence(filmer: Filmer, changed: dict[str, object]) -> None:
    answer = filmer.announce(**changed)
    assert answer.status_code in (400, 422)
    assert answer.json()["problem"].endswith((".", "anew."))
    assert filmer.clinic.record.entries.find_entries(UploadEntry) == ()


def test_cancelled_upload_is_gone(filmer: Filmer) -> None:
    upload_id = filmer.announce().json()["id"]
    filmer.put(upload_id, 0, split_pieces(CONTENT)[0])
    assert filmer.browser.delete(f"/uploads/{upload_id}", headers=filmer.headers).json()["received"] == 0


def test_board_shows_clips_checks_and_work(filmer: Filmer) -> None:
    record = filmer.clinic.record
    send_two_views(record, filmer.visit_id)
    before = filmer.browser.get(f"/visits/{filmer.visit_id}/film/board").text
    assert "behind.mp4" in before
    assert "Being looked at." in before
    assert filmer.post(f"/visits/{filmer.visit_id}/film/screen").status_code == 303
    assert "screen a visit" in filmer.browser.get(f"/visits/{filmer.visit_id}/film").text
    run_all(record)
    after = filmer.browser.get(f"/visits/{filmer.visit_id}/film").text
    assert "bytes of light" in after
    assert "Screened, version 1." in after
    assert "Being looked at." not in after


def test_visit_that_cannot_be_screened_says_why(filmer: Filmer) -> None:
    answer = filmer.post(f"/visits/{filmer.visit_id}/film/screen")
    assert answer.status_code == 400
    assert "there is no clip of throws" in answer.text


def test_two_people_at_one_visit(filmer: Filmer) -> None:
    first, second = send_two_views(filmer.clinic.record, filmer.visit_id)
    form = {"known_version": "2", "view": "oblique", "shows": "throws", "is_used": "true", "rate_hz": "120"}
    assert filmer.post(f"/visits/{filmer.visit_id}/film/clips/{first.id}", **form).status_code == 303
    late = filmer.post(f"/visits/{filmer.visit_id}/film/clips/{second.id}", **form)
    assert late.status_code == 409
    assert "Somebody else changed this meanwhile" in late.text
    known = {clip.file.id: clip.known for clip in get_filmed_visit(filmer.clinic.record, filmer.visit_id).clips}
    assert (known[first.id].view, known[first.id].rate_hz) == (View.OBLIQUE, 120.0)
    assert known[second.id].view is View.OPEN_SIDE


def test_ground_changes_over_its_form(filmer: Filmer) -> None:
    form = {"known_version": "1", "target_m": "18.4", "board_size": "small"}
    assert filmer.post(f"/visits/{filmer.visit_id}/film/ground", **form).status_code == 303
    assert get_filmed_visit(filmer.clinic.record, filmer.visit_id).ground.target_m == 18.4
    assert filmer.post(f"/visits/{filmer.visit_id}/film/ground", **form).status_code == 409


def test_job_is_cancelled_from_the_page(filmer: Filmer) -> None:
    send_two_views(filmer.clinic.record, filmer.visit_id)
    filmer.post(f"/visits/{filmer.visit_id}/film/screen")
    (job,) = (one for one in filmer.clinic.record.jobs.list_jobs() if one.kind is JobKind.SCREEN)
    assert filmer.post(f"/visits/{filmer.visit_id}/film/jobs/{job.id}/cancel").status_code == 303
    states = {one.kind: one.state for one in filmer.clinic.record.jobs.list_jobs()}
    assert states[JobKind.SCREEN] is JobState.CANCELLED


def test_camera_may_be_used_by_our_own_pages_only(filmer: Filmer) -> None:
    policy = filmer.browser.get("/athletes").headers["permissions-policy"]
    assert "camera=(self)" in policy
    assert "microphone=(self)" in policy


@pytest.mark.parametrize(
    ("left_s", "words"),
    [(0, "less than half a minute left"), (40, "about 1 minute left"), (200, "about 3 minutes left")],
)
def test_time_left_in_words(left_s: float, words: str) -> None:
    assert phrase_left(left_s) == words
