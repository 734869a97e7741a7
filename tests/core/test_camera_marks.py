"""Ground marks: where they lie, which picture shows them, and the camera that they give.

Sides: published sizes with their source, identities of geometry (diagonals, edges), round trip through a
known camera, the effect of how a thing was laid against focal over depth, refusals by case.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from elbowroom.adapters.boards.field_sizes import collect_field_sizes, get_field_size, read_field_sizes
from elbowroom.core.cameras.lens import assume_phone_lens
from elbowroom.core.cameras.marks import (
    MarkGroup,
    add_laid_standard,
    estimate_marked_camera,
    locate_cross_marks,
    locate_home_marks,
    locate_plate_marks,
    pair_marks,
)
from elbowroom.core.cameras.project import project_points
from elbowroom.core.cameras.types import Camera, Lens
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import TableError, VisitError
from tests.makers.boards import aim_camera

LENS = Lens(width_px=1280, height_px=720, focal_px=1005.0, centre_px=(639.5, 359.5))
INCH_M, FOOT_M = 0.0254, 0.3048


def find_home() -> dict[str, np.ndarray]:
    sizes = [get_field_size("home plate", name).size_m for name in ("width", "side", "depth")]
    return locate_home_marks(get_field_size("pitching distance", "plate front to home apex").size_m, 0.254, *sizes)


def test_plate_and_distance_are_the_printed_ones() -> None:
    # 24 x 6 in and 60 ft 6 in = 18.440 m: restatements of the rules (second-hand copy), rule text not seen.
    assert get_field_size("pitcher's plate", "width").size_m == pytest.approx(24 * INCH_M)
    assert get_field_size("pitcher's plate", "depth").size_m == pytest.approx(6 * INCH_M)
    distance = get_field_size("pitching distance", "plate front to home apex").size_m
    assert distance == pytest.approx(18.440, abs=5e-4)
    youth = get_field_size("pitching distance", "plate front to home apex", "9 to 12 years").size_m
    assert youth == pytest.approx(14.021, abs=5e-4)
    assert get_field_size("pitcher's plate", "depth", "youth").mark == "from memory"


@pytest.mark.parametrize(
    ("level", "feet", "inches"),
    [("60 ft", 84, 10.2), ("70 ft", 98, 11.9), ("80 ft", 113, 1.6), ("90 ft", 127, 3.375)],
)
def test_diagonals_of_the_bases_are_the_printed_ones(level: str, feet: int, inches: float) -> None:
    # Printed diagonals (second-hand copies, recomputed): 84 ft 10.2, 98 ft 11.9, 113 ft 1.6, 127 ft 3 3/8 in.
    diagonal = get_field_size("bases", "side", level).size_m * np.sqrt(2)
    assert diagonal == pytest.approx(feet * FOOT_M + inches * INCH_M, abs=0.05 * INCH_M)


def test_home_plate_closes_with_12_02_inch_edges_not_12() -> None:
    home = find_home()
    edges = [np.linalg.norm(home["home_apex"] - home[f"home_side_{side}"]) for side in ("left", "right")]
    # A 17 in square with two corners cut by 8.5 in legs: 8.5 sqrt 2 = 12.02 in, where 12 is printed.
    assert edges == pytest.approx([8.5 * np.sqrt(2) * INCH_M] * 2)
    first, second = (home[f"home_side_{side}"] - home["home_apex"] for side in ("left", "right"))
    assert first @ second == pytest.approx(0.0, abs=1e-12)
    front = home["home_front_left"] - home["home_front_right"]
    assert np.linalg.norm(front) == pytest.approx(17 * INCH_M)
    assert home["home_apex"] == pytest.approx([18.4404, 0.0, -0.254])


def test_left_is_left_of_someone_who_faces_the_target() -> None:
    marks = {**locate_plate_marks(0.61, 0.152), **find_home(), **locate_cross_marks(0.5, 0.4, 0.3, 0.2)}
    assert all(place[1] > 0 for name, place in marks.items() if name.endswith("left"))
    assert all(place[1] < 0 for name, place in marks.items() if name.endswith("right"))
    assert marks["cross_front"] == pytest.approx([0.5, 0, 0])
    assert marks["cross_back"] == pytest.approx([-0.4, 0, 0])
    assert marks["plate_back_left"] == pytest.approx([-0.152, 0.305, 0])


def test_an_unknown_mark_is_named_with_those_allowed() -> None:
    with pytest.raises(VisitError, match=r"plate_front_lft.*plate_front_left"):
        pair_marks(locate_plate_marks(0.61, 0.152), {"plate_front_lft": (1.0, 2.0)})


def make_group(camera: Camera, names: tuple[str, ...], noise_px: float) -> MarkGroup:
    marks = {**locate_plate_marks(0.61, 0.152), **locate_cross_marks(0.5, 0.5, 0.5, 0.5)}
    pixels = project_points(camera, np.array([marks[name] for name in names]))
    pixels += np.random.default_rng(4).normal(size=pixels.shape) * noise_px
    seen = pair_marks(marks, {name: (float(x), float(y)) for name, (x, y) in zip(names, pixels, strict=True)})
    return MarkGroup(seen=seen, laid_standard_m=0.005)


CROSS = ("cross_middle", "cross_front", "cross_back", "cross_left", "cross_right")


def test_a_cross_gives_the_camera_within_its_uncertainty() -> None:
    true = aim_camera(LENS, (1.0, -4.5, 1.4), (0.5, 0.0, 0.9))
    found = estimate_marked_camera("phone", assume_phone_lens(1280, 720), [make_group(true, CROSS, 1.0)])
    assert isinstance(found, Camera), found
    standards = np.sqrt(np.diag(found.covariance))
    assert abs(found.lens.focal_px - LENS.focal_px) < 3 * standards[0]
    assert np.all(np.abs(found.translation - true.translation) < 3.5 * standards[10:])
    assert standards[0] < np.sqrt(assume_phone_lens(1280, 720).covariance[0, 0])


def test_one_edge_of_the_plate_is_refused() -> None:
    true = aim_camera(LENS, (1.0, -4.5, 1.4), (0.5, 0.0, 0.9))
    group = make_group(true, ("plate_front_left", "plate_front_right"), 1.0)
    found = estimate_marked_camera("phone", assume_phone_lens(1280, 720), [group])
    assert isinstance(found, Absent)
    assert "2 known points" in found.reason


def test_laying_counts_as_focal_over_depth() -> None:
    camera = aim_camera(LENS, (0.0, -5.0, 0.0), (0.0, 0.0, 0.0))
    group = make_group(camera, CROSS, 0.0)
    wide = add_laid_standard(camera, replace(group, laid_standard_m=0.01))
    assert wide.standard_px == pytest.approx(np.hypot(1.5, 1005.0 * 0.01 / 5.0))


def test_every_size_has_its_source() -> None:
    sizes = read_field_sizes()
    assert len(sizes) > 15
    assert all(size.source and size.mark for size in sizes)


HEAD = "thing,level,dimension,size,unit,mark,source,note"


@pytest.mark.parametrize(
    ("row", "words"),
    [
        pytest.param("plate,any,width,24,in,computed,,", "row 2: no source", id="no-source"),
        pytest.param("plate,any,width,24,yd,computed,a book,", "unit yd", id="unit"),
        pytest.param("plate,any,width,x,in,computed,a book,", "size x", id="number"),
        pytest.param("plate,any,width,24,in,heard,a book,", "mark heard", id="mark"),
    ],
)
def test_an_unsound_row_is_refused(row: str, words: str) -> None:
    with pytest.raises(TableError, match=words):
        collect_field_sizes([HEAD, row])


def test_a_size_that_the_table_lacks_names_the_levels_it_has() -> None:
    with pytest.raises(TableError, match="standard, youth"):
        get_field_size("pitcher's plate", "width", "giants")
