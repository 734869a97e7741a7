"""The clinical report as PDF, the chart note as text, and both written beside the report.

Sides: pypdf reads structure tree, text and metadata; the shares of the budgets against sums of squares worked out here;
the note held against the findings it was made of; files read back from the folder.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from elbowroom.adapters.report.papers.budgets import LEAST_SHARE, build_budget_rows, list_shares
from elbowroom.adapters.report.papers.clinical import render_clinical_report
from elbowroom.bootstrap_papers import PAPER_NAMES, Wish, describe_screening, write_report
from elbowroom.core.findings.phrases import name_verdict
from elbowroom.core.findings.types import NotMeasured
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.phrases import LengthUnit, phrase_uncertain
from elbowroom.core.quantities.types import Absent, Source, Uncertain
from elbowroom.errors import ResultError
from elbowroom.service.chart_note import WIDTH, wrap_line, write_chart_note
from elbowroom.service.paper_values import FamilyDrill, NextSteps, Paper, PaperChoice, PaperKind
from elbowroom.service.wording_types import EnglishWording
from tests.contracts.test_family_page import make_moving_report
from tests.makers.pdfs import list_headings, open_pdf, read_metadata, read_words, walk_tags

CM, INCHES, ENGLISH = LengthUnit.CENTIMETRES, LengthUnit.INCHES, EnglishWording()


@cache
def make_paper(paper: Paper = Paper.LETTER, lengths: LengthUnit = CM) -> bytes:
    return render_clinical_report(make_moving_report(), PaperChoice(paper=paper, lengths=lengths), ENGLISH)


@pytest.mark.parametrize(("paper", "size_pt"), [(Paper.LETTER, (612, 792)), (Paper.A4, (595.28, 841.89))])
def test_report_is_tagged(paper: Paper, size_pt: tuple[float, float]) -> None:
    pdf = open_pdf(make_paper(paper))
    root = pdf.trailer["/Root"]
    for page in pdf.pages:
        assert [float(side) for side in page.mediabox[2:]] == pytest.approx(size_pt, abs=0.1)
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert "pdfuaid:part>1<" in read_metadata(make_paper(paper))
    assert make_moving_report().athlete.name not in read_metadata(make_paper(paper))


def test_headings_skip_no_level() -> None:
    levels = list_headings(make_paper())
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_figures_and_tables_are_told() -> None:
    tags = list(walk_tags(make_paper()))
    figures = [tag for tag in tags if tag.kind == "Figure"]
    report = make_moving_report()
    assert not isinstance(report.loads, Absent)
    # Four gauges, three drawings of the athlete, and a panel for every curve.
    assert len(figures) == 4 + 3 + len(report.curves) + len(report.loads.curves)
    assert all(len(figure.alt) > 20 for figure in figures)
    assert sum(tag.kind == "Table" for tag in tags) >= 8
    assert sum(tag.kind == "TH" for tag in tags) >= 30


def test_every_judged_value_stands_in_the_text() -> None:
    words = read_words(make_paper()).replace("\N{NO-BREAK SPACE}", " ")
    for finding in make_moving_report().findings:
        if not isinstance(finding.verdict, NotMeasured) and isinstance(finding.typical, Uncertain):
            assert phrase_uncertain(finding.typical, CM) in words
    for said in (
        "screening aid",
        "not a diagnosis",
        "JCGM 106",
        "common practice, no source",
        "no safe or unsafe value",
    ):
        assert said in words


def test_lengths_are_in_the_unit_asked_for() -> None:
    assert re.search(r"\d cm, give or take", read_words(make_paper()).replace("\N{NO-BREAK SPACE}", " "))
    inches = read_words(make_paper(Paper.LETTER, INCHES)).replace("\N{NO-BREAK SPACE}", " ")
    assert re.search(r"\d in, give or take", inches)
    assert not re.search(r"\d cm, give or take", inches)


def test_report_without_anything_measured_is_whole() -> None:
    nothing = Absent(reason="The clip is too dark.", advice="Film in good light.")
    report = make_moving_report()
    findings = tuple(replace(item, typical=nothing, verdict=NotMeasured(absent=nothing)) for item in report.findings)
    empty = replace(
        report, findings=findings, priorities=(), motions=(), curves=(), throws=report.throws[:1], loads=nothing
    )
    words = read_words(render_clinical_report(empty, PaperChoice(), ENGLISH))
    assert "The clip is too dark." in words
    assert "Film in good light." in words


def test_shares_of_a_budget_by_hand() -> None:
    value = build_uncertain(10.0, "deg", {Source.LANDMARKS: 3.0, Source.TIMING: 4.0, Source.SCALE: 0.1})
    # 9 and 16 of 25.01; 0.01 of 25.01 is below the least share.
    assert [(source, round(share, 4)) for source, share in list_shares(value)] == [
        (Source.TIMING, 0.6397),
        (Source.LANDMARKS, 0.3599),
    ]
    assert LEAST_SHARE == 0.01


def test_shares_sum_to_one_but_for_what_is_left_out() -> None:
    for finding in make_moving_report().findings:
        if isinstance(finding.typical, Uncertain):
            shares = [share for _, share in list_shares(finding.typical)]
            assert 1 - LEAST_SHARE * len(Source) <= sum(shares) <= 1 + 1e-9
            assert shares == sorted(shares, reverse=True)


def test_a_budget_row_for_every_judged_measure() -> None:
    findings = make_moving_report().findings
    rows = build_budget_rows(findings, CM)
    assert len(rows) == sum(not isinstance(finding.verdict, NotMeasured) for finding in findings)
    assert all(row.parts and row.standard for row in rows)


def test_note_says_every_verdict_in_order() -> None:
    report = make_moving_report()
    note = write_chart_note(report, NextSteps(), CM, ENGLISH)
    joined = " ".join(note.split())
    first = report.priorities[0].finding
    places = [note.index(f"\n{word}:") for word in ("Beyond", "Too close to call", "Within")]
    assert places == sorted(places)
    assert joined.index(first.definition.words) == min(
        joined.index(finding.definition.words) for finding in report.findings if finding.definition.words in joined
    )
    for finding in report.findings:
        if not isinstance(finding.verdict, NotMeasured) and isinstance(finding.typical, Uncertain):
            assert f"{finding.definition.words}: {phrase_uncertain(finding.typical, CM)}, accepted" in joined
            assert str(name_verdict(finding.verdict)) in joined.lower()
    assert "not a diagnosis" in joined
    assert "Local rules and the treating clinician come first." in joined


def test_note_is_plain_text_for_any_chart() -> None:
    steps = NextSteps(
        drills=(FamilyDrill(name="Wall slide", dose="3 times a week"),), retest_on=date(2026, 7, 1), rules=("Rest.",)
    )
    report = make_moving_report()
    wild = replace(report, athlete=replace(report.athlete, name="A\n\tB " + "long " * 60))
    note = write_chart_note(wild, steps, INCHES, ENGLISH)
    assert max(map(len, note.splitlines())) <= WIDTH
    assert not re.search(r"[\t\N{NO-BREAK SPACE}]", note)
    assert "- Wall slide: 3 times a week" in note
    assert "Retest: 1 July 2026" in note
    assert note.endswith("\n")


@pytest.mark.parametrize("place", range(60, WIDTH + 1))
def test_note_parts_no_number_from_its_unit(place: int) -> None:
    pieces = wrap_line(f"- {'x' * (place - 2)} 12 cm, give or take 3 (95 %), accepted 45° or more")
    assert [piece for piece in pieces if re.match(r"\s*(?:%|cm)", piece)] == []
    assert " ".join(" ".join(pieces).split()).endswith("12 cm, give or take 3 (95 %), accepted 45° or more")


def test_full_disk_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = Path.write_bytes

    def fail(self: Path, content: bytes) -> int:
        if self.suffix == ".pdf":
            raise OSError(28, "No space left on device")
        return real(self, content)

    monkeypatch.setattr(Path, "write_bytes", fail)
    with pytest.raises(ResultError, match="No space left on device"):
        write_report(make_moving_report(), tmp_path / "out", Wish(kinds=("family",)), may_replace=False)
    assert list(tmp_path.iterdir()) == []


def test_folder_that_may_not_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(ResultError, match="below a file: name another folder"):
        write_report(make_moving_report(), tmp_path / "file" / "out", Wish(kinds=("note",)), may_replace=False)
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_papers_are_written_beside_the_report(tmp_path: Path) -> None:
    wish = Wish(kinds=tuple(PaperKind), language="es", paper="a4", units="in")
    page = write_report(make_moving_report(), tmp_path / "out", wish, may_replace=False)
    names = {path.name for path in page.parent.iterdir()}
    assert names == {"report.html", "report.json", *PAPER_NAMES.values()}
    assert len(open_pdf((page.parent / "family.pdf").read_bytes()).pages) == 1
    assert 'lang="es"' in page.read_text("utf-8")
    assert "Análisis del lanzamiento" in (page.parent / "note.txt").read_text("utf-8")
    # The data keep the house's English, whatever the language of the papers.
    assert json.loads((page.parent / "report.json").read_text("utf-8"))["format"] == "elbowroom screening report"
    write_report(make_moving_report(), tmp_path / "out", Wish(), may_replace=True)
    assert {path.name for path in page.parent.iterdir()} == {"report.html", "report.json"}


def test_paper_that_cannot_be_made_leaves_nothing(tmp_path: Path) -> None:
    report = make_moving_report()
    strange = replace(report, athlete=replace(report.athlete, name="\U000f0000"))
    with pytest.raises(ResultError, match="No font on this machine"):
        write_report(strange, tmp_path / "out", Wish(kinds=("family",)), may_replace=False)
    assert list(tmp_path.iterdir()) == []


def test_lines_at_the_screen_speak_the_language() -> None:
    lines = describe_screening(make_moving_report(), Wish(language="es"))
    assert lines[0] == "Player 07: 4 lanzamientos en 2 videos"
    assert lines[-1].startswith("Ayuda de cribado")
