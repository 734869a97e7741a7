"""Papers about a kept visit.

Sides: a report written to JSON, read back whole and written again, compared word for word; the papers of the report
read back against those of the report that was never written; the use case on the record in memory and sealed, with the
double of the paper maker; consent and trail; the command as a person uses it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from elbowroom.adapters.report.json_file import render_report_json
from elbowroom.adapters.report.whole import read_whole_report
from elbowroom.bootstrap_papers import PackagedPapers
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ConsentError, DamageError, RecordError, ResultError
from elbowroom.service.athletes import AthleteFacts, add_athlete_version, list_trail, withdraw_consent
from elbowroom.service.handing_out import find_next_steps, make_papers, read_day
from elbowroom.service.intake_types import DrillPlanEntry, IntakeEntry
from elbowroom.service.keeping import keep_visit
from elbowroom.service.paper_doubles import PlainPaperMaker
from elbowroom.service.paper_values import NextSteps, PaperKind, PaperOrder
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import Act, Purpose
from tests.contracts.test_family_page import make_moving_report
from tests.journeys.test_record_commands import Clinic, begin, write_visit
from tests.makers.pdfs import open_pdf, read_words
from tests.makers.record import CHILD, STAMP, add_child, begin_clinic, make_parcel
from tests.makers.record_places import make_memory_record, make_sealed_record

PLACES: dict[str, Callable[[Path], RecordTools]] = {
    "in memory": lambda folder: make_memory_record(),
    "sealed": make_sealed_record,
}


@pytest.fixture(params=PLACES)
def tools(request: pytest.FixtureRequest, tmp_path: Path) -> RecordTools:
    tools = PLACES[request.param](tmp_path / "record")
    begin_clinic(tools)
    return tools


def keep_one(tools: RecordTools, folder: Path) -> tuple[str, str, PlainPaperMaker]:
    """Keep a visit and return athlete, visit and a maker that knows its report."""
    athlete_id = add_child(tools)
    visit = keep_visit(tools, athlete_id, make_parcel(folder / "visit"), STAMP)
    content = (folder / "visit" / "report.json").read_bytes()
    return athlete_id, visit.visit_id, PlainPaperMaker(reports={content: make_moving_report()})


def list_given(tools: RecordTools, athlete_id: str) -> list[str]:
    return [entry.what for entry in list_trail(tools, athlete_id) if entry.act is Act.GAVE]


def test_report_comes_back_whole() -> None:
    written = render_report_json(make_moving_report())
    again = render_report_json(read_whole_report(written.encode()))
    first, second = json.loads(written), json.loads(again)
    assert first.pop("pictures")
    assert second.pop("pictures") == []
    assert second == first


def test_report_without_loads_and_motions_comes_back() -> None:
    bare = replace(make_moving_report(), loads=Absent(reason="Loads were not asked for."), motions=(), pictures=())
    assert render_report_json(read_whole_report(render_report_json(bare).encode())) == render_report_json(bare)


@pytest.mark.parametrize("content", [b"", b"{}", b"[]", b"\xff\xfe", b'{"made_on": "2026-05-16"}'])
def test_what_is_no_report_is_refused(content: bytes) -> None:
    with pytest.raises(DamageError, match="screen the visit again"):
        read_whole_report(content)


def test_report_with_a_part_missing_is_refused() -> None:
    raw = json.loads(render_report_json(make_moving_report()))
    del raw["curves"][0]["lines"][0]["values"]
    with pytest.raises(DamageError, match="screen the visit again"):
        read_whole_report(json.dumps(raw).encode())


@pytest.mark.parametrize("kind", list(PaperKind))
def test_papers_of_a_kept_report_say_the_same(kind: PaperKind) -> None:
    maker, fresh = PackagedPapers(), make_moving_report()
    kept = maker.read_report(render_report_json(fresh).encode())
    said = [maker.render_paper(report, kind, PaperOrder(), NextSteps()) for report in (fresh, kept)]
    if kind is PaperKind.NOTE:
        assert said[0] == said[1]
    else:
        assert read_words(said[0]) == read_words(said[1])
        assert len(open_pdf(said[0]).pages) == len(open_pdf(said[1]).pages)


def test_joints_come_back_to_a_tenth_of_a_millimetre() -> None:
    fresh = make_moving_report()
    kept = read_whole_report(render_report_json(fresh).encode())
    assert np.abs(kept.motions[0].joints_m - fresh.motions[0].joints_m).max() <= 0.5e-4 + 1e-12


def test_papers_are_given_and_noted(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id, visit_id, maker = keep_one(tools, tmp_path)
    order = PaperOrder(kinds=(PaperKind.FAMILY, PaperKind.NOTE), language="es")
    papers = make_papers(tools, maker, visit_id, order, STAMP)
    assert [paper.name for paper in papers] == ["family.txt", "note.txt"]
    # The name is the record's, not the one in the report.
    assert papers[0].content == f"family of {CHILD.name} in es on letter: ".encode()
    assert list_given(tools, athlete_id) == [f"visit {visit_id}, screening 1: family, note"]
    assert CHILD.name not in list_given(tools, athlete_id)[0]


def test_drills_that_were_kept_last_are_on_the_papers(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id, visit_id, maker = keep_one(tools, tmp_path)
    for version, names in ((1, ["Old drill"]), (2, ["Slide up the wall", "Lift and wait"])):
        chosen = [{"drill": name.lower(), "name": name, "dose": "2 sets of 8", "why": ""} for name in names]
        entry = DrillPlanEntry(
            id=tools.make_id(), athlete_id=athlete_id, version=version, made_on=STAMP.at.date(),
            content=json.dumps({"chosen": chosen}), recorded_at=STAMP.at, recorded_by=STAMP.by,
        )  # fmt: skip
        tools.entries.add_entries([entry])
    (paper,) = make_papers(tools, maker, visit_id, PaperOrder(), STAMP)
    assert paper.content.endswith(b"on letter: Slide up the wall, Lift and wait")
    steps = find_next_steps(tools, maker, athlete_id, PaperOrder(back_on=date(2026, 4, 1)), STAMP.at.date())
    figures = [maker.draw_drill(key, is_left_handed=True) for key in ("slide up the wall", "lift and wait")]
    assert [drill.figure for drill in steps.drills] == figures
    assert steps.retest_on == date(2026, 4, 1)


def test_warning_sign_takes_the_drills_off_the_papers(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id, _, maker = keep_one(tools, tmp_path)
    held = IntakeEntry(
        id=tools.make_id(), athlete_id=athlete_id, version=1, taken_on=STAMP.at.date(), height_m=1.5, content="{}",
        signs=json.dumps([["popped", "it popped"]]), recorded_at=STAMP.at, recorded_by=STAMP.by,
    )  # fmt: skip
    tools.entries.add_entries([held])
    steps = find_next_steps(tools, maker, athlete_id, PaperOrder(), STAMP.at.date())
    assert (steps.is_held, steps.drills) == (True, ())


def test_library_draws_its_drills_without_words() -> None:
    figure = PackagedPapers().draw_drill("feet_set_throw")
    assert figure.startswith("<svg")
    assert "<text" not in figure
    assert PackagedPapers().draw_drill("nothing") == ""


def test_drill_of_a_left_hander_is_mirrored_step_by_step() -> None:
    right, left = (PackagedPapers().draw_drill("feet_set_throw", is_left) for is_left in (False, True))
    heads = [[float(x) for x in re.findall(r'<circle cx="([\d.]+)"', figure)] for figure in (right, left)]
    # Each picture is 250 wide and mirrored by itself: the places of a head sum to that.
    assert len(heads[0]) >= 3
    assert [one + other for one, other in zip(*heads, strict=True)] == pytest.approx([250.0] * len(heads[0]), abs=0.11)


def test_days_of_a_form() -> None:
    assert read_day("2026-05-16") == date(2026, 5, 16)
    assert isinstance(read_day(""), Absent)
    with pytest.raises(ResultError, match="write it as 2026-05-16"):
        read_day("16/5/26")


def test_papers_name_the_athlete_as_the_record_does_now(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id, visit_id, maker = keep_one(tools, tmp_path)
    facts = AthleteFacts(name="Zoë Berg", born_on=CHILD.born_on, hand=CHILD.hand)
    add_athlete_version(tools, athlete_id, facts, 1, STAMP)
    (paper,) = make_papers(tools, maker, visit_id, PaperOrder(), STAMP)
    assert b"of Zo\xc3\xab Berg in en" in paper.content


def test_without_consent_for_care_nothing_is_given(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id, visit_id, maker = keep_one(tools, tmp_path)
    withdraw_consent(tools, athlete_id, Purpose.CARE, date(2026, 3, 2), STAMP)
    with pytest.raises(ConsentError, match="No consent for care holds"):
        make_papers(tools, maker, visit_id, PaperOrder(), STAMP)
    assert list_given(tools, athlete_id) == []


def test_paper_that_cannot_be_made_is_not_noted(tools: RecordTools, tmp_path: Path) -> None:
    athlete_id, visit_id, _ = keep_one(tools, tmp_path)
    with pytest.raises(DamageError):
        make_papers(tools, PackagedPapers(), visit_id, PaperOrder(), STAMP)
    assert list_given(tools, athlete_id) == []


def test_unknown_visit_is_refused(tools: RecordTools) -> None:
    with pytest.raises(RecordError, match="no such visit"):
        make_papers(tools, PlainPaperMaker(), "nothing", PaperOrder(), STAMP)


def test_doubles_agree_with_the_packaged_maker_on_names() -> None:
    assert [Path(PlainPaperMaker().name_file(kind)).stem for kind in PaperKind] == [
        Path(PackagedPapers().name_file(kind)).stem for kind in PaperKind
    ]


def test_command_writes_papers_of_a_kept_visit(tmp_path: Path) -> None:
    clinic, visit = Clinic(tmp_path), write_visit(tmp_path)
    athlete_id = begin(clinic)
    visit_id = clinic.say("keep", str(visit), "--athlete", athlete_id).split()[1].rstrip(",")
    assert "clinical.pdf, family.pdf, note.txt" in clinic.say("papers", visit_id, "--units", "in").replace(
        "family.pdf, clinical.pdf", "clinical.pdf, family.pdf"
    )
    folder = tmp_path / "elbowroom-papers"
    assert "Zoe Angstroem" in read_words((folder / "family.pdf").read_bytes())
    assert "Athlete: Zoe Angstroem" in (folder / "note.txt").read_text("utf-8")
    assert "--replace" in clinic.refuse("papers", visit_id)
    clinic.say("papers", visit_id, "--papers", "family", "--language", "es", "--replace")
    assert [path.name for path in folder.iterdir()] == ["family.pdf"]
    assert "Tu tiro" in read_words((folder / "family.pdf").read_bytes())
    assert "gave a copy" in clinic.say("trail", athlete_id)
    assert "no such visit" in clinic.refuse("papers", "abc", "--out", "other")
    assert not (tmp_path / "other").exists()
    clinic.say("withdraw", athlete_id, "--for", "care")
    assert "No consent for care" in clinic.refuse("papers", visit_id, "--out", "other")
    assert not (tmp_path / "other").exists()


def test_report_read_back_is_the_same_tree() -> None:
    fresh = make_moving_report()
    kept = read_whole_report(render_report_json(fresh).encode())
    assert isinstance(kept, ScreeningReport)
    assert [item.finding.definition.key for item in kept.priorities] == [
        item.finding.definition.key for item in fresh.priorities
    ]
    assert [finding.typical for finding in kept.findings] == [finding.typical for finding in fresh.findings]
    assert kept.cautions == fresh.cautions
