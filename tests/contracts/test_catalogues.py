"""The catalogues: complete, in agreement with the source, and reaching every text that a family or clinician reads.

Sides: the messages read from the source by a syntax tree, against the packaged files; Babel reads the files and checks
their places; a made-up language finds what escapes translation, in the PDF as an independent reader reads it and in the
page as an HTML parser does; readings of sentences against translations made by hand; numbers and days against Babel's
own locale data; readability of the Spanish page by the formula of Szigriszt Pazos 1993.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from functools import cache
from html.parser import HTMLParser

import pytest
from babel import Locale
from babel.messages.pofile import read_po
from hypothesis import given
from hypothesis import strategies as st

from elbowroom.adapters.languages.catalogue import LANGUAGES, CatalogueWording, read_messages, read_wording
from elbowroom.adapters.languages.reading_back import BackReader
from elbowroom.adapters.languages.templates import build_templates, list_slots
from elbowroom.adapters.report.html import render_report_html
from elbowroom.adapters.report.papers.clinical import render_clinical_report
from elbowroom.adapters.report.papers.family import FAMILY_WORDS, NOTHING, render_family_page
from elbowroom.core.findings.report import ScreeningReport
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ResultError
from elbowroom.service.chart_note import write_chart_note
from elbowroom.service.family_page import build_family_page
from elbowroom.service.paper_values import NextSteps, PaperChoice
from elbowroom.service.plain_words import CAUTIONS, SIGNS, STEMS, WHEN
from elbowroom.service.summary import describe_report
from tests.contracts.test_family_page import make_moving_report
from tests.makers.catalogue import LANGUAGES as TRANSLATED
from tests.makers.catalogue import LOCALE, TEMPLATE, build_catalogue, collect_messages, render_catalogue
from tests.makers.pdfs import open_pdf, read_words, walk_tags
from tests.makers.readability import count_spanish_syllables, measure_spanish_ease

CHOICE, STEPS = PaperChoice(), NextSteps(retest_on=date(2026, 7, 1))
EASE = 65.0
"""From here on a Spanish text is `quite easy` on the INFLESZ scale (Barrio Cantalejo et al. 2008; from memory)."""


@pytest.mark.parametrize("language", TRANSLATED)
def test_nothing_is_missing(language: str) -> None:
    messages = read_messages(language)
    assert [message for message in collect_messages() if not messages.get(message)] == []
    assert set(messages) - set(collect_messages()) == set(), "run: python -m tests.makers.catalogue"


def test_template_is_up_to_date() -> None:
    text = TEMPLATE.read_text(encoding="utf-8")
    assert text == render_catalogue(build_catalogue()), "run: python -m tests.makers.catalogue"


@pytest.mark.parametrize("language", TRANSLATED)
def test_places_agree(language: str) -> None:
    wrong = {
        source: target
        for source, target in read_messages(language).items()
        if sorted(set(list_slots(source))) != sorted(set(list_slots(target)))
    }
    assert wrong == {}


@pytest.mark.parametrize("language", TRANSLATED)
def test_babel_reads_the_file(language: str) -> None:
    with (LOCALE / language / "LC_MESSAGES" / "elbowroom.po").open("rb") as file:
        catalogue = read_po(file, locale=language, abort_invalid=True)
    assert [message.id for message in catalogue if message.id and message.fuzzy] == []
    assert list(catalogue.obsolete) == []
    assert len(catalogue) == len(collect_messages())


@pytest.mark.parametrize("language", TRANSLATED)
def test_translations_are_translations(language: str) -> None:
    """Only words that are the same in both languages stay as they are."""
    same = {source for source, target in read_messages(language).items() if source == target}
    assert same <= {"video", "base"}


# A made-up language: every letter of a message becomes one of another alphabet, so what stays Latin was not translated.
LATIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
OTHER = "абцдефгхијклмнопкрстуввхизАБЦДЕФГХИЈКЛМНОПКРСТУВВХИЗ"
SWAP = str.maketrans(LATIN, OTHER)
KNOWN = re.compile(
    r"Player 07|[\w-]+\.(?:mp4|csv|html)|[0-9a-f]{60,}|\b(?:N m|cm|px|kg|BW|SD|JCGM|numpy|elbowroom|PDF|mm|H)\b"
    r"|[\w-]*95[\w-]*|\b[Nmsgn]\b|\d\.\d\.\d\w*"
)
"""What is the same in every language: names, files, digests, units."""
CITED = re.compile(r"[A-Z][\w’'.&, -]+? (?:et al\. )?(?:19|20)\d\d[^.;)]*|(?:Int )?J [A-Z][\w ]+ [\d:()-]+", re.ASCII)


@cache
def make_other_wording() -> CatalogueWording:
    def swap(message: str) -> str:
        return re.sub(r"\{\w+\}|[^{]+", lambda part: part[0] if part[0][0] == "{" else part[0].translate(SWAP), message)

    return CatalogueWording("es", {message: swap(message) for message in collect_messages()})


def find_untranslated(text: str) -> list[str]:
    """Find the runs of Latin letters that are no name, unit or source."""
    bare = CITED.sub(" ", KNOWN.sub(" ", text))
    return [word for word in re.findall(r"[A-Za-z]{3,}", bare) if word not in ("enero", "mayo", "julio")]


def list_cited(report: ScreeningReport) -> set[str]:
    """List the words of published sources, which keep the language in which they were published."""
    assert not isinstance(report.loads, Absent)
    bands = [*report.bands, *(band for item in report.loads.findings for band in item.bands)]
    return {word.strip(",.;:()") for band in bands for word in re.findall(r"[^\W\d_]+", band.source)}


def test_made_up_language_is_told_from_english() -> None:
    assert find_untranslated("Your elbow is low") == ["Your", "elbow", "low"]
    assert find_untranslated(make_other_wording().translate_text("Elbow height")) == []


def test_family_page_is_translated_whole() -> None:
    report = make_moving_report()
    page = build_family_page(report, STEPS, LengthUnit.INCHES)
    content = render_family_page(page, report, CHOICE, make_other_wording())
    said = [read_words(content), *(tag.alt for tag in walk_tags(content))]
    assert [find_untranslated(text) for text in said if find_untranslated(text)] == []


def test_clinical_report_is_translated_whole() -> None:
    content = render_clinical_report(make_moving_report(), CHOICE, make_other_wording())
    said = [read_words(content), *(tag.alt for tag in walk_tags(content))]
    left = {word for text in said for word in find_untranslated(text)}
    assert left - list_cited(make_moving_report()) == set()


class _Texts(HTMLParser):
    """Collects what a reader of a page sees or hears."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.said: list[str] = []
        self.is_style = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.is_style = tag == "style"
        self.said += [value or "" for name, value in attrs if name in ("aria-label", "alt", "title")]

    def handle_endtag(self, tag: str) -> None:
        self.is_style = False

    def handle_data(self, data: str) -> None:
        if not self.is_style:
            self.said.append(data)


