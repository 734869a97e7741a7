"""The error tables of the landmark model as files: the packaged ones read, damaged ones refused in one sentence.

Sides: the files as packaged; copies with one thing wrong each; a limit on size.
"""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from elbowroom.adapters.tables.landmark_tables import read_landmark_tables
from elbowroom.core.landmarks.models import KINDS
from elbowroom.errors import TableError

NAME = "landmark_model_large"


@pytest.fixture(name="folder")
def copy_tables(tmp_path: Path) -> Path:
    for ending in ("json", "npz"):
        (tmp_path / f"{NAME}.{ending}").write_bytes((files("elbowroom.tables") / f"{NAME}.{ending}").read_bytes())
    return tmp_path


def change(folder: Path, **entries: object) -> None:
    path = folder / f"{NAME}.json"
    path.write_text(json.dumps(json.loads(path.read_text()) | entries))


def test_packaged_tables_read_and_say_how_they_were_made() -> None:
    tables = read_landmark_tables("large")
    assert not tables.is_provisional
    assert "unseen" in tables.how or "not fitted to" in tables.how
    assert tables.offset.hidden.shape[0] == len(KINDS)
    assert 0.005 < np.exp(0.5 * tables.noise.coefficients[..., 0]).max() < 0.2
    assert (files("elbowroom.tables") / f"{NAME}.npz").stat().st_size < 300_000  # type: ignore[attr-defined]


@pytest.mark.parametrize("ending", ["json", "npz"])
def test_missing_and_broken_files_are_refused(folder: Path, ending: str) -> None:
    path = folder / f"{NAME}.{ending}"
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(TableError, match=path.name):
        read_landmark_tables("large", folder)
    path.unlink()
    with pytest.raises(TableError, match=path.name):
        read_landmark_tables("large", folder)


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ({"kinds": ["HEAD"]}, "other joints"),
        ({"coefficients": [[1.0]]}, "out of range"),
        ({"standing_share": [2.0] * 10}, "out of range"),
        ({"noise_time_s": "soon"}, "no number"),
        ({"depth_standard_m": -1.0}, "out of range"),
    ],
)
def test_wrong_numbers_are_refused(folder: Path, entry: dict[str, object], words: str) -> None:
    change(folder, **entry)
    with pytest.raises(TableError, match=words):
        read_landmark_tables("large", folder)


def test_networks_of_another_shape_are_refused(folder: Path) -> None:
    with np.load(folder / f"{NAME}.npz") as arrays:
        parts = dict(arrays)
    parts["hidden"] = parts["hidden"][:, :-1]
    np.savez_compressed(folder / f"{NAME}.npz", **parts)
    with pytest.raises(TableError, match="does not fit this version in hidden"):
        read_landmark_tables("large", folder)
