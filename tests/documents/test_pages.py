"""The pages agree with the code and with one another.

Sides: the words in the code's lists against those on the glossary page; the index against the folder; every link
against the files; the tree of exceptions as drawn against the classes.
"""

from __future__ import annotations

import inspect
import re
import tomllib
from pathlib import Path

import pytest

import elbowroom
from elbowroom import errors
from tests.architecture.names import UNIT_BESIDE, UNITLESS, UNITS, VERBS
from tests.architecture.sources import ROOT

DOCS = ROOT / "docs"
PAGES = sorted([*DOCS.rglob("*.md"), *ROOT.glob("*.md")])
LINK = re.compile(r"\]\(([^)#\s]+)")


def read_table(text: str, heading: str) -> list[str]:
    """Return the first column of the table below a heading."""
    section = text.split(f"## {heading}\n", 1)[1].split("\n## ", 1)[0]
    rows = [line.split("|")[1].strip() for line in section.splitlines() if line.startswith("|")]
    return rows[2:]


def read_endings(text: str, label: str) -> tuple[str, ...]:
    line = next(line for line in text.splitlines() if line.startswith(f"- {label}"))
    return tuple(re.findall(r"`(\w+)`", line.split(";")[0]))


def list_broken_links(page: Path) -> list[str]:
    targets = LINK.findall(page.read_text(encoding="utf-8"))
    return [name for name in targets if "://" not in name and not (page.parent / name).exists()]


def test_glossary_explains_every_verb() -> None:
    text = (DOCS / "glossary.md").read_text(encoding="utf-8")
    assert tuple(read_table(text, "Verbs")) == VERBS


def test_glossary_lists_every_ending() -> None:
    text = (DOCS / "glossary.md").read_text(encoding="utf-8")
    assert read_endings(text, "Units") == UNITS
    assert read_endings(text, "Words for numbers without a unit") == UNITLESS
    assert read_endings(text, "Words for numbers whose unit") == UNIT_BESIDE


def test_glossary_coins_a_word_once() -> None:
    words = read_table((DOCS / "glossary.md").read_text(encoding="utf-8"), "The job")
    assert len(words) > 20
    assert len(set(words)) == len(words)


def test_index_names_every_page() -> None:
    text = (DOCS / "index.md").read_text(encoding="utf-8")
    pages = {page.relative_to(DOCS).as_posix() for page in DOCS.rglob("*.md")} - {"index.md"}
    assert pages - set(LINK.findall(text)) == set()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_links_lead_somewhere(page: Path) -> None:
    assert list_broken_links(page) == []


def test_broken_link_is_noticed(tmp_path: Path) -> None:
    page = tmp_path / "a.md"
    page.write_text("[a](a.md) and [b](b.md)", encoding="utf-8")
    assert list_broken_links(page) == ["b.md"]


def test_tree_of_exceptions_is_drawn_whole() -> None:
    drawn = set(re.findall(r"\b\w+Error\b", errors.__doc__ or ""))
    classes = {name for name, _ in inspect.getmembers(errors, inspect.isclass)}
    assert drawn == classes
    assert all(issubclass(getattr(errors, name), errors.ElbowroomError) for name in classes)


def test_changes_name_this_version() -> None:
    assert f"## {elbowroom.__version__} " in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")


def test_licence_is_the_one_stated() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert (ROOT / "LICENSE").read_text(encoding="utf-8").startswith(f"{project['license']} License\n")
