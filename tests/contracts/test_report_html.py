"""The HTML report.

Sides: the page read back by an independent parser (structure, words, numbers), closed-form places on the axes,
escaping of hostile names, contrast recomputed from the style sheet by the formula of WCAG 2.2.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from elbowroom.adapters.report.curves import draw_curve, find_time_zero
from elbowroom.adapters.report.gauges import build_gauge
from elbowroom.adapters.report.html import render_report_html
from elbowroom.adapters.report.scales import Axis, build_axis, find_step, find_ticks
from elbowroom.adapters.report.words import CAUTIONS, COMPARISON_CAUTION
from elbowroom.core.findings.judge import judge_measure
from elbowroom.core.findings.phrases import name_verdict
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.findings.types import DecisionRule, NotMeasured
from elbowroom.core.instants.types import InstantName, Instants
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.core.quantities.types import Absent
from tests.makers.findings import make_definition, make_tolerance, make_value
from tests.makers.reports import make_report

CM, INCHES = LengthUnit.CENTIMETRES, LengthUnit.INCHES


@cache
def _make_report() -> ScreeningReport:
    return make_report()


@cache
def _make_page() -> str:
    return render_report_html(_make_report())


class _Reader(HTMLParser):
    """Collects what the tests ask for; void elements have no end."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text.append(data)

    def find(self, *tags: str) -> Iterator[tuple[str, dict[str, str | None]]]:
        return ((tag, attributes) for tag, attributes in self.elements if tag in tags)


def _read_text(page: str) -> str:
    return re.sub(r"\s+", " ", "".join(_Reader(page).text))


def test_the_page_needs_nothing_from_outside() -> None:
    page, reader = _make_page(), _Reader(_make_page())
    assert not list(reader.find("script", "link", "iframe"))
    addresses = [value for _, found in reader.elements for name, value in found.items() if name in ("src", "href")]
    assert addresses
    assert all(address and address.startswith(("#", "data:image/")) for address in addresses)
    assert "http" not in page
    assert "url(" not in page
    assert "@import" not in page


def test_every_anchor_has_its_target() -> None:
    reader = _Reader(_make_page())
    identities = [found["id"] for _, found in reader.elements if "id" in found]
    assert len(identities) == len(set(identities))
    assert {found["href"] for _, found in reader.find("a")} <= {f"#{identity}" for identity in identities}


def test_headings_go_down_one_level_at_a_time() -> None:
    levels = [int(tag[1]) for tag, _ in _Reader(_make_page()).find("h1", "h2", "h3", "h4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))


def test_every_finding_is_there_with_its_words() -> None:
    report, text = _make_report(), _read_text(_make_page())
    for finding in report.findings:
        words = finding.definition.words
        assert words[:1].upper() + words[1:] in text or words in text
    places = [text.index(row.reason) for row in report.priorities]
    assert len(places) >= 4
    assert places == sorted(places)
    verdicts = {str(name_verdict(finding.verdict)) for finding in report.findings}
    assert verdicts == {"within", "beyond", "too close to call", "not measured"}
    assert all(word in text for word in verdicts - {"not measured"})


def test_four_headlines_have_a_drawing_that_says_everything_in_words() -> None:
    report, reader = _make_report(), _Reader(_make_page())
    drawings = [found["aria-label"] for _, found in reader.find("svg") if found.get("class") == "gauge"]
    headlines = [finding for finding in report.findings if finding.definition.headline]
    assert len(headlines) == len(drawings) == 4
    for finding, description in zip(headlines, drawings, strict=True):
        assert description
        assert description.lower().startswith(finding.definition.words.lower())
        assert "give or take" in description
        assert description.endswith(f"{name_verdict(finding.verdict)}.")


def test_cautions_are_said_whole() -> None:
    text = _read_text(_make_page())
    for caution in (*CAUTIONS, COMPARISON_CAUTION, *_make_report().cautions):
        assert caution in text
    # The standing cautions stand at the top and again at the end.
    assert text.count(CAUTIONS[0]) == 2


def test_what_is_missing_is_said_with_advice() -> None:
    text = _read_text(_make_page())
    absent = [item.typical for item in _make_report().findings if isinstance(item.typical, Absent)]
    assert absent
    for item in [*absent, *(missing.absent for missing in _make_report().missing)]:
        assert item.reason in text
        assert item.advice in text


def test_a_measured_value_without_a_limit_is_not_called_not_measured() -> None:
    page = _make_page()
    found = [item for item in _make_report().findings if item.typical and isinstance(item.verdict, NotMeasured)]
    assert found
    table = page[page.index('id="plain-caption"') : page.index('id="missing"')]
    assert "not measured" not in table
    assert all(f">{item.definition.words[:1].upper()}{item.definition.words[1:]}</th>" in table for item in found)


HOSTILE = "<script>alert('x')</script>\"><img src=x onerror=1>&{{ 7*7 }}"


def test_markup_in_names_and_notes_is_shown_not_run() -> None:
    report = _make_report()
    clip = replace(report.set_up.clips[0], name=HOSTILE, notes=(HOSTILE,))
    picture = replace(report.pictures[0], caption=HOSTILE, description=HOSTILE)
    hostile = replace(
        report,
        athlete=replace(report.athlete, name=HOSTILE),
        set_up=replace(report.set_up, clips=(clip,), how=HOSTILE),
        pictures=(picture,),
        cautions=(HOSTILE,),
    )
    page = render_report_html(hostile)
    reader = _Reader(page)
    assert not list(reader.find("script"))
    assert all("onerror" not in found for _, found in reader.elements)
    assert HOSTILE in "".join(reader.text)
    assert any(found.get("alt") == HOSTILE for _, found in reader.find("img"))


def test_inches_are_used_everywhere() -> None:
    page = render_report_html(_make_report(), INCHES)
    text = _read_text(page)
    body = text[text.index("The four that matter most") : text.index("Where the limits come from")]
    assert re.search(r"\d.in, give or take", body)
    assert not re.search(r"\d\scm", body)


def test_an_empty_visit_still_gives_a_whole_page() -> None:
    report = make_report(
        throws=(), findings=(), priorities=(), curves=(), pictures=(), missing=(), bands=(), method=(), made_with=()
    )
    text = _read_text(render_report_html(report))
    assert "No measure is outside its limits" in text
    assert "Everything that was asked for could be measured." in text
    assert CAUTIONS[0] in text


def test_throws_without_foot_contact_do_not_claim_it() -> None:
    report = _make_report()
    lost = dict(report.throws[1].instants.times)
    lost[InstantName.FOOT_CONTACT] = Absent(reason="The foot was hidden.")
    throws = (report.throws[0], replace(report.throws[1], instants=Instants(times=lost)))
    page = render_report_html(replace(report, throws=throws))
    assert "seconds from foot contact" not in page
    assert "The foot was hidden." in page


@pytest.mark.parametrize("lengths", [CM, INCHES])
def test_no_number_is_undefined(lengths: LengthUnit) -> None:
    page = re.sub(r"data:image/[^\"]+", "", render_report_html(_make_report(), lengths))
    assert not re.search(r"\b(nan|inf|None|Infinity|Undefined)\b", page)


def test_places_on_the_line_are_linear_and_in_order() -> None:
    throws = [make_value(x) for x in (48, 56, 61)]
    finding = judge_measure(make_definition(), throws, make_tolerance(-10, 45), DecisionRule())
    gauge = build_gauge(finding, (), CM)
    assert gauge is not None
    lower, upper = gauge.accepted
    scale = (upper - lower) / 55
    assert gauge.value.place_px == pytest.approx(lower + scale * (55 + 10), abs=0.03)
    assert gauge.throws == pytest.approx([lower + scale * (x + 10) for x in (48, 56, 61)], abs=0.03)
    assert finding.typical
    half = finding.typical.half_width
    assert gauge.interval[1] - gauge.interval[0] == pytest.approx(2 * half * scale, abs=0.05)
    assert [label.text for label in gauge.limits] == ["−10°", "45°"]


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e4))
def test_ticks_are_round_inside_and_few(low: float, span: float) -> None:
    axis = Axis(low=low, high=low + span, start=0, end=100)
    ticks = find_ticks(axis, 6)
    step = find_step(span, 6)
    assert 2 <= len(ticks) <= 7
    slack = 1e-6 * step
    assert all(low - slack <= tick <= low + span + slack for tick in ticks)
    assert np.diff(ticks) == pytest.approx(step)


