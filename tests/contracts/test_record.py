"""One contract for the record in memory, in a sealed SQLite file and on a PostgreSQL server.

Sides: the same use cases on all three; what is found against what was added; the whole record as lines, before and
after a backup went from one place to another.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from datetime import date
from pathlib import Path
from uuid import uuid4

import pytest

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ConflictError, ConsentError, DamageError, RecordError
from elbowroom.service import forgetting
from elbowroom.service.athletes import (
    add_athlete,
    add_athlete_version,
    add_consent,
    list_holding_consents,
    list_trail,
    see_athlete,
    withdraw_consent,
)
from elbowroom.service.backing_up import back_up_record, check_record, digest_record, restore_record
from elbowroom.service.forgetting import check_forgotten, forget_athlete, list_overdue
from elbowroom.service.job_types import JobKind
from elbowroom.service.keeping import CorrectionFacts, add_correction, keep_visit
from elbowroom.service.record_lines import ABSENT, KINDS, read_line, write_line
from elbowroom.service.record_tools import RecordTools, find_person
from elbowroom.service.record_types import (
    Act,
    AthleteEntry,
    AthleteVersion,
    ClipEntry,
    CorrectionEntry,
    CorrectionKind,
    Entry,
    FileEntry,
    FileKind,
    FindingEntry,
    Purpose,
    ScreeningEntry,
    ThrowEntry,
    TrailEntry,
    VisitEntry,
)
from elbowroom.service.uploading import add_proxy_jobs
from tests.makers.clinic import add_clinic_entries
from tests.makers.filmed import add_filming_entries
from tests.makers.people import add_people_entries
from tests.makers.plans import fill_plan
from tests.makers.record import ADULT, CHILD, MEASURE, STAMP, add_child, begin_clinic, make_parcel, make_stamp
from tests.makers.record_places import make_memory_record, make_sealed_record, make_server_record
from tests.makers.throwing import add_week_entries

PLACES = ("memory", "sealed file", "server")
Maker = Callable[[str], RecordTools]


@pytest.fixture
def make_record(tmp_path: Path, request: pytest.FixtureRequest) -> Maker:
    def make(place: str) -> RecordTools:
        folder = tmp_path / uuid4().hex
        if place == "memory":
            return make_memory_record()
        if place == "sealed file":
            folder.mkdir()
            return make_sealed_record(folder)
        return make_server_record(folder, request.getfixturevalue("postgres_address"))

    return make


@pytest.fixture(params=PLACES)
def tools(request: pytest.FixtureRequest, make_record: Maker) -> RecordTools:
    made = make_record(request.param)
    begin_clinic(made)
    return made


def keep_one(tools: RecordTools, folder: Path, value_deg: float = -7.0) -> tuple[str, VisitEntry]:
    athlete_id = add_child(tools)
    kept = keep_visit(tools, athlete_id, make_parcel(folder, value_deg), STAMP)
    (visit,) = tools.entries.find_entries(VisitEntry, id=kept.visit_id)
    return athlete_id, visit


def fill(tools: RecordTools, folder: Path) -> str:
    """Put at least one entry of every kind into a record and return the child's id."""
    athlete_id, visit = keep_one(tools, folder)
    fill_plan(tools, athlete_id)
    withdraw_consent(tools, athlete_id, Purpose.CARE, date(2026, 3, 2), STAMP)
    add_correction(tools, visit, MOVED, 0, STAMP)
    add_athlete(tools, ADULT, STAMP)
    add_people_entries(tools)
    add_clinic_entries(tools, visit)
    add_week_entries(tools, visit)
    add_filming_entries(tools, visit)
    return athlete_id


MOVED = CorrectionFacts(
    kind=CorrectionKind.INSTANT, throw_number=1, what="release", before="1.25", after="1.254", reason="late"
)


def test_athlete_comes_back_as_added(tools: RecordTools) -> None:
    athlete_id = add_child(tools)
    story = see_athlete(tools, athlete_id, STAMP)
    (version,) = story.versions
    assert {name: getattr(version, name) for name in vars(CHILD)} == vars(CHILD)
    assert version.recorded_at == STAMP.at
    assert [guardian.name for guardian in story.guardians] == ["Ines Ångström"]
    assert [(consent.purpose, withdrawn) for consent, withdrawn in story.consents] == [(Purpose.CARE, ABSENT)]


