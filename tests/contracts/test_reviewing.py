"""Corrections in the record: kept, tried before they are kept, brought into a new screening, never lost.

Sides: the double of the record and a sealed one do the same; the kept report against the report of the measured visit;
a second person who is behind by one correction; a correction and its reverse; parts of a sealed file against its bytes.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from elbowroom.bootstrap_review import build_review_tools
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ConflictError, CorrectionError, RecordError
from elbowroom.service.correction_values import CorrectionAsked
from elbowroom.service.keeping import keep_visit
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import (
    CorrectionEntry,
    CorrectionKind,
    FileEntry,
    FileKind,
    FindingEntry,
    ScreeningEntry,
    ThrowEntry,
)
from elbowroom.service.reviewing import (
    ReviewTools,
    add_checked_correction,
    keep_current,
    see_corrections,
    see_review,
)
from elbowroom.web.ranges import answer_range, find_span
from tests.makers.kept_review import keep_invented
from tests.makers.kept_visit import make_kept_parcel
from tests.makers.record import STAMP, add_child, begin_clinic
from tests.makers.record_places import make_memory_record, make_sealed_record

DROP = CorrectionAsked(
    kind=CorrectionKind.THROW, throw_number=2, what="throw", after='{"as": "dropped"}', reason="a walk"
)
BACK = CorrectionAsked(kind=CorrectionKind.THROW, throw_number=2, what="throw", after='{"as": "found"}')
CONTACT = CorrectionAsked(
    kind=CorrectionKind.INSTANT,
    throw_number=1,
    what="foot contact",
    after='{"instant": "foot contact", "time_s": 1.99}',
)


@pytest.fixture(params=["memory", "sealed"])
def record(request: pytest.FixtureRequest, tmp_path: Path) -> RecordTools:
    tools = make_memory_record() if request.param == "memory" else make_sealed_record(tmp_path / "record")
    begin_clinic(tools)
    return tools


@pytest.fixture
def kept(record: RecordTools, tmp_path: Path) -> tuple[ReviewTools, str]:
    return keep_invented(record, tmp_path / "visit")


def find_newest(record: RecordTools, visit_id: str) -> ScreeningEntry:
    return record.entries.find_entries(ScreeningEntry, visit_id=visit_id)[-1]


def test_a_correction_becomes_an_entry_and_a_new_screening(kept: tuple[ReviewTools, str]) -> None:
    tools, visit_id = kept
    entry, change = add_checked_correction(tools, visit_id, CONTACT, 0, STAMP)
    assert (entry.version, entry.before, entry.after) == (1, '{"as": "found"}', CONTACT.after)
    assert change.is_first
    assert any(item.measure == "time_from_foot_contact_to_release" for item in change.measures)
    assert find_newest(tools.record, visit_id).corrections_version == 0
    done, full = keep_current(tools, visit_id, STAMP)
    assert (done.version, done.is_new, full.is_first) == (2, True, False)
    newest = find_newest(tools.record, visit_id)
    assert newest.corrections_version == 1
    reviewed = see_review(tools, visit_id)
    kept_values = {
        item.measure: item.value for item in tools.record.entries.find_entries(FindingEntry, screening_id=newest.id)
    }
    for finding in reviewed.measured.report.findings:
        typical = finding.typical
        expected = typical if isinstance(typical, Absent) else typical.value
        assert isinstance(kept_values[finding.definition.key], Absent) is isinstance(expected, Absent)
        if not isinstance(expected, Absent):
            assert kept_values[finding.definition.key] == pytest.approx(expected, rel=1e-12)
    assert keep_current(tools, visit_id, STAMP)[0].is_new is False


def test_a_correction_and_its_reverse_give_the_first_numbers(kept: tuple[ReviewTools, str]) -> None:
    tools, visit_id = kept
    before = repr(see_review(tools, visit_id).measured.report.findings)
    add_checked_correction(tools, visit_id, DROP, 0, STAMP)
    assert repr(see_review(tools, visit_id).measured.report.findings) != before
    assert len(tools.record.entries.find_entries(ThrowEntry, screening_id=find_newest(tools.record, visit_id).id)) == 3
    keep_current(tools, visit_id, STAMP)
    assert len(tools.record.entries.find_entries(ThrowEntry, screening_id=find_newest(tools.record, visit_id).id)) == 2
    entry, _ = add_checked_correction(tools, visit_id, BACK, 1, STAMP)
    assert entry.before == DROP.after
    assert repr(see_review(tools, visit_id).measured.report.findings) == before
    lines = see_corrections(tools.record, visit_id)
    assert [(line.version, line.is_in_force) for line in lines] == [(2, False), (1, False)]
    assert "a walk" in lines[1].reason


def test_who_is_behind_is_told_whose_correction_came_before(kept: tuple[ReviewTools, str]) -> None:
    tools, visit_id = kept
    add_checked_correction(tools, visit_id, DROP, 0, STAMP)
    with pytest.raises(ConflictError, match=r"Correction 1 .* by Rowan: throw 2, throw dropped.*not kept yet"):
        add_checked_correction(tools, visit_id, CONTACT, 0, STAMP)
    assert len(tools.record.entries.find_entries(CorrectionEntry, visit_id=visit_id)) == 1
    assert add_checked_correction(tools, visit_id, CONTACT, 1, STAMP)[0].version == 2


@pytest.mark.parametrize(
    "asked",
    [
        CorrectionAsked(kind=CorrectionKind.THROW, throw_number=9, what="throw", after='{"as": "dropped"}'),
        CorrectionAsked(kind=CorrectionKind.THROW, throw_number=1, what="throw", after='{"as": "eaten"}'),
        CorrectionAsked(kind=CorrectionKind.INSTANT, throw_number=1, what="", after='{"instant": "noon", "time_s": 1}'),
        CorrectionAsked(
            kind=CorrectionKind.INSTANT, throw_number=1, what="", after='{"instant": "lift", "time_s": NaN}'
        ),
        CorrectionAsked(kind=CorrectionKind.LANDMARK, throw_number=1, what="", after="[]"),
    ],
)
def test_what_does_not_fit_is_never_kept(kept: tuple[ReviewTools, str], asked: CorrectionAsked) -> None:
    tools, visit_id = kept
    with pytest.raises(CorrectionError):
        add_checked_correction(tools, visit_id, asked, 0, STAMP)
    assert tools.record.entries.find_entries(CorrectionEntry, visit_id=visit_id) == ()


def test_a_visit_without_workings_says_so(record: RecordTools, tmp_path: Path) -> None:
    parcel = make_kept_parcel(tmp_path / "bare")
    bare = replace(parcel, files=tuple(file for file in parcel.files if file.kind is not FileKind.WORKINGS))
    visit_id = keep_visit(record, add_child(record), bare, STAMP).visit_id
    with pytest.raises(RecordError, match="without the workings"):
        see_review(build_review_tools(record), visit_id)


def read_body(response: object) -> bytes:
    async def gather() -> bytes:
        parts = [part async for part in response.body_iterator]  # type: ignore[attr-defined]
        return b"".join(part if isinstance(part, bytes) else part.encode() for part in parts)

    return asyncio.run(gather())


@pytest.mark.parametrize(
    ("asked", "status", "span"),
    [
        ("", 200, (0, None)),
        ("bytes=0-99", 206, (0, 100)),
        ("bytes=100-", 206, (100, None)),
        ("bytes=-50", 206, (-50, None)),
        ("bytes=0-9999999", 206, (0, None)),
        ("bytes=0-9,20-29", 200, (0, None)),
        ("bytes=9-3", 200, (0, None)),
        ("pieces=0-9", 200, (0, None)),
        ("bytes=x-", 200, (0, None)),
    ],
)
def test_parts_of_a_sealed_file(kept: tuple[ReviewTools, str], asked: str, status: int, span: tuple[int, int]) -> None:
    tools, visit_id = kept
    file = tools.record.entries.find_entries(FileEntry, visit_id=visit_id, kind=str(FileKind.WORKINGS))[0]
    whole = b"".join(tools.record.vault.read_range(file.file_id))
    answer = answer_range(tools.record.vault, file.file_id, "video/mp4", asked)
    body = read_body(answer)
    assert answer.status_code == status
    assert body == whole[span[0] : span[1]]
    assert answer.headers["content-length"] == str(len(body))
    if status == 206:
        first = span[0] if span[0] >= 0 else len(whole) + span[0]
        assert answer.headers["content-range"] == f"bytes {first}-{first + len(body) - 1}/{len(whole)}"


@pytest.mark.parametrize("asked", ["bytes=999999999-", "bytes=-0"])
def test_a_part_behind_the_end_is_416_with_the_size(kept: tuple[ReviewTools, str], asked: str) -> None:
    tools, visit_id = kept
    file = tools.record.entries.find_entries(FileEntry, visit_id=visit_id, kind=str(FileKind.WORKINGS))[0]
    answer = answer_range(tools.record.vault, file.file_id, "video/mp4", asked)
    assert answer.status_code == 416
    assert answer.headers["content-range"] == f"bytes */{file.size_bytes}"


def test_spans_of_an_empty_file() -> None:
    check: Callable[[str], object] = lambda asked: find_span(asked, 0)  # noqa: E731
    assert check("bytes=0-") == (0, 0)
    assert json.dumps(check("bytes=-5")) == "[0, 0]"
