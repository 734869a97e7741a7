"""Regions, crops, people and heat of the landmark model, without its weights.

Sides: closed forms (a drawn dot, a Gaussian heat, an even heat, boxes of known overlap); round trip of a point through
crop and picture in turned, moved and mirrored frames; a second algorithm (a loop over boxes and cells).
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model import decode, heat, people
from elbowroom.adapters.landmark_model.crops import CropCutter
from elbowroom.adapters.landmark_model.regions import find_crop_map, find_region, find_whole_region
from elbowroom.core.landmarks.types import Region

Array = NDArray[np.float64]


def draw_dot(place: Array, height: int = 300, width: int = 400) -> NDArray[np.uint8]:
    """A round bright dot, its centre at x, y in the convention of pixel centres."""
    y, x = np.mgrid[:height, :width]
    squares = (x - place[0]) ** 2 + (y - place[1]) ** 2
    shade = 250 * np.exp(-squares / (2 * 9.0**2))
    return np.repeat(np.rint(shade).astype(np.uint8)[..., None], 3, axis=2)


def find_dot(picture: NDArray[np.uint8]) -> Array:
    """Centre of brightness, x and y."""
    weight = picture[..., 0].astype(np.float64)
    y, x = np.mgrid[: picture.shape[0], : picture.shape[1]]
    return np.array([(weight * x).sum(), (weight * y).sum()]) / weight.sum()


def make_outputs(places: Array, heat_logits: NDArray[np.float32]) -> list[NDArray[np.float32]]:
    """Outputs of the landmark network that put all 33 landmarks of each crop at `places` (n, 2), in shares."""
    points = np.zeros((len(places), 39, 5), np.float32)
    points[..., :2] = places[:, None] * 256
    flat = points.reshape(len(places), -1)
    return [flat, np.ones((len(places), 1), np.float32), heat_logits, np.zeros((len(places), 117), np.float32)]


@pytest.mark.parametrize("turn_deg", [0.0, 25.0, -90.0, 160.0])
@pytest.mark.parametrize("size_px", [180.0, 256.0, 420.0])
def test_dot_comes_back_to_its_place(turn_deg: float, size_px: float) -> None:
    place = np.array([212.3, 141.8])
    region = Region(centre_px=np.array([203.0, 150.5]), size_px=size_px, rotation_rad=float(np.radians(turn_deg)))
    (crop,) = CropCutter().crop_regions([draw_dot(place)], [region], 256, repeats_edge=True)
    share = (find_dot(crop) + 0.5) / 256
    cold = np.full((1, 39, 64, 64), -9.0, np.float32)
    found = decode.decode_landmarks(make_outputs(share[None], cold), [region])
    # 8-bit steps of the dot's tails leave a few hundredths of a pixel.
    np.testing.assert_allclose(found.pixels[0], np.tile(place, (33, 1)), atol=0.1)


def test_crop_of_mirrored_picture_is_mirrored_crop() -> None:
    picture = np.random.default_rng(1).integers(0, 256, (200, 300, 3), dtype=np.uint8)
    region = Region(centre_px=np.array([120.25, 90.5]), size_px=128.0, rotation_rad=0.0)
    other = Region(centre_px=np.array([299 - 120.25, 90.5]), size_px=128.0, rotation_rad=0.0)
    (crop,) = CropCutter().crop_regions([picture], [region], 64, repeats_edge=True).copy()
    mirrored = np.ascontiguousarray(picture[:, ::-1])
    (flipped,) = CropCutter().crop_regions([mirrored], [other], 64, repeats_edge=True)
    assert np.abs(flipped[:, ::-1].astype(int) - crop.astype(int)).max() <= 1


@pytest.mark.parametrize(("repeats_edge", "expected"), [(True, 200), (False, 0)])
def test_outside_of_picture(repeats_edge: bool, expected: int) -> None:
    picture = np.full((50, 60, 3), 200, np.uint8)
    region = Region(centre_px=np.array([-400.0, 900.0]), size_px=100.0, rotation_rad=0.4)
    (crop,) = CropCutter().crop_regions([picture], [region], 32, repeats_edge=repeats_edge)
    assert (crop == expected).all()


def test_crop_memory_used_again_holds_the_new_crop() -> None:
    cutter = CropCutter()
    big, small = np.full((400, 500, 3), 30, np.uint8), np.full((20, 30, 3), 90, np.uint8)
    first = cutter.crop_regions([big, big], [find_whole_region(big)] * 2, 64, repeats_edge=True)
    assert (first == 30).all()
    second = cutter.crop_regions([small], [find_whole_region(small)], 64, repeats_edge=True)
    assert second.shape == (1, 64, 64, 3)
    assert (second == 90).all()


def test_whole_region_meets_the_outer_edges() -> None:
    region = find_whole_region(np.zeros((200, 100, 3), np.uint8))
    to_picture = find_crop_map(region, 50)
    top_left_edge = to_picture @ np.array([-0.5, -0.5, 1.0])
    np.testing.assert_allclose(top_left_edge, [49.5 - 100, -0.5])


@pytest.mark.parametrize(
    ("circle", "turn_deg"),
    [((0.0, -80.0), 0.0), ((80.0, 0.0), 90.0), ((-80.0, 0.0), -90.0), ((40.0, -40.0 * 3**0.5), 30.0)],
    ids=["upright", "head to the right", "head to the left", "leaning right"],
)
def test_region_from_points(circle: tuple[float, float], turn_deg: float) -> None:
    hips = np.array([310.0, 205.0])
    region = find_region(hips, hips + np.array(circle))
    np.testing.assert_allclose(region.centre_px, hips)
    assert region.size_px == pytest.approx(2.5 * 80)
    assert np.degrees(region.rotation_rad) == pytest.approx(turn_deg)


def test_heat_moves_landmark_to_its_centre_and_gives_its_width() -> None:
    """A Gaussian of 1.2 cells fits the window, so its centre and width come back to a few thousandths."""
    y, x = np.mgrid[:64, :64]
    shade = 0.9 * np.exp(-((x - 30.3) ** 2 + (y - 20.6) ** 2) / (2 * 1.2**2))
    logits = np.log(np.clip(shade, 1e-9, None) / (1 - shade)).astype(np.float32)[None, None]
    found = heat.refine_landmarks(np.array([[[31.5 / 64, 20.5 / 64]]]), logits)
    np.testing.assert_allclose(found.places[0, 0] * 64, [30.3, 20.6], atol=0.01)
    assert found.spread[0, 0] == pytest.approx(1.2, abs=0.02)
    assert found.peak[0, 0] == pytest.approx(shade.max(), abs=1e-6)


def test_low_heat_leaves_landmark_but_tells_its_width() -> None:
    place = np.array([[[0.41, 0.73]]])
    found = heat.refine_landmarks(place, np.full((1, 1, 64, 64), -1.0, np.float32))
    np.testing.assert_array_equal(found.places, place)
    assert found.peak[0, 0] == pytest.approx(1 / (1 + np.e), abs=1e-7)
    assert found.spread[0, 0] == pytest.approx(heat.EVEN_SPREAD_CELLS)


def test_landmark_outside_the_crop_has_no_peak() -> None:
    place = np.array([[[1.3, 0.5]]])
    found = heat.refine_landmarks(place, np.full((1, 1, 64, 64), 5.0, np.float32))
    np.testing.assert_array_equal(found.places, place)
    assert found.peak[0, 0] == 0
    assert found.spread[0, 0] == pytest.approx(heat.EVEN_SPREAD_CELLS)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_heat_agrees_with_a_loop_over_cells(seed: int) -> None:
    random = np.random.default_rng(seed)
    logits = random.normal(0, 3, (1, 2, 64, 64)).astype(np.float32)
    places = random.uniform(-0.05, 1.05, (1, 2, 2))
    found = heat.refine_landmarks(places, logits)
    for point in range(2):
        expected = refine_by_loop(places[0, point], logits[0, point].astype(np.float64))
        np.testing.assert_allclose(found.places[0, point], expected, atol=1e-9)


def refine_by_loop(place: Array, logits: Array) -> Array:
    """The refinement, cell by cell."""
    column, row = int(place[0] * 64), int(place[1] * 64)
    if not (0 <= column < 64 and 0 <= row < 64):
        return place
    total, sums, peak = 0.0, np.zeros(2), 0.0
    for y in range(max(0, row - 4), min(64, row + 5)):
        for x in range(max(0, column - 4), min(64, column + 5)):
            value = 1 / (1 + np.exp(-logits[y, x]))
            total, sums, peak = total + value, sums + value * np.array([x, y]), max(peak, value)
    return sums / total / 64 if peak >= 0.5 else place


def test_world_points_turn_with_the_region() -> None:
    outputs = make_outputs(np.array([[0.5, 0.5]]), np.full((1, 39, 64, 64), -9.0, np.float32))
    outputs[3][0, :3] = [1.0, 0.0, 0.3]
    quarter = Region(centre_px=np.zeros(2), size_px=100.0, rotation_rad=np.pi / 2)
    found = decode.decode_landmarks(outputs, [quarter])
    np.testing.assert_allclose(found.world_m[0, 0], [0.0, 1.0, 0.3], atol=1e-7)


def test_overlap_of_known_boxes() -> None:
    box = np.array([0.0, 0.0, 2.0, 2.0])
    others = np.array([[0.0, 0.0, 2.0, 2.0], [1.0, 0.0, 3.0, 2.0], [2.0, 2.0, 3.0, 3.0], [0.5, 0.5, 1.5, 1.5]])
    np.testing.assert_allclose(people.find_overlaps(box, others), [1.0, 1 / 3, 0.0, 0.25])


def make_raw_people(boxes: list[tuple[int, float, float]]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Detector output with boxes of 60 x 60 pixels: (anchor, x shift in pixels, score)."""
    raw = np.zeros((2254, 12), np.float32)
    logits = np.full((2254, 1), -20.0, np.float32)
    for anchor, shift, score in boxes:
        raw[anchor] = [shift, 0, 60, 60, *[shift, 0] * 4]
        logits[anchor] = np.log(score / (1 - score))
    return raw, logits


def test_overlapping_boxes_become_their_weighted_mean_and_others_stay() -> None:
    # Anchors 0 and 1 share the first cell's centre, (4, 4) pixels; anchor 1500 lies far from it.
    found = people.decode_people(*make_raw_people([(0, 0.0, 0.9), (1, 12.0, 0.6), (1500, 0.0, 0.7), (9, 0.0, 0.4)]))
    assert [person.score for person in found] == pytest.approx([0.9, 0.7], abs=1e-6)
    assert found[0].points[0, 0] * 224 == pytest.approx(4 + 12 * 0.6 / 1.5, abs=1e-4)
    assert found[1].points[0] * 224 == pytest.approx(people.list_anchors()[1500] * 224, abs=1e-4)


def test_nobody_gives_nobody() -> None:
    assert people.decode_people(*make_raw_people([])) == ()


def test_anchors_by_counting() -> None:
    anchors = people.list_anchors()
    assert anchors.shape == (28 * 28 * 2 + 14 * 14 * 2 + 7 * 7 * 6, 2)
    np.testing.assert_allclose(anchors[2], [1.5 / 28, 0.5 / 28])
    np.testing.assert_allclose(anchors[-1], [6.5 / 7, 6.5 / 7])