def test_versions_are_added_and_the_old_one_stays(tools: RecordTools) -> None:
    athlete_id = add_athlete(tools, ADULT, STAMP)
    add_athlete_version(tools, athlete_id, replace(ADULT, name="Quill Bell"), 1, make_stamp(1))
    versions = tools.entries.find_entries(AthleteVersion, athlete_id=athlete_id)
    assert [(item.version, item.name) for item in versions] == [(1, "Quill Adeyemi"), (2, "Quill Bell")]
    (line,) = tools.lists.list_athletes("bell")
    assert (line.name, line.visit_count, line.last_visit) == ("Quill Bell", 0, ABSENT)


def test_second_of_two_who_change_the_same_is_told(tools: RecordTools) -> None:
    athlete_id = add_athlete(tools, ADULT, STAMP)
    add_athlete_version(tools, athlete_id, replace(ADULT, note="first"), 1, STAMP)
    with pytest.raises(ConflictError, match="Somebody else"):
        add_athlete_version(tools, athlete_id, replace(ADULT, note="second"), 1, STAMP)
    notes = [item.note for item in tools.entries.find_entries(AthleteVersion, athlete_id=athlete_id)]
    assert notes == ["", "first"]
    assert [entry.act for entry in list_trail(tools, athlete_id)] == [Act.ADDED, Act.CORRECTED]


def test_entries_are_added_all_or_none(tools: RecordTools) -> None:
    athlete_id = add_athlete(tools, ADULT, STAMP)
    (old,) = tools.entries.find_entries(AthleteVersion, athlete_id=athlete_id)
    fine = replace(old, id=tools.make_id(), version=2)
    with pytest.raises(ConflictError):
        tools.entries.add_entries([fine, replace(fine, id=tools.make_id(), athlete_id="nobody")])
    assert tools.entries.find_entries(AthleteVersion, athlete_id=athlete_id) == (old,)


def test_minor_does_not_consent_alone(tools: RecordTools) -> None:
    child, adult = add_athlete(tools, CHILD, STAMP), add_athlete(tools, ADULT, STAMP)
    with pytest.raises(ConsentError, match="guardian"):
        add_consent(tools, child, ABSENT, Purpose.RESEARCH, STAMP.at.date(), STAMP)
    add_consent(tools, adult, ABSENT, Purpose.RESEARCH, STAMP.at.date(), STAMP)
    assert [isinstance(item.guardian_id, Absent) for item in list_holding_consents(tools, adult, Purpose.RESEARCH)]
    assert list_holding_consents(tools, adult, Purpose.TEACHING) == ()


def test_withdrawn_consent_stays_with_its_day(tools: RecordTools) -> None:
    athlete_id = add_child(tools)
    assert withdraw_consent(tools, athlete_id, Purpose.CARE, date(2026, 3, 5), make_stamp(4)) == 1
    ((consent, withdrawal),) = see_athlete(tools, athlete_id, STAMP).consents
    assert consent.given_on == date(2026, 3, 1)
    assert not isinstance(withdrawal, Absent)
    assert withdrawal.withdrawn_on == date(2026, 3, 5)
    with pytest.raises(ConsentError, match="none to withdraw"):
        withdraw_consent(tools, athlete_id, Purpose.CARE, date(2026, 3, 6), make_stamp(5))