@given(st.lists(st.floats(-1e3, 1e3), min_size=1, max_size=5))
def test_an_axis_holds_its_numbers(numbers: list[float]) -> None:
    axis = build_axis(numbers, 10, 90)
    places = [axis.locate_px(number) for number in numbers]
    assert all(10 <= place <= 90 for place in places)
    assert sorted(places) == [axis.locate_px(number) for number in sorted(numbers)]


def test_curves_are_drawn_where_they_are_defined() -> None:
    report = _make_report()
    zero = find_time_zero(report.throws)
    assert zero.is_foot_contact
    drawn = draw_curve(report.curves[0], report.throws, zero, CM)
    pieces = [line.path.count("M") for line in drawn.lines]
    assert pieces == [1, 2, 1, 1]
    points = [len(re.findall(r"[ML]", line.path)) for line in drawn.lines]
    known = [int(np.isfinite(line.values).sum()) for line in report.curves[0].lines]
    assert points == known
    assert [label.text for label in drawn.instants] == [str(name) for name in InstantName]


def test_labels_of_instants_do_not_touch() -> None:
    report = _make_report()
    drawn = draw_curve(report.curves[0], report.throws, find_time_zero(report.throws), CM)
    for row in range(3):
        inside = [label for label in drawn.instants if label.row == row]
        for first, second in itertools.pairwise(inside):
            assert second.place_px - first.place_px >= 8.6 * (len(first.text) + len(second.text)) / 2 - 1e-9


def _find_luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.2 of a colour written as #rrggbb or #rgb."""
    digits = colour.lstrip("#")
    digits = digits if len(digits) == 6 else "".join(2 * digit for digit in digits)
    channels = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _find_contrast(first: str, second: str) -> float:
    high, low = sorted((_find_luminance(first), _find_luminance(second)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_colours_have_contrast() -> None:
    colours = dict(re.findall(r"--(\w+):(#[0-9a-f]{3,6})", _make_page()))
    assert _find_contrast("#000", "#fff") == pytest.approx(21.0)
    for ink in ("ink", "soft", "deep", "alarm"):
        for ground in ("paper", "sheet"):
            assert _find_contrast(colours[ink], colours[ground]) >= 7.0
    # Drawn marks on the accepted range: at least 3 to 1 (WCAG 2.2, 1.4.11).
    assert _find_contrast(colours["deep"], colours["zone"]) >= 3.0
    assert _find_contrast(colours["ink"], colours["zone"]) >= 3.0
