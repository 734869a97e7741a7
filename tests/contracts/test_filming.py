"""Filming a visit, from the consent to the kept screening, in memory, in a sealed file and on a PostgreSQL server.

Sides: the same use cases on all three; the kept files against what was sent; jobs done once, twice and after a kill in
their middle; the visit file read back by the reader of visit files. The landmark stage is a quick double here.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from elbowroom.adapters.boards.field_sizes import read_field_sizes
from elbowroom.adapters.visit_files.filmed import render_visit_file
from elbowroom.adapters.visit_files.reading import read_visit
from elbowroom.core.cameras.types import View
from elbowroom.core.landmarks.names import Side
from elbowroom.errors import ConflictError, ConsentError, RecordError, VisitError
from elbowroom.service.asking_jobs import cancel_job, estimate_left_s
from elbowroom.service.athletes import add_athlete, withdraw_consent
from elbowroom.service.backing_up import check_record
from elbowroom.service.doing_jobs import list_handlers
from elbowroom.service.filming import (
    ClipFacts,
    begin_screening,
    change_clip,
    change_ground,
    describe_visit,
    find_proxies,
    get_filmed_visit,
)
from elbowroom.service.filming_types import ClipCheckEntry, FilmedClipEntry, ProxyEntry, Shows, UploadEntry
from elbowroom.service.forgetting import forget_athlete
from elbowroom.service.job_types import Job, JobEnd, JobKind, JobState
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import ClipEntry, FileEntry, FileKind, FindingEntry, Purpose, ScreeningEntry
from elbowroom.service.uploading import (
    PIECE_BYTES,
    ROOM_BYTES,
    begin_upload,
    cancel_upload,
    choose_name,
    find_upload,
    finish_upload,
    store_piece,
)
from elbowroom.service.working import JobWorker
from tests.makers.filming import (
    GROUND,
    begin_filmed,
    make_facts,
    make_work_tools,
    send_clip,
    send_two_views,
    split_pieces,
)
from tests.makers.jobs import make_job, make_pace
from tests.makers.record import ADULT, CHILD, STAMP, add_child, begin_clinic, make_stamp
from tests.makers.record_places import make_memory_record, make_sealed_record, make_server_record

CONTENT = np.random.default_rng(5).bytes(PIECE_BYTES + 700_000)
AS_SAID = ClipFacts(shows=Shows.THROWS, view=View.FRONT, rate_hz=240.0, thrower=Side.LEFT)


@pytest.fixture(params=["memory", "sealed file", "server"])
def tools(request: pytest.FixtureRequest, tmp_path: Path) -> RecordTools:
    if request.param == "memory":
        made = make_memory_record()
    elif request.param == "sealed file":
        made = make_sealed_record(tmp_path)
    else:
        made = make_server_record(tmp_path, request.getfixturevalue("postgres_address"))
    begin_clinic(made)
    return made


@pytest.fixture
def visit_id(tools: RecordTools) -> str:
    return begin_filmed(tools, add_child(tools))


def make_worker(tools: RecordTools) -> JobWorker:
    return JobWorker(tools.jobs, list_handlers(make_work_tools(tools)), "w1", make_pace())


def run_all(tools: RecordTools) -> None:
    worker = make_worker(tools)
    while isinstance(worker.run_next(), Job):
        pass


def ask(tools: RecordTools, visit_id: str) -> Job:
    return begin_screening(tools, visit_id, STAMP)


def test_minor_without_a_guardians_consent_is_not_filmed(tools: RecordTools) -> None:
    athlete_id = add_athlete(tools, CHILD, STAMP)
    with pytest.raises(ConsentError, match=r"is 13, and a guardian's consent for care does not hold: record who"):
        begin_filmed(tools, athlete_id)


def test_adult_is_asked_for_the_own_consent(tools: RecordTools) -> None:
    with pytest.raises(ConsentError, match="the athlete's consent for care"):
        begin_filmed(tools, add_athlete(tools, ADULT, STAMP))


def test_consent_withdrawn_meanwhile_stops_upload_and_screening(tools: RecordTools, visit_id: str) -> None:
    state = begin_upload(tools, visit_id, make_facts(CONTENT), STAMP)
    for number, piece in enumerate(split_pieces(CONTENT)):
        store_piece(tools, state.upload.id, number, piece)
    withdraw_consent(tools, state.upload.athlete_id, Purpose.CARE, STAMP.at.date(), STAMP)
    with pytest.raises(ConsentError):
        finish_upload(tools, state.upload.id, STAMP)
    assert tools.entries.find_entries(FileEntry) == ()


def test_sizes_that_cannot_be_are_named_together(tools: RecordTools, visit_id: str) -> None:
    wrong = replace(GROUND, target_m=0.5, tape_m=0.1, mass_kg=900.0)
    with pytest.raises(VisitError, match=r"target of 0.5 m cannot be.*tape of 0.1 m.*mass of 900 kg"):
        change_ground(tools, visit_id, wrong, 1, STAMP)
    assert get_filmed_visit(tools, visit_id).ground.target_m == GROUND.target_m


def test_of_two_who_change_the_ground_the_second_is_told(tools: RecordTools, visit_id: str) -> None:
    change_ground(tools, visit_id, replace(GROUND, tape_m=3.0), 1, STAMP)
    with pytest.raises(ConflictError, match="Somebody else"):
        change_ground(tools, visit_id, replace(GROUND, tape_m=4.0), 1, STAMP)
    assert get_filmed_visit(tools, visit_id).ground.tape_m == 3.0


def test_clip_arrives_as_sent(tools: RecordTools, visit_id: str) -> None:
    file = send_clip(tools, visit_id, CONTENT, make_facts(CONTENT, r"C:\phone\IMG 1.MOV", View.FRONT))
    assert (file.name, file.kind, file.size_bytes) == ("IMG 1.MOV", FileKind.CLIP, len(CONTENT))
    assert b"".join(tools.vault.read_range(file.file_id)) == CONTENT
    (clip,) = get_filmed_visit(tools, visit_id).clips
    assert (clip.file, clip.known.view, clip.known.version, clip.known.is_used) == (file, View.FRONT, 1, True)
    assert [item.view for item in tools.entries.find_entries(ClipEntry)] == [View.FRONT]
    assert {job.kind for job in tools.jobs.list_jobs(visit_id=visit_id)} == {JobKind.CHECK, JobKind.PROXY}


def test_board_clip_is_no_clip_of_throws(tools: RecordTools, visit_id: str) -> None:
    file = send_clip(tools, visit_id, CONTENT, make_facts(CONTENT, shows=Shows.BOARD))
    assert file.kind is FileKind.BOARD_CLIP
    assert tools.entries.find_entries(ClipEntry) == ()
    assert tools.jobs.list_jobs() == ()


def test_upload_goes_on_where_it_stopped(tools: RecordTools, visit_id: str) -> None:
    state = begin_upload(tools, visit_id, make_facts(CONTENT), STAMP)
    store_piece(tools, state.upload.id, 0, split_pieces(CONTENT)[0])
    again = begin_upload(tools, visit_id, make_facts(CONTENT, "another name.mp4"), make_stamp(0.1))
    assert (again.upload, again.received_count, again.piece_count) == (state.upload, 1, 2)
    with pytest.raises(ConflictError, match="Piece 2 is still missing"):
        finish_upload(tools, state.upload.id, STAMP)
    store_piece(tools, state.upload.id, 1, split_pieces(CONTENT)[1])
    assert finish_upload(tools, state.upload.id, STAMP).digest == hashlib.sha256(CONTENT).hexdigest()


def test_another_file_under_the_same_upload_is_refused(tools: RecordTools, visit_id: str) -> None:
    state = begin_upload(tools, visit_id, make_facts(CONTENT), STAMP)
    store_piece(tools, state.upload.id, 0, split_pieces(CONTENT)[0])
    other = bytes(len(CONTENT) - PIECE_BYTES)
    with pytest.raises(ConflictError, match="Piece 2 is not that of the file"):
        store_piece(tools, state.upload.id, 1, other)
    with pytest.raises(ConflictError, match="Piece 1 is not that"):
        store_piece(tools, state.upload.id, 0, bytes(PIECE_BYTES))
    assert find_upload(tools, state.upload.id).received_count == 1


def test_piece_that_comes_too_early_says_which_comes_first(tools: RecordTools, visit_id: str) -> None:
    state = begin_upload(tools, visit_id, make_facts(CONTENT), STAMP)
    with pytest.raises(ConflictError, match="Piece 1 comes first"):
        store_piece(tools, state.upload.id, 1, split_pieces(CONTENT)[1])


def test_full_disk_is_told_before_anything_is_sent(
    tools: RecordTools, visit_id: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(type(tools.uploads), "find_room", lambda _: ROOM_BYTES + len(CONTENT) - 1)
    with pytest.raises(RecordError, match="no room for 5 MB"):
        begin_upload(tools, visit_id, make_facts(CONTENT), STAMP)
    assert tools.entries.find_entries(UploadEntry) == ()


def test_file_without_a_byte_and_false_digests_are_refused(tools: RecordTools, visit_id: str) -> None:
    with pytest.raises(RecordError, match="0 MB is not taken in"):
        begin_upload(tools, visit_id, make_facts(b""), STAMP)
    with pytest.raises(RecordError, match="digests do not fit"):
        begin_upload(tools, visit_id, replace(make_facts(CONTENT), piece_digests=("ab",)), STAMP)


def test_finishing_again_adds_nothing(tools: RecordTools, visit_id: str) -> None:
    file = send_clip(tools, visit_id, CONTENT)
    assert finish_upload(tools, file.id, make_stamp(1)) == file
    assert len(tools.entries.find_entries(FilmedClipEntry)) == 1
    with pytest.raises(ConflictError, match="has arrived already"):
        cancel_upload(tools, file.id)


def test_cancelled_upload_begins_anew(tools: RecordTools, visit_id: str) -> None:
    state = begin_upload(tools, visit_id, make_facts(CONTENT), STAMP)
    store_piece(tools, state.upload.id, 0, split_pieces(CONTENT)[0])
    cancel_upload(tools, state.upload.id)
    assert find_upload(tools, state.upload.id).received_count == 0
    assert tools.vault.list_files() == ()


@pytest.mark.parametrize(
    ("name", "taken", "chosen"),
    [
        ("a.mp4", (), "a.mp4"),
        ("a.mp4", ("a.mp4", "a (2).mp4"), "a (3).mp4"),
        ("../../etc/A.MP4", (), "A.MP4"),
        ("..\\..\\x\x00y.mov", (), "xy.mov"),
        (".hidden", (), "hidden"),
        ("...", (), "clip"),
        ("hidden", ("hidden",), "hidden (2)"),
        ("x" * 300 + ".mp4", (), "x" * 96 + ".mp4"),
    ],
)
def test_names_are_plain_and_alone(name: str, taken: tuple[str, ...], chosen: str) -> None:
    assert choose_name(name, taken) == chosen


def test_two_who_describe_clips_at_once(tools: RecordTools, visit_id: str) -> None:
    first, second = send_two_views(tools, visit_id)
    change_clip(tools, visit_id, first.id, AS_SAID, 2, STAMP)
    with pytest.raises(ConflictError, match="Somebody else"):
        change_clip(tools, visit_id, second.id, AS_SAID, 2, STAMP)
    known = {clip.file.id: clip.known.view for clip in get_filmed_visit(tools, visit_id).clips}
    assert known == {first.id: View.FRONT, second.id: View.OPEN_SIDE}


@pytest.mark.parametrize(
    ("views", "words"),
    [
        ((), "there is no clip of throws"),
        ((View.BEHIND,), "one phone alone needs its place"),
        ((View.BEHIND, View.BEHIND), "2 clips are said to show the behind view"),
    ],
)
def test_clips_that_cannot_be_screened(tools: RecordTools, visit_id: str, views: tuple[View, ...], words: str) -> None:
    for number, view in enumerate(views):
        send_clip(tools, visit_id, CONTENT + bytes([number]), make_facts(CONTENT + bytes([number]), view=view))
    with pytest.raises(VisitError, match=words):
        ask(tools, visit_id)
    assert JobKind.SCREEN not in {job.kind for job in tools.jobs.list_jobs()}


def test_screening_is_asked_for_once(tools: RecordTools, visit_id: str) -> None:
    send_two_views(tools, visit_id)
    assert ask(tools, visit_id) == ask(tools, visit_id)


def test_screened_visit_is_kept_with_everything(tools: RecordTools, visit_id: str) -> None:
    sent = send_two_views(tools, visit_id)
    job = ask(tools, visit_id)
    run_all(tools)
    assert {one.state for one in tools.jobs.list_jobs()} == {JobState.DONE}
    (screening,) = tools.entries.find_entries(ScreeningEntry)
    assert (screening.id, screening.visit_id, screening.version) == (job.id, visit_id, 1)
    assert len(tools.entries.find_entries(FindingEntry, screening_id=job.id)) == 2
    kinds = sorted(file.kind for file in tools.entries.find_entries(FileEntry, visit_id=visit_id))
    made = [FileKind.PICTURE_TIMES, FileKind.PROXY] * 2 + [FileKind.REPORT, FileKind.PAGE, FileKind.VISIT_FILE]
    assert kinds == sorted([FileKind.CLIP, FileKind.CLIP, *made])
    assert set(find_proxies(tools, visit_id)) == {file.id for file in sent}
    assert check_record(tools, STAMP).problems == ()


def test_check_of_a_clip_is_kept(tools: RecordTools, visit_id: str) -> None:
    file = send_clip(tools, visit_id, CONTENT)
    run_all(tools)
    (check,) = tools.entries.find_entries(ClipCheckEntry, visit_id=visit_id)
    assert check.file_entry_id == file.id
    assert json.loads(check.lines) == [{"what": "light", "is_good": True, "words": f"{len(CONTENT)} bytes of light."}]


def test_job_done_twice_keeps_one_result(tools: RecordTools, visit_id: str) -> None:
    send_two_views(tools, visit_id)
    ask(tools, visit_id)
    run_all(tools)
    before = len(tools.vault.list_files())
    handlers = list_handlers(make_work_tools(tools))
    for job in tools.jobs.list_jobs():
        if job.kind is not JobKind.CHECK:
            handlers[job.kind](job, lambda *_: None)
    assert len(tools.entries.find_entries(ScreeningEntry)) == 1
    assert len(tools.entries.find_entries(ProxyEntry)) == 2
    assert len(tools.vault.list_files()) == before


def test_failed_screening_keeps_nothing_and_says_why(tools: RecordTools, visit_id: str) -> None:
    send_two_views(tools, visit_id)
    ask(tools, visit_id)
    before = len(tools.vault.list_files())
    broken = replace(make_work_tools(tools), screen=refuse)
    worker = JobWorker(tools.jobs, {JobKind.SCREEN: list_handlers(broken)[JobKind.SCREEN]}, "w1", make_pace())
    worker.run_next()
    (job,) = (one for one in tools.jobs.list_jobs() if one.kind is JobKind.SCREEN)
    assert (job.state, job.error) == (JobState.FAILED, "front.mp4 is cut off; copy the whole file again.")
    assert tools.entries.find_entries(ScreeningEntry) == ()
    assert len(tools.vault.list_files()) == before


def refuse(folder: Path, report: object) -> None:
    raise VisitError("front.mp4 is cut off; copy the whole file again.")


def test_visit_file_says_what_is_known(tools: RecordTools, visit_id: str, tmp_path: Path) -> None:
    first, second = send_two_views(tools, visit_id)
    for view in (View.FRONT, View.OPEN_SIDE):
        content = CONTENT + str(view).encode()
        send_clip(tools, visit_id, content, make_facts(content, f"board {view}.mp4", view, Shows.BOARD))
    marks = json.dumps({"plate_front_left": [612.5, 840.0]})
    change_clip(tools, visit_id, first.id, replace(AS_SAID, marks=marks), 4, STAMP)
    change_ground(tools, visit_id, replace(GROUND, tape_m=3.5, mass_kg=48.0), 1, STAMP)
    for clip in get_filmed_visit(tools, visit_id).clips:
        (tmp_path / clip.file.name).write_bytes(b"x")
    text = render_visit_file(describe_visit(get_filmed_visit(tools, visit_id)))
    (tmp_path / "visit.toml").write_text(text, encoding="utf-8")
    plan = read_visit(tmp_path, read_field_sizes())
    assert (plan.athlete.name, plan.athlete.hand, plan.athlete.mass_kg) == (CHILD.name, CHILD.hand, 48.0)
    assert plan.athlete.age_years == pytest.approx(13.0, abs=0.02)
    assert (plan.tape_m, plan.sizes.target_distance_m, plan.made_on) == (3.5, 14.0, STAMP.at.date())
    by_name = {clip.path.name: clip for clip in plan.clips}
    front = by_name[first.name]
    assert (front.view, front.stated_rate_hz, front.thrower) == (View.FRONT, 240.0, Side.LEFT)
    assert [(mark.name, mark.pixel) for mark in front.marks] == [("plate_front_left", (612.5, 840.0))]
    assert front.board_path
    assert front.board_path.name == "board front.mp4"
    assert by_name[second.name].view is View.OPEN_SIDE


def test_clip_left_out_is_not_screened(tools: RecordTools, visit_id: str) -> None:
    first, _ = send_two_views(tools, visit_id)
    change_clip(tools, visit_id, first.id, replace(AS_SAID, is_used=False), 2, STAMP)
    assert [clip["view"] for clip, _ in describe_visit(get_filmed_visit(tools, visit_id)).clips] == [View.OPEN_SIDE]


def test_forgotten_athlete_leaves_no_upload(tools: RecordTools, visit_id: str) -> None:
    send_two_views(tools, visit_id)
    state = begin_upload(tools, visit_id, make_facts(CONTENT), STAMP)
    store_piece(tools, state.upload.id, 0, split_pieces(CONTENT)[0])
    run_all(tools)
    forget_athlete(tools, state.upload.athlete_id, STAMP)
    assert tools.entries.find_entries(UploadEntry) == ()
    assert tools.vault.list_files() == ()


def test_cancelled_job_says_when_it_is_too_late(tools: RecordTools, visit_id: str) -> None:
    send_two_views(tools, visit_id)
    job = ask(tools, visit_id)
    cancel_job(tools, job.id, STAMP)
    with pytest.raises(ConflictError, match="come to its end"):
        cancel_job(tools, job.id, STAMP)


def list_done(seconds: Iterator[float]) -> list[Job]:
    return [
        replace(
            make_job(number),
            state=JobState.DONE,
            started_at=STAMP.at,
            finished_at=STAMP.at + timedelta(seconds=one),
            work_bytes=1000,
        )
        for number, one in enumerate(seconds)
    ]


def test_time_left_follows_earlier_jobs() -> None:
    running = replace(make_job(9), state=JobState.RUNNING, started_at=STAMP.at, work_bytes=2000)
    done = list_done(iter([50.0, 60.0, 400.0]))
    # Median pace 60 s for 1000 bytes: 120 s for 2000, of which 30 s are gone.
    assert estimate_left_s(running, done, STAMP.at + timedelta(seconds=30)) == pytest.approx(90.0)
    assert estimate_left_s(running, done, STAMP.at + timedelta(seconds=500)) == 0.0
    # Somebody set the clock back by an hour.
    assert estimate_left_s(running, done, STAMP.at - timedelta(hours=1)) == pytest.approx(120.0)
    assert not estimate_left_s(running, [], STAMP.at)
    assert not estimate_left_s(replace(running, state=JobState.WAITING), done, STAMP.at)


def test_worker_puts_its_job_back_when_it_is_told_to_stop(tools: RecordTools, visit_id: str) -> None:
    send_two_views(tools, visit_id)
    job = ask(tools, visit_id)
    worker = make_worker(tools)

    def stop_midway(job: Job, report: object) -> None:
        worker.close()

    worker._handlers = dict.fromkeys(JobKind, stop_midway)
    worker.run_next()
    states = {one.id: (one.state, one.attempt) for one in tools.jobs.list_jobs()}
    assert (JobState.WAITING, 0) in states.values()
    assert states[job.id] == (JobState.WAITING, 0)
    assert not tools.jobs.finish_job(job.id, "w1", JobEnd(at=STAMP.at, state=JobState.DONE))