def test_visit_is_not_kept_without_consent(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id = add_athlete(tools, CHILD, STAMP)
    with pytest.raises(ConsentError, match="care"):
        keep_visit(tools, athlete_id, make_parcel(tmp_path / "v"), STAMP)
    assert tools.vault.list_files() == ()


def test_visit_is_kept_with_its_files_and_numbers(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id, visit = keep_one(tools, tmp_path / "v")
    files = tools.entries.find_entries(FileEntry, visit_id=visit.id)
    outside = {path.name: path.read_bytes() for path in (tmp_path / "v").iterdir()}
    assert {file.name: b"".join(tools.vault.read_range(file.file_id)) for file in files} == outside
    assert {file.name: tools.vault.find_size(file.file_id) for file in files} == {n: len(b) for n, b in outside.items()}
    assert len(tools.entries.find_entries(ClipEntry, visit_id=visit.id)) == 2
    (screening,) = tools.entries.find_entries(ScreeningEntry, visit_id=visit.id)
    assert (screening.version, screening.tolerances) == (1, "tolerances.csv 0123")
    assert [item.number for item in tools.entries.find_entries(ThrowEntry, screening_id=screening.id)] in (
        [1, 2],
        [2, 1],
    )
    (line,) = tools.lists.list_values(athlete_id, MEASURE)
    assert (line.made_on, line.finding.value, line.finding.tolerance_version) == (date(2026, 3, 1), -7.0, "3")
    (missing,) = tools.entries.find_entries(FindingEntry, measure="stride_offset")
    assert (missing.value, missing.verdict) == (ABSENT, "not measured")


def test_same_report_is_kept_once(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id, visit = keep_one(tools, tmp_path / "v")
    again = keep_visit(tools, athlete_id, make_parcel(tmp_path / "v"), make_stamp(1))
    assert (again.visit_id, again.version, again.is_new) == (visit.id, 1, False)
    assert len(tools.vault.list_files()) == 4


def test_new_report_on_the_same_clips_is_a_version(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id, visit = keep_one(tools, tmp_path / "v")
    add_correction(tools, visit, MOVED, 0, make_stamp(1))
    again = keep_visit(tools, athlete_id, make_parcel(tmp_path / "v", -3.0), make_stamp(2))
    assert (again.visit_id, again.version, again.is_new) == (visit.id, 2, True)
    screenings = tools.entries.find_entries(ScreeningEntry, visit_id=visit.id)
    assert [item.corrections_version for item in screenings] == [0, 1]
    assert [line.finding.value for line in tools.lists.list_values(athlete_id, MEASURE)] == [-3.0]
    values = {item.value for item in tools.entries.find_entries(FindingEntry, measure=MEASURE)}
    assert values == {-7.0, -3.0}
    assert len(tools.vault.list_files()) == 5


def test_course_of_a_measure_is_in_the_order_of_visits(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id = add_child(tools)
    for number, day in enumerate((date(2026, 5, 1), date(2026, 3, 1), date(2026, 4, 1))):
        keep_visit(tools, athlete_id, make_parcel(tmp_path / str(number), -float(number), day), STAMP)
    assert [line.finding.value for line in tools.lists.list_values(athlete_id, MEASURE)] == [-1.0, -2.0, 0.0]
    (line,) = tools.lists.list_athletes()
    assert (line.visit_count, line.last_visit) == (3, date(2026, 5, 1))


def test_changed_clip_is_refused_and_nothing_stays(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id, parcel = add_child(tools), make_parcel(tmp_path / "v")
    (tmp_path / "v" / "side.mp4").write_bytes(b"another")
    with pytest.raises(RecordError, match=r"side\.mp4 changed since the screening"):
        keep_visit(tools, athlete_id, parcel, STAMP)
    assert tools.vault.list_files() == ()
    assert tools.entries.find_entries(VisitEntry) == ()


def test_missing_file_is_refused_and_nothing_stays(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id, parcel = add_child(tools), make_parcel(tmp_path / "v")
    (tmp_path / "v" / "report.json").unlink()
    with pytest.raises(RecordError, match=r"report\.json cannot be read"):
        keep_visit(tools, athlete_id, parcel, STAMP)
    assert tools.vault.list_files() == ()


def test_two_corrections_on_the_same_ground_clash(tools: RecordTools, tmp_path: Path) -> None:
    _, visit = keep_one(tools, tmp_path / "v")
    assert add_correction(tools, visit, MOVED, 0, STAMP) == 1
    with pytest.raises(ConflictError):
        add_correction(tools, visit, replace(MOVED, after="1.3"), 0, STAMP)
    assert add_correction(tools, visit, replace(MOVED, before="1.254", after="1.3"), 1, STAMP) == 2
    stored = tools.entries.find_entries(CorrectionEntry, visit_id=visit.id)
    assert [(item.before, item.after) for item in stored] == [("1.25", "1.254"), ("1.254", "1.3")]


def test_every_look_is_in_the_trail(tools: RecordTools) -> None:
    athlete_id = add_child(tools)
    see_athlete(tools, athlete_id, make_stamp(1))
    see_athlete(tools, athlete_id, make_stamp(2))
    looks = [entry for entry in list_trail(tools, athlete_id) if entry.act is Act.LOOKED]
    assert [entry.recorded_at for entry in looks] == [make_stamp(1).at, make_stamp(2).at]
    everything = " ".join(entry.what for entry in tools.entries.find_entries(TrailEntry))
    assert not any(word in everything for word in ("Zoë", "Ångström", "Ines"))


def test_list_is_by_name_and_finds_letters_of_any_case(tools: RecordTools) -> None:
    names = ["Émile", "zora", "Anna_1", "ANNA%2", "annabel"]
    for name in names:
        add_athlete(tools, replace(ADULT, name=name), STAMP)
    assert [line.name for line in tools.lists.list_athletes()] == ["ANNA%2", "Anna_1", "annabel", "zora", "Émile"]
    assert [line.name for line in tools.lists.list_athletes("éMI")] == ["Émile"]
    assert [line.name for line in tools.lists.list_athletes("a_1")] == ["Anna_1"]
    assert [line.name for line in tools.lists.list_athletes("anna", 1, 1)] == ["Anna_1"]


def test_rule_of_retention_names_who_may_go(make_record: Maker, tmp_path: Path) -> None:
    for place in PLACES:
        tools = make_record(place)
        begin_clinic(tools, keep_years=3, until_age=21)
        child, adult = add_child(tools), add_athlete(tools, ADULT, STAMP)
        assert list_overdue(tools, date(2029, 3, 1)) == ()
        assert [line.athlete_id for line in list_overdue(tools, date(2029, 3, 2))] == [adult]
        assert [line.athlete_id for line in list_overdue(tools, date(2034, 2, 28))] == [adult]
        assert {line.athlete_id for line in list_overdue(tools, date(2034, 3, 1))} == {adult, child}


def test_without_a_rule_nobody_is_named(tools: RecordTools) -> None:
    with pytest.raises(RecordError, match="--keep-years"):
        list_overdue(tools, date(2099, 1, 1))


def test_forgotten_is_gone_and_others_stay(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id = fill(tools, tmp_path / "v")
    other, _ = keep_one(tools, tmp_path / "other")
    kinds = [kind.__name__ for kind in KINDS if is_about_athletes(kind)]
    others_lines = [write_line(entry) for entry in tools.entries.walk_entries() if is_of(entry, other)]
    certificate = forget_athlete(tools, athlete_id, make_stamp(3))
    assert set(certificate.entry_counts) == set(kinds)
    assert certificate.file_count == 4
    assert certificate.sealed_bytes > 0
    check_forgotten(tools, athlete_id)
    assert [write_line(entry) for entry in tools.entries.walk_entries() if is_of(entry, other)] == others_lines
    assert {line.athlete_id for line in tools.lists.list_athletes()} >= {other}
    assert [entry.act for entry in list_trail(tools, athlete_id)][-2:] == [Act.BEGAN_TO_FORGET, Act.FORGOT]
    with pytest.raises(RecordError, match="no athlete"):
        forget_athlete(tools, athlete_id, make_stamp(4))


def is_about_athletes(kind: type[Entry]) -> bool:
    names = {item.name for item in fields(kind)}
    return kind is AthleteEntry or ("athlete_id" in names and kind is not TrailEntry)


class CutOffError(Exception):
    """Stands for a kill."""


@pytest.mark.parametrize("step", ["remove_athlete", "check"])
def test_forgetting_cut_off_is_finished_by_doing_it_again(
    tools: RecordTools, tmp_path: Path, step: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def cut_off(*_: object) -> None:
        raise CutOffError

    athlete_id = fill(tools, tmp_path / "v")
    target = (tools.entries, "remove_athlete") if step == "remove_athlete" else (forgetting, "check_forgotten")
    monkeypatch.setattr(*target, cut_off)
    with pytest.raises(CutOffError):
        forget_athlete(tools, athlete_id, STAMP)
    monkeypatch.undo()
    forget_athlete(tools, athlete_id, make_stamp(1))
    check_forgotten(tools, athlete_id)
    assert list_trail(tools, athlete_id)[-1].act is Act.FORGOT
    with pytest.raises(RecordError, match="no athlete"):
        forget_athlete(tools, athlete_id, make_stamp(2))


def is_of(entry: Entry, athlete_id: str) -> bool:
    return athlete_id in (entry.id, getattr(entry, "athlete_id", ""))


def test_certificate_names_the_backups_that_still_hold_the_athlete(tools: RecordTools, tmp_path: Path) -> None:
    back_up_record(tools, tmp_path / f"{uuid4().hex}-before", make_stamp(-1))
    athlete_id = add_child(tools)
    name = f"{uuid4().hex}-after"
    back_up_record(tools, tmp_path / name, make_stamp(1))
    assert forget_athlete(tools, athlete_id, make_stamp(2)).backups == (f"{name}, 2026-03-02 09:00 UTC",)


def test_what_is_left_of_an_athlete_is_noticed(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id = fill(tools, tmp_path / "v")
    with pytest.raises(DamageError, match="AthleteEntry"):
        check_forgotten(tools, athlete_id)


@pytest.mark.parametrize(("old", "new"), [(a, b) for a in PLACES for b in PLACES if (a == "memory") == (b == "memory")])
def test_backup_brings_everything_back(make_record: Maker, tmp_path: Path, old: str, new: str) -> None:
    first = make_record(old)
    begin_clinic(first)
    fill(first, tmp_path / "v")
    path = tmp_path / f"{uuid4().hex}.backup"
    facts = back_up_record(first, path, make_stamp(2))
    before = list(first.entries.walk_entries())
    assert {type(entry) for entry in before} == set(KINDS)
    second = make_twin(make_record(new), first, old)
    assert restore_record(second, path) == facts
    assert list(second.entries.walk_entries()) == before
    assert digest_record(second.entries.walk_entries()) == facts.digest
    for file in second.entries.find_entries(FileEntry):
        outside = (tmp_path / "v" / file.name).read_bytes()
        assert b"".join(second.vault.read_range(file.file_id)) == outside


def make_twin(empty: RecordTools, first: RecordTools, old: str) -> RecordTools:
    """Return the empty record with the keys of the first, as a restore opens it."""
    if old == "memory":
        return empty
    keys = first.vault._keys  # type: ignore[attr-defined]
    folder = empty.vault._folder.parent  # type: ignore[attr-defined]
    vault, shelf = type(empty.vault)(folder, keys), type(empty.shelf)(folder, keys)  # type: ignore[call-arg]
    return replace(empty, vault=vault, shelf=shelf)


def test_backup_replaces_no_file(tools: RecordTools, tmp_path: Path) -> None:
    path = tmp_path / f"{uuid4().hex}.backup"
    back_up_record(tools, path, STAMP)
    with pytest.raises(RecordError, match="is there already"):
        back_up_record(tools, path, STAMP)


def test_sound_record_has_no_problem(tools: RecordTools, tmp_path: Path) -> None:
    fill(tools, tmp_path / "v")
    checked = check_record(tools, make_stamp(0))
    assert (checked.problems, checked.file_count, checked.removed_count) == ((), 4, 0)


def test_left_over_file_is_removed_after_a_day(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id = fill(tools, tmp_path / "v")
    stray = tools.vault.store_file(tmp_path / "v" / "side.mp4", athlete_id).file_id
    written = next(file.written_at for file in tools.vault.list_files() if file.file_id == stray)
    soon, late = (replace(STAMP, at=written + (make_stamp(days).at - STAMP.at)) for days in (0.9, 1.1))
    assert check_record(tools, soon).removed_count == 0
    assert check_record(tools, late).removed_count == 1
    assert len(tools.vault.list_files()) == 4
    assert tools.entries.find_entries(FileEntry, kind=str(FileKind.CLIP))


def test_missing_file_is_a_problem(tools: RecordTools, tmp_path: Path) -> None:
    fill(tools, tmp_path / "v")
    (file,) = tools.entries.find_entries(FileEntry, name="side.mp4")
    tools.vault.remove_files((file.file_id,))
    (problem,) = check_record(tools, STAMP).problems
    assert problem.startswith("side.mp4: ")
    assert "backup" in problem


def test_range_is_cut_to_the_file(tools: RecordTools, tmp_path: Path) -> None:
    (tmp_path / "ten").write_bytes(b"0123456789")
    file_id = tools.vault.store_file(tmp_path / "ten", "aa").file_id
    cases = {(2, 5): b"234", (8, 99): b"89", (10, 12): b"", (4, 4): b"", (0, 10): b"0123456789"}
    assert {case: b"".join(tools.vault.read_range(file_id, *case)) for case in cases} == cases


def test_who_works_is_known_by_name(tools: RecordTools) -> None:
    for name in ("", "rowan"):
        person = find_person(tools, name)
        assert not isinstance(person, Absent)
        assert person.name == "Rowan"
    assert not find_person(tools, "Nobody")


def test_lines_bring_every_kind_back(make_record: Maker, tmp_path: Path) -> None:
    tools = make_record("memory")
    begin_clinic(tools)
    fill(tools, tmp_path / "v")
    entries = list(tools.entries.walk_entries())
    assert [read_line(write_line(entry)) for entry in entries] == entries
    for line in ("", "{}", '{"entry": "Nothing"}', '{"entry": "AthleteEntry", "id": "1"}', "[1]"):
        with pytest.raises(DamageError):
            read_line(line)


def test_clips_of_a_kept_visit_wait_for_their_proxies_once(tools: RecordTools, tmp_path: Path) -> None:
    _, visit = keep_one(tools, tmp_path)
    assert add_proxy_jobs(tools, visit.id, STAMP) == 2
    first = tools.jobs.list_jobs(visit_id=visit.id)
    assert {job.kind for job in first} == {JobKind.PROXY}
    add_proxy_jobs(tools, visit.id, STAMP)
    assert [job.id for job in tools.jobs.list_jobs(visit_id=visit.id)] == [job.id for job in first]
    add_filming_entries(tools, visit)
    assert add_proxy_jobs(tools, visit.id, STAMP) == 1
    with pytest.raises(RecordError, match="no visit"):
        add_proxy_jobs(tools, "nowhere", STAMP)
