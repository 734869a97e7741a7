"""Rows of a table file, read leniently, with every problem kept until all have been seen."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from importlib.resources import files
from math import isfinite
from pathlib import Path
from typing import TypeVar

from elbowroom.errors import TableError

PACKAGED = "elbowroom.tables"
YES_NO = {"yes": True, "no": False}
Word = TypeVar("Word", bound=StrEnum)
"""A closed set of words."""


@dataclass(frozen=True, kw_only=True)
class TableRow:
    """The cells of one row; what is wrong with them is added to `problems`."""

    line: int
    """Line of the row in the file, the heading being line 1."""
    cells: dict[str, str]
    """Cells by column."""
    problems: list[str] = field(default_factory=list)
    """Sentences on what is wrong, each naming line and column."""

    def read_text(self, column: str, wanted: str = "") -> str:
        """Return the text of a cell; where `wanted` says what belongs there, an empty cell is a problem."""
        text = self.cells.get(column, "")
        if wanted and not text:
            self.refuse(column, f"is empty: {wanted}")
        return text

    def read_number(self, column: str, default_value: float | None = None) -> float:
        """Return the number of a cell; an empty cell is `default_value`, or a problem where that is None."""
        text = self.cells.get(column, "")
        if not text and default_value is not None:
            return default_value
        try:
            number = float(text.replace(",", "."))
        except ValueError:
            number = float("nan")
        if not isfinite(number):
            self.refuse(column, "is empty: give a number" if not text else f"holds {text!r}: give a number")
            return 0.0
        return number

    def read_range(self, low: str, high: str) -> tuple[float, float]:
        """Return the numbers of two cells, the first not above the second."""
        first, second = self.read_number(low), self.read_number(high)
        if first > second:
            self.refuse(low, f"holds {first:g}, more than {second:g} in {high}: exchange them")
        return first, second

    def read_flag(self, column: str) -> bool:
        """Return the yes or no of a cell."""
        text = self.cells.get(column, "").lower()
        if text not in YES_NO:
            self.refuse(column, f"holds {text!r}: write yes or no")
        return YES_NO.get(text, False)

    def read_word(self, column: str, words: type[Word]) -> Word:
        """Return the word of a cell out of a closed set; the first of them where it is none, which is noted."""
        text = self.cells.get(column, "")
        found = next((word for word in words if str(word) == text), None)
        if found is None:
            self.refuse(column, f"holds {text!r}: write one of {', '.join(words)}")
        return next(iter(words)) if found is None else found

    def read_words(self, column: str, words: type[Word]) -> tuple[Word, ...]:
        """Return the words of a cell, with | between them; an empty cell holds none."""
        parts = [part.strip() for part in self.cells.get(column, "").split("|") if part.strip()]
        unknown = [part for part in parts if part not in set(words)]
        if unknown:
            self.refuse(column, f"holds {', '.join(unknown)}: write some of {', '.join(words)}, with | between them")
        return tuple(word for word in words if str(word) in parts)

    def read_parts(self, column: str, wanted: str) -> tuple[str, ...]:
        """Return the texts of a cell, with | between them; `wanted` says what belongs there."""
        return tuple(part.strip() for part in self.read_text(column, wanted).split("|") if part.strip())

    def refuse(self, column: str, what: str) -> None:
        """Note a problem with a column."""
        self.problems.append(f"line {self.line}, column {column} {what}")


def read_packaged_text(name: str) -> str:
    """Return the text of a file that is shipped in the package."""
    return files(PACKAGED).joinpath(name).read_text(encoding="utf-8")


def read_table_text(path: Path | None, packaged: str) -> str:
    """Return the text of the clinic's own table, or of the packaged one; raises `TableError`."""
    if path is None:
        return read_packaged_text(packaged)
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError as error:
        raise TableError(f"There is no table {path.name}: check its name and folder.") from error
    except OSError as error:
        raise TableError(f"The table {path.name} cannot be opened: check that it may be read.") from error
    except UnicodeDecodeError as error:
        raise TableError(f"The table {path.name} is not UTF-8 text: save it as CSV UTF-8.") from error


def find_table_digest(path: Path | None, packaged: str) -> str:
    """Return the SHA-256 of a table's text, in hexadecimal."""
    return hashlib.sha256(read_table_text(path, packaged).encode()).hexdigest()


def read_rows(text: str, name: str, columns: Sequence[str]) -> list[TableRow]:
    """Return the rows of a CSV text (comma or semicolon between cells, empty lines left out).

    Raises `TableError` where columns are missing, the text is no CSV, or no row is left.
    """
    heading = text.partition("\n")[0]
    delimiter = ";" if heading.count(";") > heading.count(",") else ","
    reader = csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter, restkey="", restval="")
    try:
        found = [(reader.line_num, cells) for cells in reader]
    except csv.Error as error:
        raise TableError(f"The table {name} is not a CSV file ({error}): save it as CSV UTF-8.") from error
    missing = [column for column in columns if column not in (reader.fieldnames or ())]
    if missing:
        raise TableError(f"The table {name} lacks the columns {', '.join(missing)}: add them to its first line.")
    rows = [TableRow(line=line, cells=_clean(cells)) for line, cells in found]
    rows = [row for row in rows if any(row.cells.values())]
    if not rows:
        raise TableError(f"The table {name} has no rows below its first line: add at least one.")
    return rows


def raise_problems(rows: Sequence[TableRow], name: str) -> None:
    """Raise one `TableError` that names every problem of every row, if there is any."""
    problems = [problem for row in rows for problem in row.problems]
    if problems:
        raise TableError(f"The table {name} cannot be used: {'; '.join(problems)}.")


def _clean(cells: dict[str, str]) -> dict[str, str]:
    """Return the named cells without surrounding space; cells beyond the heading have no name and are
    dropped."""
    return {column.strip(): cell.strip() for column, cell in cells.items() if column and isinstance(cell, str)}
