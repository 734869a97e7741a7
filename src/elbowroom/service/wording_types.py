"""English as it stands, and texts that are never translated."""

from __future__ import annotations

from datetime import date


class Verbatim(str):
    """A text that stays as it is in every language: a name, a file, a digest, a source."""


class EnglishWording:
    """A `Wording` that says the house's English as it stands; also the double of the contract tests."""

    @property
    def language(self) -> str:
        """Return the tag of English."""
        return "en"

    def translate_text(self, text: str) -> str:
        """Return the text."""
        return text

    def phrase_day(self, day: date) -> str:
        """Return the day with the month in letters: `16 May 2026`."""
        return f"{day.day} {day:%B %Y}"
