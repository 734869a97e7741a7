"""What the edges need to speak the reader's language."""

from __future__ import annotations

from datetime import date
from typing import Protocol


class Wording(Protocol):
    """Says the house's English in the language of a reader.

    The core and the use cases speak English only; what they say is read back into a message and its values at the
    edge, and said in the other language there.
    """

    @property
    def language(self) -> str:
        """Language of the result as a tag of BCP 47, such as `en` or `es-US`."""
        ...

    def translate_text(self, text: str) -> str:
        """A text of the house in the reader's language, numbers as they are written there.

        What is no text of the house, such as a name, comes back as it is; better is not to hand it in.
        """
        ...

    def phrase_day(self, day: date) -> str:
        """A day as it is written in the reader's language: `16 May 2026`."""
        ...
