"""The example on the page of captures is one that works, and the page of data names every table.

Sides: the example read by the reader itself; the words of the page against the code.
"""

from __future__ import annotations

import re
from pathlib import Path

from elbowroom.adapters.exchange.columns import COLUMNS
from elbowroom.adapters.visit_files.captures import read_capture
from elbowroom.core.landmarks.names import Joint
from elbowroom.service.capture_types import Axis
from tests.architecture.sources import ROOT


def test_example_is_read(tmp_path: Path) -> None:
    page = (ROOT / "docs" / "captures.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```toml\n(.*?)```", page, re.DOTALL)
    for name in ("throw-1.c3d", "throw-2.csv"):
        (tmp_path / name).touch()
    path = tmp_path / "capture.toml"
    path.write_text(example, encoding="utf-8")
    plan = read_capture(path)
    assert set(plan.markers) | set(plan.stand_ins) == set(Joint)
    assert plan.markers[Joint.RIGHT_ELBOW] == ("RELB", "RELM")
    assert plan.stand_ins[Joint.RIGHT_HEEL].down_m == 0.05
    assert (plan.target, plan.up) == (Axis.PLUS_X, Axis.PLUS_Z)
    assert plan.joint_standard_m == 0.01
    assert [axis for axis in Axis if f'"{axis}"' not in page] == []


def test_page_of_data_names_every_table() -> None:
    page = (ROOT / "docs" / "data.md").read_text(encoding="utf-8")
    assert [table for table in COLUMNS if f"`{table}" not in page] == []
