"""The clinic's own part of the record, in memory, in a sealed file and on a server.

Sides: the same use cases on all three places; verdicts of a re-judged screening against the judge asked directly; the
text of a changed table against the packaged one; lists against what was added.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

import pytest

from elbowroom import bootstrap_pages
from elbowroom.core.findings.judge import judge_measure
from elbowroom.core.findings.phrases import name_verdict
from elbowroom.core.findings.types import DecisionRule, Tolerance
from elbowroom.core.plan.retest import Change
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.errors import ConflictError, DamageError, RecordError, TableError
from elbowroom.service.athletes import see_athlete
from elbowroom.service.clinic_settings import (
    change_retention,
    change_settings,
    find_settings,
    get_clinic,
    list_clinic_versions,
    list_settings,
)
from elbowroom.service.clinic_tools import ClinicTools, get_screening, read_screening
from elbowroom.service.courses import see_athlete_sheet, see_course
from elbowroom.service.days import add_day_place, add_review, remove_day_place, see_day
from elbowroom.service.demo_club import DEMO_NOTE, forget_demo_club, list_demo_athletes
from elbowroom.service.demo_visits import INVENTED
from elbowroom.service.findings import has_pictures, order_for_reading, read_picture, see_findings, see_why
from elbowroom.service.forgetting import check_forgotten
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import Act, FindingEntry, TrailEntry
from elbowroom.service.rejudging import judge_kept_visit
from elbowroom.service.tolerances import LimitChange, change_limits, find_table_text, restore_limits, see_tolerances
from tests.makers.clinic import make_small_club
from tests.makers.record import STAMP, make_stamp
from tests.makers.record_places import make_memory_record, make_sealed_record, make_server_record

ELBOW = "elbow_to_shoulder_line_at_foot_contact"
TODAY = STAMP.at.date()


@pytest.fixture(params=["memory", "sealed file", "server"])
def tools(request: pytest.FixtureRequest, tmp_path: Path) -> RecordTools:
    folder = tmp_path / uuid4().hex
    folder.mkdir()
    if request.param == "memory":
        return make_memory_record()
    if request.param == "sealed file":
        return make_sealed_record(folder)
    return make_server_record(folder, request.getfixturevalue("postgres_address"))


@pytest.fixture
def club(tools: RecordTools) -> tuple[ClinicTools, tuple[str, ...]]:
    return make_small_club(tools)


def find_place(clinic: ClinicTools, measure: str = ELBOW) -> int:
    return next(place for place, row in enumerate(see_tolerances(clinic).rows) if row.measure == measure)


def change_elbow(clinic: ClinicTools, lower: str, known: int = 0, reason: str = "trial") -> int:
    change = LimitChange(place=find_place(clinic), lower=lower, upper="", aim="30", reason=reason)
    return change_limits(clinic, change, known, make_stamp(1))


def test_club_comes_through_the_ordinary_ways_and_says_that_it_is_invented(
    club: tuple[ClinicTools, tuple[str, ...]],
) -> None:
    clinic, ids = club
    assert set(list_demo_athletes(clinic.record)) == set(ids)
    assert len(ids) == 4
    for athlete_id in ids:
        story = see_athlete(clinic.record, athlete_id, STAMP)
        assert story.versions[-1].note == DEMO_NOTE
        for visit in story.visits:
            assert visit.kind.endswith("(invented)")
            assert INVENTED in read_screening(clinic, get_screening(clinic.record, visit.id)).cautions
    with pytest.raises(RecordError, match="already"):
        bootstrap_pages.add_demo_club(clinic.record, STAMP, lambda _done, _count: None, 2)


def test_club_is_the_same_on_every_record_and_can_be_forgotten(club: tuple[ClinicTools, tuple[str, ...]]) -> None:
    clinic, ids = club
    twin, twin_ids = make_small_club(make_memory_record())
    names = [
        [see_athlete(one.record, item, STAMP).versions[-1].name for item in all_ids]
        for one, all_ids in ((clinic, ids), (twin, twin_ids))
    ]
    assert names[0] == names[1]
    assert forget_demo_club(clinic.record, make_stamp(2)) == len(ids)
    for athlete_id in ids:
        check_forgotten(clinic.record, athlete_id)


def test_kept_numbers_are_those_of_the_report(club: tuple[ClinicTools, tuple[str, ...]]) -> None:
    clinic, ids = club
    line = clinic.record.days.list_athlete_visits(ids[0])[0]
    sheet = see_findings(clinic, line.visit_id, 0, STAMP)
    kept = {
        item.measure: item for item in clinic.record.entries.find_entries(FindingEntry, screening_id=sheet.screening.id)
    }
    for finding in sheet.report.findings:
        entry = kept[finding.definition.key]
        assert entry.verdict == str(name_verdict(finding.verdict))
        again = judge_measure(finding.definition, finding.throws, finding.tolerance, sheet.report.rule)
        assert name_verdict(again.verdict) is name_verdict(finding.verdict)
        if isinstance(finding.typical, Uncertain):
            assert isinstance(again.typical, Uncertain)
            assert again.typical == finding.typical
            assert entry.value == finding.typical.value
            assert entry.standard == pytest.approx(finding.typical.standard, rel=1e-15)


def test_day_shows_who_is_expected_who_came_and_what_waits(club: tuple[ClinicTools, tuple[str, ...]]) -> None:
    clinic, ids = club
    day = see_day(clinic.record, TODAY, STAMP)
    assert {line.athlete_id for line in day.seen} == set(ids[:3])
    assert {line.athlete_id for line in day.expected} == {ids[3]}
    assert all(not line.is_reviewed for line in day.waiting)
    assert set(day.seen) <= set(day.waiting)
    remove_day_place(clinic.record, ids[3], TODAY, STAMP)
    assert see_day(clinic.record, TODAY, STAMP).expected == ()
    tomorrow = TODAY + timedelta(days=1)
    add_day_place(clinic.record, ids[0], tomorrow, " 9:30 ", STAMP)
    (place,) = see_day(clinic.record, tomorrow, STAMP).expected
    assert (place.athlete_id, place.note, place.last_visit) == (ids[0], "9:30", TODAY)


def test_what_was_looked_through_no_longer_waits(club: tuple[ClinicTools, tuple[str, ...]]) -> None:
    clinic, _ = club
    line = see_day(clinic.record, TODAY, STAMP).waiting[0]
    screening = get_screening(clinic.record, line.visit_id)
    add_review(clinic.record, screening.id, "fine", STAMP)
    waiting = see_day(clinic.record, TODAY, STAMP).waiting
    assert line.visit_id not in {item.visit_id for item in waiting}
    with pytest.raises(ConflictError):
        add_review(clinic.record, screening.id, "again", STAMP)
    with pytest.raises(RecordError, match="no such screening"):
        add_review(clinic.record, "nothing", "", STAMP)


def test_every_look_is_in_the_trail(club: tuple[ClinicTools, tuple[str, ...]]) -> None:
    clinic, ids = club
    line = clinic.record.days.list_athlete_visits(ids[1])[0]
    see_athlete_sheet(clinic, ids[1], STAMP)
    see_why(clinic, line.visit_id, ELBOW, 0, STAMP)
    trail = clinic.record.entries.find_entries(TrailEntry, athlete_id=ids[1])
    looks = [entry.what for entry in trail if entry.act is Act.LOOKED]
    assert sorted(looks) == ["athlete", f"visit {line.visit_id}, findings of screening 1"]


def test_changed_limit_changes_the_verdict_and_both_versions_stay(
    club: tuple[ClinicTools, tuple[str, ...]],
) -> None:
    clinic, ids = club
    line = clinic.record.days.list_athlete_visits(ids[0])[0]
    before = see_why(clinic, line.visit_id, ELBOW, 0, STAMP)
    assert isinstance(before.finding.typical, Uncertain)
    assert judge_kept_visit(clinic, line.visit_id, STAMP).is_new is False
    version = change_elbow(clinic, f"{before.finding.typical.value + 20:.1f}")
    kept = judge_kept_visit(clinic, line.visit_id, make_stamp(2))
    assert (kept.version, kept.is_new) == (2, True)
    after = see_why(clinic, line.visit_id, ELBOW, 0, STAMP)
    assert after.finding.typical == before.finding.typical
    assert str(name_verdict(after.finding.verdict)) == "beyond"
    assert name_verdict(before.finding.verdict) is not name_verdict(after.finding.verdict)
    assert isinstance(after.finding.tolerance, Tolerance)
    assert after.finding.tolerance.version == f"clinic {version}"
    assert "trial" in after.finding.tolerance.source
    assert [entry.verdict for _, entry in after.versions] == [str(name_verdict(before.finding.verdict)), "beyond"]
    assert see_why(clinic, line.visit_id, ELBOW, 1, STAMP).finding == before.finding
    others = [item for item in after.sheet.report.findings if item.definition.key != ELBOW]
    assert [str(name_verdict(item.verdict)) for item in others] == [
        str(name_verdict(item.verdict)) for item in before.sheet.report.findings if item.definition.key != ELBOW
    ]
    assert judge_kept_visit(clinic, line.visit_id, STAMP).is_new is False


def test_limits_have_a_history_and_go_back(club: tuple[ClinicTools, tuple[str, ...]]) -> None:
    clinic, _ = club
    packaged = find_table_text(clinic)
    change_elbow(clinic, "-5,5", reason="our own throwers")
    sheet = see_tolerances(clinic)
    place = find_place(clinic)
    assert (sheet.version, sheet.own_places, sheet.rows[place].lower) == (1, frozenset({place}), -5.5)
    assert (sheet.history[0].changed, sheet.history[0].reason) == (
        f"{ELBOW}, 0 to 120 years: lower -10 to -5.5, aim 0 to 30, in deg.",
        "our own throwers",
    )
    with pytest.raises(ConflictError):
        change_elbow(clinic, "-6", known=0)
    restore_limits(clinic, place, 1, make_stamp(3))
    sheet = see_tolerances(clinic)
    assert (sheet.version, sheet.own_places) == (2, frozenset())
    assert sheet.rows == clinic.tables.read_rows(packaged)


@pytest.mark.parametrize(
    ("lower", "reason", "error", "words"),
    [
        ("-5", " ", RecordError, "Say why"),
        ("40", "a", TableError, "aim"),
        ("", "a", TableError, "both empty"),
        ("low", "a", TableError, "lower"),
    ],
    ids=["no reason", "aim outside", "no limit", "no number"],
)
def test_impossible_limits_are_refused_and_nothing_changes(
    tools: RecordTools, lower: str, reason: str, error: type[Exception], words: str
) -> None:
    clinic = bootstrap_pages.build_clinic(tools)
    with pytest.raises(error, match=words):
        change_elbow(clinic, lower, reason=reason)
    assert see_tolerances(clinic).version == 0


def test_settings_have_versions_and_move_the_verdicts(club: tuple[ClinicTools, tuple[str, ...]]) -> None:
    clinic, ids = club
    line = clinic.record.days.list_athlete_visits(ids[0])[0]
    start = find_settings(clinic.record)
    assert (start.version, start.rule, start.lengths) == (0, DecisionRule(), LengthUnit.CENTIMETRES)
    rule = DecisionRule(beyond_from_probability=0.51, within_to_probability=0.49)
    change_settings(clinic.record, replace(start, rule=rule, lengths=LengthUnit.INCHES), "bolder", STAMP)
    assert (find_settings(clinic.record).rule, find_settings(clinic.record).lengths) == (rule, LengthUnit.INCHES)
    assert [entry.reason for entry in list_settings(clinic.record)] == ["bolder"]
    judge_kept_visit(clinic, line.visit_id, STAMP)
    report = see_findings(clinic, line.visit_id, 0, STAMP).report
    assert report.rule == rule
    for finding in order_for_reading(report):
        probability = getattr(finding.verdict, "probability_beyond", None)
        assert probability is not None
        word = "beyond" if probability >= 0.51 else "within" if probability <= 0.49 else "too close to call"
        assert str(name_verdict(finding.verdict)) == word
    with pytest.raises(ConflictError):
        change_settings(clinic.record, start, "late", STAMP)


@pytest.mark.parametrize(("beyond", "within"), [(0.5, 0.1), (1.0, 0.1), (0.9, 0.5), (0.9, 0.0)])
def test_rules_that_could_not_decide_are_refused(tools: RecordTools, beyond: float, within: float) -> None:
    rule = DecisionRule(beyond_from_probability=beyond, within_to_probability=within)
    with pytest.raises(RecordError, match="between"):
        change_settings(tools, replace(find_settings(tools), rule=rule), "", STAMP)


def test_retention_changes_by_versions(club: tuple[ClinicTools, tuple[str, ...]]) -> None:
    clinic, _ = club
    change_retention(clinic.record, 10, 21, get_clinic(clinic.record).version, STAMP)
    assert [(item.version, item.keep_years) for item in list_clinic_versions(clinic.record)] == [(1, 0), (2, 10)]
    with pytest.raises(RecordError, match="0 to 120"):
        change_retention(clinic.record, -1, 0, 2, STAMP)


def test_course_holds_every_visit_and_judges_the_change(club: tuple[ClinicTools, tuple[str, ...]]) -> None:
    clinic, ids = club
    for athlete_id in ids:
        sheet = see_athlete_sheet(clinic, athlete_id, STAMP)
        assert [step.made_on for step in sheet.growth] == sorted(line.made_on for line in sheet.visits)
        _, course = see_course(clinic, athlete_id, ELBOW, STAMP)
        assert [point.visit.made_on for point in course.points] == [step.made_on for step in sheet.growth]
        first, last = course.points[0].finding.typical, course.points[-1].finding.typical
        if len(course.points) < 2:
            assert isinstance(course.since_first, Absent)
            continue
        assert isinstance(first, Uncertain)
        assert isinstance(last, Uncertain)
        assert isinstance(course.since_first, Change)
        assert course.since_first.change.value == pytest.approx(last.value - first.value)
    with pytest.raises(RecordError, match="No visit"):
        see_course(clinic, ids[0], "nothing", STAMP)


def test_pictures_come_from_the_kept_page_by_their_digest(club: tuple[ClinicTools, tuple[str, ...]]) -> None:
    clinic, ids = club
    line = clinic.record.days.list_athlete_visits(ids[0])[0]
    assert has_pictures(clinic, line.visit_id) is False
    with pytest.raises(DamageError, match="no page"):
        read_picture(clinic, line.visit_id, "0" * 64)
