"""The page on protection names only tests that are there, or says why not.

Sides: every row of the page against the functions of the test files; each part of the rule seen failing on a planted
row.
"""

from __future__ import annotations

import ast
import re

import pytest

from tests.architecture.sources import ROOT

PAGE = ROOT / "docs" / "security.md"
EXCUSES = ("not applicable, because ", "not met, because ")
SHOWN = re.compile(r"^`(test_\w+\.py)::(test_\w+)`$")


def read_rows(text: str) -> list[list[str]]:
    """Return the cells of every row that begins with the number of an item."""
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line.startswith("|")]
    return [row for row in rows if re.match(r"\d+\.\d+", row[0])]


def find_row_problems(row: list[str]) -> list[str]:
    """Name what is wrong with a row."""
    if len(row) != 4:
        return [f"{row[0]} has {len(row)} cells"]
    if not row[3]:
        return [] if row[2].startswith(EXCUSES) else [f"{row[0]} neither shows nor excuses"]
    found = SHOWN.match(row[3])
    if not found:
        return [f"{row[0]} names no test"]
    return [] if has_test(*found.groups()) else [f"{row[0]} names a test that is not there: {row[3]}"]


def has_test(file: str, name: str) -> bool:
    """Say whether some test file of that name holds that test."""
    trees = [ast.parse(path.read_text(encoding="utf-8")) for path in (ROOT / "tests").rglob(file)]
    return any(isinstance(node, ast.FunctionDef) and node.name == name for tree in trees for node in tree.body)


def test_every_item_is_shown_or_excused() -> None:
    rows = read_rows(PAGE.read_text(encoding="utf-8"))
    assert len(rows) > 50
    assert [problem for row in rows for problem in find_row_problems(row)] == []


@pytest.mark.parametrize(
    "row",
    [
        ["1.1.1", "asks", "yes", ""],
        ["1.1.1", "asks", "yes", "`test_web_app.py::test_that_is_not_there`"],
        ["1.1.1", "asks", "yes", "`test_nowhere.py::test_every_answer_is_sealed`"],
        ["1.1.1", "asks", "yes", "a look at it"],
        ["1.1.1", "asks", "yes"],
    ],
)
def test_rule_refuses(row: list[str]) -> None:
    assert find_row_problems(row)


def test_page_states_its_version_and_that_it_is_remembered() -> None:
    text = " ".join(PAGE.read_text(encoding="utf-8").split())
    assert "version 4.0.3" in text
    assert "from memory" in text
