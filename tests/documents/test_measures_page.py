"""The page of measures is what the registry says.

Sides: the file against the text made from the registry; every key and instant found in the file as words.
"""

from __future__ import annotations

from pathlib import Path

from elbowroom.core.instants.types import InstantName
from elbowroom.core.measures.registry import HEADLINES, MEASURES
from elbowroom.service.reference_pages import render_measures_page


def test_page_is_up_to_date(root_dir: Path) -> None:
    assert (root_dir / "docs" / "measures.md").read_text(encoding="utf-8") == render_measures_page()


def test_page_names_every_measure(root_dir: Path) -> None:
    lines = (root_dir / "docs" / "measures.md").read_text(encoding="utf-8").splitlines()
    for definition in MEASURES:
        rows = [line for line in lines if f"| `{definition.key}` |" in line]
        assert len(rows) == 1
        assert (" * |" in rows[0]) == (definition.key in HEADLINES)
        assert rows[0].count("|") == 8
    for name in InstantName:
        assert any(line.startswith(f"| {name.value} |") for line in lines)
