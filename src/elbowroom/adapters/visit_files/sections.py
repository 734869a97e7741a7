"""One table of a visit file, read leniently: every problem is collected, none stops the reading."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from difflib import get_close_matches
from enum import StrEnum
from math import isfinite
from typing import TypeVar

Word = TypeVar("Word", bound=StrEnum)
"""A closed set of words, such as the views."""

LONGEST_SHOWN = 40
"""Most characters of a wrong value that a message repeats."""


def normalise_word(word: str) -> str:
    """Return a key or word in lower case with single underscores: `Open-Side` and `open side` are the same."""
    return "_".join(word.lower().replace("-", " ").replace("_", " ").split())


def show_value(value: object) -> str:
    """Return a wrong value as a message repeats it, cut where it is long."""
    text = repr(value)
    return text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "..."


class Section:
    """A table of the file with its place in words, and the list in which all problems gather."""

    def __init__(self, place: str, table: object, problems: list[str]) -> None:
        """`place` begins a problem's words: `[athlete]`; `table` is what the file holds there."""
        self.place = place
        self._problems = problems
        self._values: dict[str, object] = {}
        self._asked: set[str] = set()
        if isinstance(table, Mapping):
            self._values = {normalise_word(str(key)): value for key, value in table.items()}
        else:
            self.add_problem(f"must be a table, not {show_value(table)}")

    @property
    def problems(self) -> list[str]:
        """The list in which all problems gather, for the tables within this one."""
        return self._problems

    def add_problem(self, words: str) -> None:
        """Note a problem of this table; `words` follow the place."""
        self._problems.append(f"{self.place} {words}")

    def has_key(self, key: str) -> bool:
        """Whether the table holds a key, whatever its value."""
        self._asked.add(key)
        return key in self._values

    def list_given(self, keys: Iterable[str]) -> list[str]:
        """Return those of the keys that the table holds; all of them then count as known."""
        return [key for key in keys if self.has_key(key)]

    def find_value(self, key: str) -> object:
        """Return what stands under a key, or None."""
        self._asked.add(key)
        return self._values.get(key)

    def find_text(self, key: str, example: str = "") -> str | None:
        """Return a text, or None where it is not given or wrong; with an `example` it has to be given."""
        value = self.find_value(key)
        if isinstance(value, str) and value.strip() and value.isprintable():
            return value.strip()
        if value is not None:
            self.add_problem(f"has {key} = {show_value(value)}: give a text in quotation marks, on one line")
        elif example:
            self.add_problem(f"has no {key}: add {key} = {example}")
        return None

    def find_number(self, key: str, lowest: float, highest: float) -> float | None:
        """Return a number within its limits, or None where it is not given or wrong."""
        value = self.find_value(key)
        if value is None:
            return None
        number = convert_number(value)
        if number is None or not lowest <= number <= highest:
            self.add_problem(f"has {key} = {show_value(value)}: give a number from {lowest:g} to {highest:g}")
            return None
        return number

    def find_numbers(self, key: str, count: int) -> tuple[float, ...] | None:
        """Return `count` numbers, or None where they are not given or wrong."""
        value = self.find_value(key)
        if value is None:
            return None
        numbers = [convert_number(item) for item in value] if isinstance(value, list) else []
        known = [number for number in numbers if number is not None]
        if len(known) != count or len(numbers) != count:
            self.add_problem(f"has {key} = {show_value(value)}: give {count} numbers in square brackets")
            return None
        return tuple(known)

    def find_word(self, key: str, words: type[Word], also: Mapping[str, Word], example: str = "") -> Word | None:
        """Return one of a closed set of words, by itself or by a name in `also`, or None."""
        text = self.find_text(key, example)
        if text is None:
            return None
        known = {normalise_word(word): word for word in words} | dict(also)
        if normalise_word(text) in known:
            return known[normalise_word(text)]
        close = get_close_matches(normalise_word(text), list(known), n=1)
        hint = f" (did you mean {known[close[0]]}?)" if close else ""
        allowed = ", ".join(f'"{word}"' for word in words)
        self.add_problem(f"has {key} = {show_value(text)}{hint}: use one of {allowed}")
        return None

    def find_date(self, key: str) -> date | None:
        """Return a day, written as in 2026-05-16 with or without quotation marks, or None."""
        value = self.find_value(key)
        if isinstance(value, datetime):
            return value.date()
        if value is None or isinstance(value, date):
            return value
        try:
            return date.fromisoformat(str(value).strip())
        except ValueError:
            self.add_problem(f"has {key} = {show_value(value)}: give a day as in 2026-05-16")
            return None

    def check_keys(self, allowed: Sequence[str] = ()) -> None:
        """Note every key that nobody asked for, with the nearest known one."""
        known = sorted(self._asked | set(allowed))
        for key in self._values:
            if key in known:
                continue
            close = get_close_matches(key, known, n=1)
            hint = f"did you mean {close[0]}?" if close else f"known are {', '.join(known)}"
            self.add_problem(f"has {show_value(key)}, which is not known: {hint}")


def convert_number(value: object) -> float | None:
    """Return a number, also one written as text, or None for anything else, bools, infinities and NaN included."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        number = float(value)
    except (ValueError, OverflowError):
        return None
    return number if isfinite(number) else None
