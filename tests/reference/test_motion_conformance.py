"""The public conformance files of the C3D format read to the same places, and the kind that is not read is refused.

Source: the format's own sample set Sample01 (c3d.org): one gait trial in three number formats, as integers and reals.

Sides: the files against one another within one integer step; against the independent reader c3d; a plain refusal.
"""

from __future__ import annotations

import warnings
from pathlib import Path

import c3d
import numpy as np
import pytest

from elbowroom.adapters.exchange.recordings import read_points
from elbowroom.errors import VisitError

READ = ("pi", "pr", "vi", "vr")
"""Intel and DEC, integers and reals."""
REFUSED = ("si", "sr")
"""SGI."""


def find_file(shared_dir: Path, kind: str) -> Path:
    return shared_dir / "data" / "c3d" / "Sample01" / f"Eb015{kind}.c3d"


def read_second(path: Path) -> tuple[np.ndarray, float]:
    with warnings.catch_warnings(), path.open("rb") as file:
        warnings.simplefilter("ignore")
        reader = c3d.Reader(file)
        frames = [points[:, :4] for _, points, _ in reader.read_frames()]
        return np.array(frames), abs(float(reader.point_scale))


@pytest.mark.parametrize("kind", READ)
def test_all_kinds_give_the_places_of_the_first(kind: str, shared_dir: Path) -> None:
    first = read_points(find_file(shared_dir, "pi"))
    points = read_points(find_file(shared_dir, kind))
    _, step_mm = read_second(find_file(shared_dir, "pi"))
    assert points.labels == first.labels
    assert points.places_m.shape == first.places_m.shape == (450, 26, 3)
    np.testing.assert_array_equal(np.isnan(points.places_m), np.isnan(first.places_m))
    np.testing.assert_allclose(points.places_m, first.places_m, atol=step_mm / 1000.0)


@pytest.mark.parametrize("kind", READ)
def test_an_independent_reader_gives_the_same(kind: str, shared_dir: Path) -> None:
    points = read_points(find_file(shared_dir, kind))
    second, _ = read_second(find_file(shared_dir, kind))
    seen = np.isfinite(points.places_m).all(axis=2)
    np.testing.assert_array_equal(seen, second[..., 3] >= 0.0)
    np.testing.assert_allclose(points.places_m[seen], second[..., :3][seen] / 1000.0, atol=1e-5)


@pytest.mark.parametrize("kind", REFUSED)
def test_the_kind_that_is_not_read_is_refused_plainly(kind: str, shared_dir: Path) -> None:
    with pytest.raises(VisitError, match="SGI computers, which is not read: export it once more in the Intel format"):
        read_points(find_file(shared_dir, kind))
