"""The example on the page of the visit file is one that works, and the page names everything that may be written.

Sides: the example read by the reader itself, against the values that its remarks state; the words of the page against
the words in the code.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from elbowroom.adapters.boards.field_sizes import read_field_sizes
from elbowroom.adapters.visit_files.clips import MARKS
from elbowroom.adapters.visit_files.ground import DISTANCE
from elbowroom.adapters.visit_files.reading import read_visit
from elbowroom.core.cameras.types import View
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.landmarks.names import Side
from elbowroom.core.loads.types import BallKind, Sex
from elbowroom.core.measures.types import ThrowKind
from elbowroom.service.visit_plan import BoardSize
from tests.architecture.sources import ROOT

PAGE = (ROOT / "docs" / "visit-file.md").read_text(encoding="utf-8")
FENCE = re.compile(r"```toml\n(.*?)```", re.DOTALL)


def test_example_is_read(tmp_path: Path) -> None:
    (example,) = FENCE.findall(PAGE)
    for name in re.findall(r'"([\w-]+\.(?:mp4|mov|csv))"', example):
        (tmp_path / name).touch()
    (tmp_path / "visit.toml").write_text(example, encoding="utf-8")
    plan = read_visit(tmp_path, read_field_sizes())
    assert plan.athlete.height_m == pytest.approx(1.524)
    assert plan.sizes.target_distance_m == pytest.approx(14.0208)
    assert [clip.view for clip in plan.clips] == [View.OPEN_SIDE, View.BEHIND]
    assert plan.clips[1].thrower is Side.LEFT
    assert len(plan.clips[1].marks) == 4
    assert plan.tolerances_path == tmp_path / "our-tolerances.csv"


@pytest.mark.parametrize(
    "words", [View, ThrowKind, ThrowingHand, Side, BoardSize, Sex, BallKind], ids=lambda words: words.__name__
)
def test_page_names_every_word(words: type[View]) -> None:
    assert [word for word in words if f"`{word}`" not in PAGE] == []


def test_page_names_every_mark_and_level() -> None:
    levels = [size.level for size in read_field_sizes() if size.thing == DISTANCE]
    names = [name.replace("_", " ") for name in MARKS]
    assert [name for name in (*names, *levels) if f"`{name}`" not in PAGE] == []
