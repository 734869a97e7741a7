"""A message with places for values, as a pattern that finds the values in a finished sentence again."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

SLOT = re.compile(r"\{(\w+)\}")
LETTER = re.compile(r"[^\W\d_]")
LEAST_LETTERS = 2
"""A message with fewer letters of its own says nothing by which it could be known again."""


@dataclass(frozen=True, kw_only=True)
class Template:
    """One message that holds values."""

    pattern: re.Pattern[str]
    """Finds the values in a sentence that follows the message."""
    pieces: tuple[str, ...]
    """What stands between the values; a sentence that lacks one does not follow the message."""
    target: str
    """The message in the other language, with the same places."""

    def find_values(self, text: str) -> Mapping[str, str] | None:
        """Find the values in a sentence by their names; None where it does not follow the message."""
        if not all(piece in text for piece in self.pieces):
            return None
        found = self.pattern.fullmatch(text)
        return None if found is None else found.groupdict()

    def apply_values(self, values: Mapping[str, str]) -> str:
        """Return the sentence in the other language."""
        return SLOT.sub(lambda slot: values[slot[1]], self.target)


def build_templates(messages: Mapping[str, str]) -> tuple[Template, ...]:
    """Return the messages that hold values and are translated, those with the most words of their own first."""
    found = [_build_template(source, target) for source, target in messages.items() if SLOT.search(source) and target]
    kept = [item for item in found if sum(len(LETTER.findall(piece)) for piece in item.pieces) >= LEAST_LETTERS]
    return tuple(sorted(kept, key=lambda item: -sum(map(len, item.pieces))))


def list_slots(message: str) -> list[str]:
    """List the names of the places in a message, in order."""
    return SLOT.findall(message)


def _build_template(source: str, target: str) -> Template:
    pattern = "".join(_walk_pattern(source))
    pieces = tuple(piece for piece in re.split(r"\{\w+\}", source) if piece.strip())
    return Template(pattern=re.compile(pattern, re.DOTALL), pieces=pieces, target=target)


def _walk_pattern(source: str) -> Iterator[str]:
    """Yield the parts of the pattern; a place that comes twice has to hold the same value."""
    seen: set[str] = set()
    for number, part in enumerate(SLOT.split(source)):
        if number % 2 == 0:
            yield re.escape(part)
        elif part in seen:
            yield f"(?P={part})"
        else:
            seen.add(part)
            yield f"(?P<{part}>.*?)"