def test_page_is_translated_whole() -> None:
    report = make_moving_report()
    said = _Texts(render_report_html(report, LengthUnit.CENTIMETRES, make_other_wording())).said
    assert {word for text in said for word in find_untranslated(text)} - list_cited(report) == set()


def test_note_and_summary_are_translated_whole() -> None:
    report, wording = make_moving_report(), make_other_wording()
    note = write_chart_note(report, STEPS, LengthUnit.CENTIMETRES, wording)
    assert find_untranslated(note) == []
    lines = [wording.translate_text(line) for line in describe_report(report, LengthUnit.CENTIMETRES)]
    assert find_untranslated(" ".join(lines)) == []


MESSAGES = {
    "{name} is at {value}, accepted is {limits}": "{name} está en {value}; aceptado: {limits}",
    "{value}, give or take {width} (95 %)": "{value}, más o menos {width} (95 %)",
    "{lower} to {upper}": "{lower} a {upper}",
    "The typical throw of {count}": "El lanzamiento típico de {count}",
    "elbow height": "altura del codo",
    "Film again.": "Grabe otra vez.",
    "empty": "",
}
READ = [
    ("elbow height", "altura del codo"),
    ("Elbow height", "Altura del codo"),
    ("Elbow height.", "Altura del codo."),
    ("12.5 cm, give or take 2.5 (95 %)", "12,5 cm, más o menos 2,5 (95 %)"),
    (
        "The typical throw of 3 is at −1.5°, give or take 8 (95 %), accepted is −5.1 cm to 5.1 cm",
        "El lanzamiento típico de 3 está en −1,5°, más o menos 8 (95 %); aceptado: −5,1 cm a 5,1 cm",
    ),
    ("Film again. Film again.", "Grabe otra vez. Grabe otra vez."),
    ("elbow height; elbow height", "altura del codo; altura del codo"),
    ("Ana Ruiz", "Ana Ruiz"),
    ("empty", "empty"),
    ("", ""),
    ("   ", "   "),
    (" elbow height ", " altura del codo "),
]


