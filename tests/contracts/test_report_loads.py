"""The loads in the report's page and data.

Sides: the published schema under an independent validator; numbers that come back; what the page must say and must not
say (design, section 5); the absence of loads with its reason.
"""

from __future__ import annotations

import json
import re
from html import unescape

import pytest
from jsonschema import Draft202012Validator

from elbowroom.adapters.report.html import render_report_html
from elbowroom.adapters.report.json_file import read_report_schema, render_report_json
from elbowroom.adapters.report.loads import build_band_rows, phrase_change
from elbowroom.core.findings.report import LoadsCard
from elbowroom.core.loads.definitions import LOADS
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Source, Uncertain
from tests.makers.reports import make_report

LOST = Absent(
    reason="The visit file does not say the athlete's sex, and loads need it.", advice="Add sex to [athlete]."
)


def read_section(page: str) -> str:
    """Return the text of the section on loads."""
    section = page.split('<section id="loads"')[1].split("</section>")[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", section)).replace("\N{NO-BREAK SPACE}", " ").split())


def find_card() -> LoadsCard:
    loads = make_report().loads
    assert isinstance(loads, LoadsCard)
    return loads


def test_data_keeps_the_schema_and_its_numbers() -> None:
    document = json.loads(render_report_json(make_report()))
    assert list(Draft202012Validator(read_report_schema()).iter_errors(document)) == []
    assert document["athlete"]["mass_kg"] == 51.0
    assert [item["load"] for item in document["loads"]["findings"]] == [item.key for item in LOADS]
    for finding, item in zip(find_card().findings, document["loads"]["findings"], strict=True):
        if isinstance(finding.typical, Uncertain):
            assert item["typical"]["value"] == finding.typical.value
            assert {"body tables", "smoothing"} <= {part["source"] for part in item["typical"]["budget"]}
    change = document["loads"]["changes"][0]
    assert (change["move"], change["step_deg"]) == ("elbow_to_shoulder_line", 10.0)


def test_schema_refuses_loads_without_method() -> None:
    document = json.loads(render_report_json(make_report()))
    del next(item for item in document["loads"]["findings"] if item["published"])["published"][0]["method"]
    assert list(Draft202012Validator(read_report_schema()).iter_errors(document))


def test_absent_loads_say_why() -> None:
    report = make_report(loads=LOST)
    document = json.loads(render_report_json(report))
    assert list(Draft202012Validator(read_report_schema()).iter_errors(document)) == []
    assert document["loads"] == {"absent": LOST.reason, "advice": LOST.advice}
    text = read_section(render_report_html(report))
    assert LOST.reason in text
    assert LOST.advice in text


def test_page_shows_value_interval_and_what_dominates() -> None:
    text = read_section(render_report_html(make_report()))
    assert "Largest elbow varus moment 34 N m, give or take 10 (95 %)" in text
    # Parts 12, 8 and, over four throws, 5 / 2 %: 144 / (144 + 64 + 6.25) of the variance.
    assert "body tables, 67 %" in text
    assert "The elbow is too straight there to say which way is varus." in text


def test_page_says_what_a_change_is() -> None:
    text = read_section(render_report_html(make_report()))
    assert "A model's answer about this motion, not a promise about this athlete" in text
    assert "With the elbow bent 10° more" in text
    assert "Largest elbow varus moment: 3.0 N m less, give or take 1.0 (95 %)" in text
    assert "Largest shoulder internal rotation moment: 2 N m more, give or take 8 (95 %); the model cannot tell" in text


def test_bands_name_their_method_and_never_a_limit() -> None:
    text = read_section(render_report_html(make_report()))
    rows = build_band_rows(find_card())
    assert len(rows) > 5
    for _, group, found, method, source in rows:
        assert all(word in text for word in (group, found, method, source))
    assert ("mean 28 N m, SD 7 N m (from memory, for reference only)") in text
    assert "mean 18 N m, spread not given" in text
    for word in ("danger", "too high", "overload", "within limits"):
        assert word not in text.lower()
    assert "there is no safe or unsafe value" in text


@pytest.mark.parametrize(
    ("value", "standard", "words"),
    [
        (4.2, 0.5, "load: 4.2 N m more, give or take 1.0 (95 %)"),
        (-4.2, 0.5, "load: 4.2 N m less, give or take 1.0 (95 %)"),
        (4.2, 4.0, "load: 4 N m more, give or take 8 (95 %); the model cannot tell which way"),
    ],
)
def test_words_of_a_change(value: float, standard: float, words: str) -> None:
    assert phrase_change("load", build_uncertain(value, "N m", {Source.LANDMARKS: standard})) == words
