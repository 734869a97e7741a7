"""The family page as PDF.

Sides: pypdf reads structure tree, text, language and metadata of what the typesetter wrote; one page over many drawn
inputs; readability by the formula of Kincaid et al. 1975, whose count is held against words counted by hand; the
messages held against the verdicts of the findings; the figure's places against a projection worked out by hand.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from elbowroom.adapters.report.papers import typeset
from elbowroom.adapters.report.papers.family import FAMILY_WORDS, NOTHING, crop_name, render_family_page
from elbowroom.adapters.report.papers.figure import DRAWN, SHINE, draw_body, see_body
from elbowroom.core.findings.report import MotionTrack, ScreeningReport, ThrowingHand
from elbowroom.core.findings.types import Beyond, TooCloseToCall, Within
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import OTHER_SIDE, Joint
from elbowroom.core.measures.registry import MEASURES
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ResultError
from elbowroom.service.family_page import build_family_page
from elbowroom.service.paper_values import BodyPart, FamilyDrill, NextSteps, Paper, PaperChoice
from elbowroom.service.plain_words import CAUTIONS, SIGNS, STEMS, WHEN
from elbowroom.service.wording_types import EnglishWording
from tests.makers.pdfs import list_headings, open_pdf, read_metadata, read_words, walk_tags
from tests.makers.readability import count_english_syllables, measure_english_grade
from tests.makers.reports import make_report
from tests.makers.throws import find_true_instants, make_throw

HARDEST_GRADE = 6.9
"""Below grade 7, in which pupils of the United States are 12 to 13."""
DRILLS = tuple(FamilyDrill(name=f"Drill {number}", dose="3 times a week, 10 throws each") for number in range(1, 5))

NOTHING_AGREED = NextSteps()


@cache
def make_moving_report() -> ScreeningReport:
    """Return the invented report with the joints of a made throw."""
    report, times = make_report(), np.arange(0.0, 2.0, 1 / 240)
    shift = report.throws[0].instants.find(InstantName.FOOT_CONTACT).value
    shift -= find_true_instants()[InstantName.FOOT_CONTACT]
    track = MotionTrack(
        throw=1, times_s=times + shift, joints_m=make_throw(times), standards_m=np.zeros((len(times), len(Joint)))
    )
    return replace(report, motions=(track,))


def make_page(report: ScreeningReport, steps: NextSteps = NOTHING_AGREED, paper: Paper = Paper.LETTER) -> bytes:
    page = build_family_page(report, steps, LengthUnit.CENTIMETRES)
    return render_family_page(page, report, PaperChoice(paper=paper), EnglishWording())


@pytest.mark.parametrize(("paper", "size_pt"), [(Paper.LETTER, (612, 792)), (Paper.A4, (595.28, 841.89))])
def test_page_is_one_tagged_sheet(paper: Paper, size_pt: tuple[float, float]) -> None:
    content = make_page(make_moving_report(), paper=paper)
    pdf = open_pdf(content)
    root = pdf.trailer["/Root"]
    assert len(pdf.pages) == 1
    assert [float(side) for side in pdf.pages[0].mediabox[2:]] == pytest.approx(size_pt, abs=0.1)
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert pdf.metadata is not None
    assert pdf.metadata.title == "Throwing check: page for the family"
    assert "pdfuaid:part>1<" in read_metadata(content)


def test_headings_go_down_one_level_at_a_time() -> None:
    levels = list_headings(make_page(make_moving_report()))
    assert levels == [1, 2, 2, 2, 2, 2]


def test_every_figure_says_what_it_shows() -> None:
    tags = [tag for tag in walk_tags(make_page(make_moving_report())) if tag.kind == "Figure"]
    assert len(tags) == 4
    assert all("made from your own throw" in tag.alt for tag in tags)


def test_text_is_read_in_order() -> None:
    words = read_words(make_page(make_moving_report()))
    parts = ["title", "good", "work", "drills", "signs", "back"]
    places = [words.index(FAMILY_WORDS[part]) for part in parts]
    assert places == sorted(places)
    assert "Player 07" in words
    for text in (*SIGNS, *CAUTIONS):
        assert text in words


def test_metadata_holds_no_name_and_no_place() -> None:
    report = make_moving_report()
    said = read_metadata(make_page(report))
    assert report.athlete.name not in said
    assert not re.search(r"/(?:home|root|work|tmp|usr)|\\\\|CreationDate|ModDate", said)


def test_messages_agree_with_verdicts() -> None:
    report = make_moving_report()
    page = build_family_page(report, NextSteps(), LengthUnit.CENTIMETRES)
    first = next(item.finding for item in report.priorities if isinstance(item.finding.verdict, Beyond))
    assert first.definition.key.startswith("elbow_to_shoulder_line")
    assert page.work[0].title == "Elbow height"
    assert "low" in page.work[0].says
    assert page.work[0].cue == STEMS["elbow_to_shoulder_line"].low_cue
    titles = {words.title: stem for stem, words in STEMS.items()}
    for items, kind in ((page.good, Within), (page.work, Beyond)):
        for item in items:
            found = [f for f in report.findings if f.definition.key.startswith(titles[item.title])]
            assert any(isinstance(finding.verdict, kind) for finding in found)
    assert len({item.title for item in (*page.good, *page.work)}) == len(page.good) + len(page.work)


def test_page_says_nothing_of_loads() -> None:
    words = read_words(make_page(make_moving_report())).lower()
    for word in ("load", "n m", "varus", "moment", "torque", "injur", "risk", "danger"):
        assert word not in words


def list_sentences() -> list[str]:
    """Every sentence that a family page can hold in plain words."""
    sentences = [*SIGNS, *CAUTIONS, NOTHING, *(FAMILY_WORDS[key] + "." for key in FAMILY_WORDS if key != "try")]
    for words in STEMS.values():
        for said in (words.good, words.low, words.high):
            sentences += [said.replace("{when}", when) for when in (WHEN.values() if "{when}" in said else [""])]
        sentences += [words.low_cue, words.high_cue]
    return sentences


def test_all_plain_words_read_like_those_for_twelve_years() -> None:
    assert measure_english_grade(" ".join(list_sentences())) < HARDEST_GRADE


LONGEST_SENTENCE, MOST_SYLLABLES = 16, 3
"""An average hides one hard sentence among easy ones, so each is held to these as well (our choice)."""


def test_no_single_sentence_is_long_and_no_word_hard() -> None:
    sentences = [part for text in list_sentences() for part in re.split(r"(?<=[.!?:]) ", text)]
    assert [part for part in sentences if len(part.split()) > LONGEST_SENTENCE] == []
    words = {word for part in sentences for word in re.findall(r"[A-Za-z]+", part)}
    assert {word for word in words if count_english_syllables(word) > MOST_SYLLABLES} == set()


def test_page_reads_like_one_for_twelve_years() -> None:
    report = make_moving_report()
    page = build_family_page(report, NextSteps(), LengthUnit.CENTIMETRES)
    items = [part for item in (*page.good, *page.work) for part in (item.title + ".", item.says, item.cue)]
    assert measure_english_grade(" ".join([*page.opening, *items, *page.signs, *page.cautions])) < HARDEST_GRADE


def test_measure_of_readability_by_hand() -> None:
    counted = {"shoulders": 2, "line": 1, "little": 2, "elbow": 2, "bend": 1, "clinician": 3, "foot": 1, "moved": 1}
    assert {word: count_english_syllables(word) for word in counted} == counted
    # 6 words, 7 syllables, 2 sentences: 0.39 * 3 + 11.8 * 7 / 6 - 15.59.
    assert measure_english_grade("Land first. Then turn your elbow.") == pytest.approx(-0.653, abs=1e-3)
    assert measure_english_grade("Cross-sectional investigations demonstrate considerable heterogeneity.") > 20


NAMES = st.text(st.characters(codec="latin-1", categories=("L", "N", "P", "S", "Zs")), min_size=1, max_size=400)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    name=NAMES,
    drills=st.lists(st.sampled_from(DRILLS), max_size=7),
    numbers=st.lists(st.floats(-180, 180), min_size=len(MEASURES), max_size=len(MEASURES)),
    paper=st.sampled_from(Paper),
    is_dated=st.booleans(),
)
def test_page_never_needs_a_second_sheet(
    name: str, drills: list[FamilyDrill], numbers: list[float], paper: Paper, is_dated: bool
) -> None:
    report = make_moving_report()
    kinds = (Within, Beyond, TooCloseToCall)
    findings = tuple(
        replace(finding, verdict=kinds[int(number) % 3](probability_beyond=0.5, reason="Drawn."))
        if not isinstance(finding.tolerance, Absent)
        else finding
        for finding, number in zip(report.findings, numbers, strict=True)
    )
    priorities = tuple(replace(item, finding=finding) for item in report.priorities[:1] for finding in findings)
    drawn = replace(report, athlete=replace(report.athlete, name=name), findings=findings, priorities=priorities)
    steps = NextSteps(
        drills=tuple(drills),
        retest_on=date(2026, 7, 1) if is_dated else NextSteps().retest_on,
        rules=("Throw at most 50 pitches a day.", "Rest for three days after that."),
    )
    assert len(open_pdf(make_page(drawn, steps, paper)).pages) == 1


@pytest.mark.parametrize("name", ["#strong[x] $a$ \\ `b` *c*", "<b>&amp;", "{when} %s", '"]}'])
def test_names_are_never_markup(name: str) -> None:
    report = make_moving_report()
    words = read_words(make_page(replace(report, athlete=replace(report.athlete, name=name))))
    assert " ".join(name.split()) in words


@pytest.mark.parametrize("name", ["דוד לוי", "محمد علي", "Ελένη Παππά", "Ñandú Ibáñez", "Иван Иванов"])
def test_names_of_other_scripts_are_shown(name: str) -> None:
    report = make_moving_report()
    words = read_words(make_page(replace(report, athlete=replace(report.athlete, name=name))))
    # A reader may give the words of a line from right to left in either order.
    assert all(part in words or part[::-1] in words for part in name.split())


def test_huge_name_is_cut() -> None:
    report = make_moving_report()
    words = read_words(make_page(replace(report, athlete=replace(report.athlete, name="Ab" * 5000))))
    assert crop_name("Ab" * 5000) in words.replace(" ", "").replace("\u00ad", "") or "…" in words
    assert len(crop_name("Ab" * 5000)) == 60


def test_letter_that_no_font_has_is_named() -> None:
    report = make_moving_report()
    with pytest.raises(ResultError, match=r"No font on this machine shows.*write the name in other letters"):
        make_page(replace(report, athlete=replace(report.athlete, name="Max \U000f0000")))


def test_missing_fonts_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    class NoFonts:
        def __init__(self, include_system_fonts: bool) -> None: ...

        def families(self) -> list[str]:
            return ["DejaVu Sans Mono"]

    monkeypatch.setattr(typeset.typst, "Fonts", NoFonts)
    with pytest.raises(ResultError, match="fonts Libertinus Serif, New Computer Modern are missing"):
        make_page(make_moving_report())


def test_words_that_cannot_fit_are_refused() -> None:
    drills = tuple(FamilyDrill(name="Very long words " * 200, dose="long " * 300) for _ in range(4))
    with pytest.raises(ResultError, match="does not fit on one sheet: shorten"):
        make_page(make_moving_report(), NextSteps(drills=drills))


def test_no_measures_at_all_is_said() -> None:
    nothing = Absent(reason="The clip is too dark.", advice="Film in good light.")
    report = make_moving_report()
    findings = tuple(
        replace(finding, typical=nothing, verdict=type(report.findings[-1].verdict)(absent=nothing))
        for finding in report.findings
    )
    words = read_words(make_page(replace(report, findings=findings, priorities=(), motions=())))
    assert "We could not measure your throw this time." in words
    assert "Film in good light." in words
    assert SIGNS[0] in words


def test_on_hold_nothing_is_to_be_tried() -> None:
    report = make_moving_report()
    steps = NextSteps(is_held=True)
    words = read_words(make_page(report, steps))
    assert FAMILY_WORDS["held"] in words
    assert FAMILY_WORDS["try"] not in words
    assert FAMILY_WORDS["drills_empty"] not in words
    assert all(item.cue == "" for item in build_family_page(report, steps, LengthUnit.CENTIMETRES).work)


def test_drills_are_shown_with_their_figures() -> None:
    figure = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 10"><circle cx="5" cy="5" r="4"/></svg>'
    drills = (FamilyDrill(name="Slide up the wall", dose="2 sets of 8", figure=figure), DRILLS[0])
    content = make_page(make_moving_report(), NextSteps(drills=drills, retest_on=date(2026, 7, 1)))
    assert "Slide up the wall" in [tag.alt for tag in walk_tags(content) if tag.kind == "Figure"]
    words = read_words(content)
    assert "2 sets of 8" in words
    assert "1 July 2026" in words


def test_figure_stands_as_the_joints_do() -> None:
    joints = make_throw(np.array([1.3]))[0]
    seen = see_body(joints, is_left_handed=False)
    # The target lies to the right of a right-hander's drawing, so the lead ankle stands right of the pivot ankle.
    assert seen.places[Joint.LEFT_ANKLE][0] > seen.places[Joint.RIGHT_ANKLE][0]
    heights = joints[:, 2]
    scale = (seen.places[Joint.LEFT_TOE][1] - seen.places[Joint.HEAD][1]) / (
        heights[Joint.HEAD] - heights[Joint.LEFT_TOE]
    )
    assert seen.places[:, 1] == pytest.approx(seen.places[Joint.HEAD][1] + (heights[Joint.HEAD] - heights) * scale)
    assert (seen.places >= 0).all()
    assert (seen.places[:, 1] <= DRAWN).all()


def test_left_hander_is_the_mirror_of_a_right_hander() -> None:
    joints = make_throw(np.array([1.3]))[0]
    mirrored = (joints * [1.0, -1.0, 1.0])[[OTHER_SIDE[joint] for joint in Joint]]
    right, left = see_body(joints, is_left_handed=False), see_body(mirrored, is_left_handed=True)
    turned = left.places[[OTHER_SIDE[joint] for joint in Joint]]
    assert left.size[0] - turned[:, 0] == pytest.approx(right.places[:, 0])
    assert turned[:, 1] == pytest.approx(right.places[:, 1])


@pytest.mark.parametrize("part", list(BodyPart))
def test_one_part_stands_out(part: BodyPart) -> None:
    plain = draw_body(make_throw(np.array([1.3]))[0], False, BodyPart.WHOLE).count(SHINE)
    drawn = draw_body(make_throw(np.array([1.3]))[0], False, part).count(SHINE)
    assert drawn == plain if part is BodyPart.WHOLE else drawn > plain


def test_left_handed_report_is_drawn() -> None:
    report = make_moving_report()
    left = replace(report, athlete=replace(report.athlete, hand=ThrowingHand.LEFT))
    assert len([tag for tag in walk_tags(make_page(left)) if tag.kind == "Figure"]) == 4
