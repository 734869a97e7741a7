"""Tables of rest days, conduct, programmes and soreness: a row that cannot be used is named, line and column.

Sides: the packaged tables with one cell spoilt, each spoilt cell named; the packaged tables as they are.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from elbowroom.adapters.tables.programmes import read_programmes, read_soreness_rules
from elbowroom.adapters.tables.rest import read_rest_tables
from elbowroom.adapters.tables.rows import read_packaged_text
from elbowroom.errors import TableError

REST_SOURCE = (
    "US national youth pitching guideline (national federation and professional league); "
    "table read in a second-hand copy"
)
CASES: dict[str, tuple[str, str, str, str]] = {
    "rest without source": ("rest_days.csv", REST_SOURCE, "", "line 2, column source is empty"),
    "rest from memory": ("rest_days.csv", "no,second-hand copy", "no,from memory", "column mark holds 'from memory'"),
    "rest that falls": ("rest_days.csv", "50,21,36,", "50,36,21,", "do not rise"),
    "two rows for an age": ("rest_days.csv", "9,10,75,21", "8,10,75,21", "which the row before has too"),
    "no issue": ("rest_days.csv", '"older issue, day of issue not in the copy"', "", "column issued is empty"),
    "negative count": ("rest_days.csv", "7,8,50", "7,8,-50", "column daily_most holds -50"),
    "step without source": (
        "throwing_programmes.csv",
        "interval throwing sheet for adults (check values E5)",
        "",
        "source",
    ),
    "step left out": ("throwing_programmes.csv", "9,17,1,3,phase 3", "9,17,1,4,phase 3", "where 3 belongs"),
    "missing distance": ("throwing_programmes.csv", "25|25|25,50 %", "25|25,50 %", "2 distances for 3 sets"),
    "rule without mark": ("soreness_rules.csv", "from memory,", ",", "column mark is empty"),
    "two steps back": ("soreness_rules.csv", "2,-1,no", "2,-2,no", "give 1, 0 or -1"),
}
READERS: dict[str, Callable[[Path], object]] = {
    "rest_days.csv": read_rest_tables,
    "throwing_programmes.csv": read_programmes,
    "soreness_rules.csv": read_soreness_rules,
}


@pytest.mark.parametrize("case", CASES)
def test_spoilt_row_is_named(case: str, tmp_path: Path) -> None:
    name, old, new, words = CASES[case]
    text = read_packaged_text(name)
    assert old in text
    (tmp_path / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(TableError) as caught:
        READERS[name](tmp_path / name)
    assert words in str(caught.value)


@pytest.mark.parametrize(("old", "new", "words"), [("canada|", "mars|", "no table"), ("games_a_day", "naps", "'naps'")])
def test_spoilt_conduct_is_named(tmp_path: Path, old: str, new: str, words: str) -> None:
    path = tmp_path / "conduct.csv"
    path.write_text(read_packaged_text("rest_conduct.csv").replace(old, new, 1), encoding="utf-8")
    with pytest.raises(TableError, match=words):
        read_rest_tables(None, path)


def test_packaged_tables_are_read() -> None:
    assert len(read_rest_tables()) == 5
    assert len(read_programmes()) == 3
    assert len(read_soreness_rules()) == 7
