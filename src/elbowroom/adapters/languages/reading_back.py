"""Reading a finished English text of the house back into messages and values, and saying it in another language.

The core speaks finished English sentences, and a kept report holds them. Each sentence is looked for among the
messages; where messages have places for values, the values are found by what stands between them and are read back in
turn. Of several readings the one holds that leaves the fewest letters unread. What no message explains, such as a name,
stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from elbowroom.adapters.languages.templates import LETTER, build_templates

NUMBER = re.compile(r"(?<![\w.])([−-]?\d+)\.(\d+)(?![\w.]*\d)")
UNITS = "°|°/s|cm|in|m|m/s|s|px|%|N m|N|kg|% BW H|% BW|SD"
VALUE = re.compile(rf"[−-]?\d+(?:\.\d+)?(?: ?(?:{UNITS}))?|{UNITS}")
SENTENCES = re.compile(r"(?<=[.!?])(?<!\bal\.) (?=[A-Z0-9“+])")
MOST_SENTENCES, LONG = 4, 3
"""Messages in a row hold at most so many sentences, and those with values fewer than `LONG`."""
JOINTS = ("; ", ": ", ", ")
DEEPEST = 7
"""Values within values are read this deep."""

Reading = tuple[int, str]
"""Number of letters left unread, and the text in the other language."""


class BackReader:
    """Reads texts back with one catalogue and remembers what it read."""

    def __init__(self, messages: Mapping[str, str], decimal_sign: str = ".") -> None:
        self._exact = {source: target for source, target in messages.items() if target}
        self._templates = build_templates(messages)
        self._decimal_sign = decimal_sign
        self._known: dict[str, Reading] = {}

    def translate_text(self, text: str) -> str:
        """Return a text in the other language; letters that no message explains stay."""
        return self._read(text, 0)[1]

    def count_unread(self, text: str) -> int:
        """Return how many letters of a text no message explains."""
        return self._read(text, 0)[0]

    def _read(self, text: str, depth: int) -> Reading:
        known = self._known.get(text)
        if known is None:
            known = self._read_anew(text, depth)
            if depth < DEEPEST:
                self._known[text] = known
        return known

    def _read_anew(self, text: str, depth: int) -> Reading:
        bare = text.strip()
        if bare != text:
            letters, said = self._read(bare, depth) if bare else (0, "")
            return letters, text.replace(bare, said, 1) if bare else text
        if text in self._exact:
            return 0, self._exact[text]
        if VALUE.fullmatch(text) or not LETTER.search(text):
            return 0, self._localise(text)
        if depth >= DEEPEST:
            return len(LETTER.findall(text)), text
        best = (len(LETTER.findall(text)), text)
        for reading in self._walk_readings(text, depth):
            best = min(best, reading, key=lambda item: item[0])
            if best[0] == 0:
                break
        return best

    def _walk_readings(self, text: str, depth: int) -> Iterator[Reading]:
        """Yield the ways to read a text, the most telling first."""
        sentences = SENTENCES.split(text)
        yield self._find_exact(text)
        yield from self._walk_templates(text, depth)
        if text.endswith(".") and len(text) > 1:
            letters, said = self._find_exact(text[:-1])
            yield letters, f"{said}."
        if len(sentences) > 1:
            yield self._join_sentences(sentences, depth)
        if text[0].isupper() and text[1:2].islower():
            letters, said = self._read_lower(text, depth)
            yield letters, _capitalise(said)
        for joint in JOINTS:
            if joint in text:
                yield self._join(text.split(joint), joint, depth)

    def _find_exact(self, text: str) -> Reading:
        """Return a text that is a message, or one whose first letter was made large."""
        low = text[0].lower() + text[1:]
        if text in self._exact:
            return 0, self._exact[text]
        return (0, _capitalise(self._exact[low])) if low in self._exact else (len(LETTER.findall(text)), text)

    def _join_sentences(self, sentences: Sequence[str], depth: int) -> Reading:
        """Return the best reading of sentences in a row, of which several may be one message."""
        best: list[Reading] = [(0, "")]
        for end in range(1, len(sentences) + 1):
            readings = []
            for start in range(max(0, end - MOST_SENTENCES), end):
                text = " ".join(sentences[start:end])
                letters, said = self._read(text, depth + 1) if end - start < LONG else self._find_exact(text)
                readings.append((best[start][0] + letters, f"{best[start][1]} {said}".strip()))
            best.append(min(readings, key=lambda item: item[0]))
        return best[-1]

    def _read_lower(self, text: str, depth: int) -> Reading:
        low = text[0].lower() + text[1:]
        readings = [*self._walk_templates(low, depth + 1), (len(LETTER.findall(low)), low)]
        return min(readings, key=lambda item: item[0])

    def _walk_templates(self, text: str, depth: int) -> Iterator[Reading]:
        for template in self._templates:
            values = template.find_values(text)
            if values is None:
                continue
            read = {name: self._read(value, depth + 1) for name, value in values.items()}
            yield (
                sum(letters for letters, _ in read.values()),
                template.apply_values({name: said for name, (_, said) in read.items()}),
            )

    def _join(self, parts: Sequence[str], joint: str, depth: int) -> Reading:
        read = [self._read(part, depth + 1) for part in parts]
        return sum(letters for letters, _ in read), joint.join(said for _, said in read)

    def _localise(self, text: str) -> str:
        return NUMBER.sub(rf"\g<1>{self._decimal_sign}\g<2>", text)


def _capitalise(text: str) -> str:
    return text[:1].upper() + text[1:]
