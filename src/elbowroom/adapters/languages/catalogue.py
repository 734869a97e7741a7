"""The packaged catalogues, and a `Wording` made of one."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cache
from importlib.resources import files

from babel import Locale
from babel.dates import format_date
from babel.messages.pofile import read_po

from elbowroom.adapters.languages.reading_back import BackReader
from elbowroom.errors import ResultError
from elbowroom.service.paper_values import Language
from elbowroom.service.wording_ports import Wording
from elbowroom.service.wording_types import EnglishWording

DOMAIN = "elbowroom"
LANGUAGES = tuple(str(language) for language in Language)


class CatalogueWording:
    """A `Wording` from a catalogue, with numbers and days by the locale."""

    def __init__(self, language: str, messages: Mapping[str, str]) -> None:
        self._language = language
        self._locale = Locale.parse(language, sep="-")
        self._reader = BackReader(messages, self._locale.number_symbols["latn"]["decimal"])

    @property
    def language(self) -> str:
        """Return the tag."""
        return self._language

    def translate_text(self, text: str) -> str:
        """Return a text of the house in this language."""
        return self._reader.translate_text(text)

    def count_unread(self, text: str) -> int:
        """Return how many letters of a text the catalogue does not explain."""
        return self._reader.count_unread(text)

    def phrase_day(self, day: date) -> str:
        """Return a day in the long form of the locale."""
        return format_date(day, format="long", locale=self._locale)


@cache
def read_wording(language: str) -> Wording:
    """Return how a language is spoken; raises `ResultError` for a language without a catalogue."""
    if language not in LANGUAGES:
        raise ResultError(f"There is no catalogue for {language!r}: choose one of {', '.join(LANGUAGES)}.")
    if language == "en":
        return EnglishWording()
    return CatalogueWording(language, read_messages(language.partition("-")[0]))


@cache
def read_messages(language: str) -> Mapping[str, str]:
    """Return the messages of a packaged catalogue by their English; raises `ResultError` where it is missing."""
    path = files("elbowroom").joinpath("locale", language, "LC_MESSAGES", f"{DOMAIN}.po")
    try:
        with path.open("rb") as file:
            catalogue = read_po(file, locale=language)
    except OSError as e:
        raise ResultError(f"The catalogue for {language!r} is missing: install elbowroom again.") from e
    return {str(message.id): str(message.string) for message in catalogue if message.id}