@pytest.mark.parametrize(("text", "said"), READ)
def test_sentences_are_read_back(text: str, said: str) -> None:
    assert BackReader(MESSAGES, ",").translate_text(text) == said


def test_versions_are_no_numbers() -> None:
    assert BackReader(MESSAGES, ",").translate_text("elbowroom 0.1.0") == "elbowroom 0.1.0"


@given(st.text(max_size=60))
def test_any_text_comes_through(text: str) -> None:
    read_wording("es").translate_text(text)


@given(st.sampled_from(sorted(read_messages("es"))), st.lists(st.integers(0, 999), min_size=8, max_size=8))
def test_every_message_is_read_back_with_numbers(message: str, numbers: list[int]) -> None:
    """A message filled with numbers leaves no letter unread."""
    wording = CatalogueWording("es", read_messages("es"))
    values = {slot: str(number) for slot, number in zip(dict.fromkeys(list_slots(message)), numbers, strict=False)}
    filled = re.sub(r"\{(\w+)\}", lambda slot: values[slot[1]], message)
    assert wording.count_unread(filled) == 0


def test_messages_without_words_are_no_templates() -> None:
    assert build_templates({"{a}: {b}": "{b}: {a}", "{a} {b}": "{b} {a}"}) == ()


def test_numbers_and_days_follow_the_locale() -> None:
    text, day = "12.5 cm, give or take 2.5 (95 %)", date(2026, 5, 16)
    assert "12,5 cm" in read_wording("es").translate_text(text)
    assert "12.5 cm" in read_wording("es-US").translate_text(text)
    assert Locale("es").number_symbols["latn"]["decimal"] == ","
    assert Locale("es", "US").number_symbols["latn"]["decimal"] == "."
    assert read_wording("es").phrase_day(day) == "16 de mayo de 2026"
    assert read_wording("en").phrase_day(day) == "16 May 2026"


def test_unknown_language_is_refused() -> None:
    with pytest.raises(ResultError, match=r"no catalogue for 'xx': choose one of en, es, es-US"):
        read_wording("xx")
    assert "xx" not in LANGUAGES


def test_spanish_page_reads_easily() -> None:
    say = read_wording("es").translate_text
    sentences = [*SIGNS, *CAUTIONS, NOTHING, *(FAMILY_WORDS[key] + "." for key in FAMILY_WORDS)]
    for words in STEMS.values():
        for said in (words.good, words.low, words.high):
            sentences += [said.replace("{when}", when) for when in (WHEN.values() if "{when}" in said else [""])]
        sentences += [words.low_cue, words.high_cue]
    assert measure_spanish_ease(" ".join(say(text) for text in sentences)) > EASE


def test_spanish_syllables_by_hand() -> None:
    counted = {"codo": 2, "pie": 1, "adelante": 4, "línea": 3, "guante": 2, "quien": 1, "médico": 3, "tu": 1, "muy": 1}
    assert {word: count_spanish_syllables(word) for word in counted} == counted


def test_spanish_papers_name_their_language() -> None:
    report = replace(make_moving_report())
    page = build_family_page(report, STEPS, LengthUnit.CENTIMETRES)
    for language in ("es", "es-US"):
        content = render_family_page(page, report, CHOICE, read_wording(language))
        assert open_pdf(content).trailer["/Root"]["/Lang"].lower() == language.lower()
