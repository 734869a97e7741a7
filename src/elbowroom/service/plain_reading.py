"""Reading a table of plain values, as TOML, JSON and forms bring them: every problem is collected, none stops."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from difflib import get_close_matches
from enum import StrEnum
from math import isfinite
from typing import TypeVar

from elbowroom.core.plan.intake import Problem

Word = TypeVar("Word", bound=StrEnum)
"""A closed set of words."""
LONGEST_SHOWN = 40
"""Most characters of a wrong value that a message repeats."""


class PlainTable:
    """A table of plain values with its place, and the list in which all problems gather."""

    def __init__(self, table: object, problems: list[Problem], place: str = "") -> None:
        """`place` stands before every key in the problems: `pain 2`; empty for the table itself."""
        self.problems, self.place = problems, place
        self._asked: set[str] = set()
        self._values: Mapping[str, object] = table if isinstance(table, Mapping) else {}
        if not isinstance(table, Mapping):
            self.add_problem("", f"holds {show_value(table)} where a table belongs")

    def add_problem(self, key: str, words: str) -> None:
        """Note a problem."""
        where = " ".join(part for part in (self.place, key) if part)
        self.problems.append(Problem(where=where or "the whole", words=words))

    def find_value(self, key: str) -> object:
        """Return what stands under a key, None where nothing does; an empty text is nothing."""
        self._asked.add(key)
        value = self._values.get(key)
        return None if isinstance(value, str) and not value.strip() else value

    def find_text(self, key: str, wanted: str = "") -> str:
        """Return a text; empty where none is given, which is a problem where `wanted` says what belongs there."""
        value = self.find_value(key)
        if value is None:
            if wanted:
                self.add_problem(key, f"is missing: {wanted}")
            return ""
        if isinstance(value, str) and value.isprintable():
            return value.strip()
        self.add_problem(key, f"holds {show_value(value)}: give a text on one line")
        return ""

    def find_number(self, key: str, wanted: str = "") -> float | None:
        """Return a number, None where none is given or it is wrong."""
        value = self.find_value(key)
        if value is None:
            if wanted:
                self.add_problem(key, f"is missing: {wanted}")
            return None
        number = convert_number(value)
        if number is None:
            self.add_problem(key, f"holds {show_value(value)}: give a number")
        return number

    def find_whole(self, key: str, wanted: str = "") -> int | None:
        """Return a whole number, None where none is given or it is wrong."""
        number = self.find_number(key, wanted)
        if number is not None and number != int(number):
            self.add_problem(key, f"holds {number:g}: give a whole number")
            return None
        return None if number is None else int(number)

    def find_date(self, key: str, wanted: str = "") -> date | None:
        """Return a day, None where none is given or it is wrong."""
        value = self.find_value(key)
        if isinstance(value, datetime):
            return value.date()
        if isinstance(value, date):
            return value
        if value is None:
            if wanted:
                self.add_problem(key, f"is missing: {wanted}")
            return None
        try:
            return date.fromisoformat(str(value).strip())
        except ValueError:
            self.add_problem(key, f"holds {show_value(value)}: give a day as in 2026-05-16")
            return None

    def find_flag(self, key: str) -> bool:
        """Return whether something is said to be so; a form leaves out what is not ticked."""
        value = self.find_value(key)
        if value in (True, "yes", "true", "on"):
            return True
        if value not in (None, False, "no", "false", "off"):
            self.add_problem(key, f"holds {show_value(value)}: write yes or no")
        return False

    def find_word(self, key: str, words: type[Word], wanted: str = "") -> Word | None:
        """Return one of a closed set of words, None where none is given or it is wrong."""
        text = self.find_text(key, wanted)
        return self._convert_word(key, text, words) if text else None

    def find_words(self, key: str, words: type[Word]) -> tuple[Word, ...]:
        """Return some of a closed set of words, in the order in which they are given."""
        found = [self._convert_word(key, text, words) for text in self.find_texts(key)]
        return tuple(word for word in found if word is not None)

    def find_texts(self, key: str) -> tuple[str, ...]:
        """Return a list of texts; a single text with commas counts as a list."""
        value = self.find_value(key)
        items = value.split(",") if isinstance(value, str) else value
        if items is None:
            return ()
        if not isinstance(items, Sequence) or not all(isinstance(item, str) for item in items):
            self.add_problem(key, f"holds {show_value(value)}: give texts")
            return ()
        return tuple(item.strip() for item in items if item.strip())

    def find_numbers(self, key: str) -> tuple[float, ...]:
        """Return a list of numbers; a text with blanks or semicolons between them counts as a list."""
        value = self.find_value(key)
        items = value.replace(";", " ").split() if isinstance(value, str) else value
        if items is None:
            return ()
        numbers = [convert_number(item) for item in items] if isinstance(items, Sequence) else [convert_number(items)]
        if any(number is None for number in numbers):
            self.add_problem(key, f"holds {show_value(value)}: give numbers")
            return ()
        return tuple(number for number in numbers if number is not None)

    def find_tables(self, key: str) -> tuple[PlainTable, ...]:
        """Return the tables of a list, each with its number as place."""
        value = self.find_value(key)
        if value is None:
            return ()
        if not isinstance(value, Sequence) or isinstance(value, str):
            self.add_problem(key, f"holds {show_value(value)}: give a list of tables")
            return ()
        return tuple(PlainTable(item, self.problems, f"{key} {number}") for number, item in enumerate(value, start=1))

    def check_keys(self, also: Iterable[str] = ()) -> None:
        """Note every key that nobody asked for, with the nearest known one."""
        known = sorted({*self._asked, *also})
        for key in self._values:
            if key not in known:
                close = get_close_matches(str(key), known, n=1)
                hint = f"did you mean {close[0]}?" if close else f"known are {', '.join(known)}"
                self.add_problem(str(key), f"is not known: {hint}")

    def _convert_word(self, key: str, text: str, words: type[Word]) -> Word | None:
        found = next((word for word in words if str(word) == text.strip().lower().replace("_", " ")), None)
        if found is None:
            close = get_close_matches(text.lower(), list(words), n=1)
            hint = f" (did you mean {close[0]}?)" if close else ""
            self.add_problem(key, f"holds {show_value(text)}{hint}: use one of {', '.join(words)}")
        return found


def show_value(value: object) -> str:
    """Return a wrong value as a message repeats it, cut where it is long."""
    text = repr(value)
    return text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "..."


def convert_number(value: object) -> float | None:
    """Return a number, also one written as text with a point or comma, or None for anything else."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        number = float(value.strip().replace(",", ".")) if isinstance(value, str) else float(value)
    except (ValueError, OverflowError):
        return None
    return number if isfinite(number) else None
