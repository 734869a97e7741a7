"""What every landmark detector must do, held against the model and against its double.

Sides: the contract's sentences, each on both; for the model, a rendered figure that it must find.
"""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model.model import LandmarkModel
from elbowroom.core.landmarks.types import LandmarkSize, Person, RawLandmarks, Region
from elbowroom.service.doubles import ScriptedLandmarkDetector, mark_picture
from elbowroom.service.ports import LandmarkDetector
from tests.makers.weights import fetch_test_weights, read_figures

SIZES: tuple[LandmarkSize, ...] = ("light", "large")
Case = tuple[LandmarkDetector, list[NDArray[np.uint8]]]


def make_region(index: int) -> Region:
    return Region(centre_px=np.array([100.0 + index, 90.0]), size_px=200.0 + index, rotation_rad=0.1)


def make_landmarks(count: int) -> RawLandmarks:
    random = np.random.default_rng(3)
    shapes = {"pixels": (33, 2), "world_m": (33, 3), "person_score": (), "region_size_px": ()}
    values = {f.name: random.uniform(0, 1, (count, *shapes.get(f.name, (33,)))) for f in fields(RawLandmarks)}
    return RawLandmarks(**values)


@pytest.fixture(params=["double", "model"], scope="module")
def case(request: pytest.FixtureRequest) -> Case:
    """A detector, and pictures of which the last shows nobody."""
    if request.param == "double":
        people = [(Person(region=make_region(k), score=0.9),) for k in range(5)]
        return ScriptedLandmarkDetector([*people, ()], make_landmarks(6)), [mark_picture(k) for k in range(6)]
    nobody = np.full((320, 320, 3), 120, np.uint8)
    return LandmarkModel(fetch_test_weights(), cores=2), [*read_figures()[:5], nobody]


def test_people_are_found_picture_by_picture(case: Case) -> None:
    detector, pictures = case
    found = detector.find_people(pictures)
    assert [len(people) for people in found] == [1, 1, 1, 1, 1, 0]
    for people in found[:-1]:
        assert 0.5 <= people[0].score <= 1
        assert people[0].region.centre_px.shape == (2,)
        assert people[0].region.size_px > 0


@pytest.mark.parametrize("size", SIZES)
def test_landmarks_have_their_shapes_and_order(case: Case, size: LandmarkSize) -> None:
    detector, pictures = case
    regions = [people[0].region for people in detector.find_people(pictures[:5])]
    found = detector.detect_landmarks(pictures[:5], regions, size)
    assert found.pixels.shape == (5, 33, 2)
    assert found.world_m.shape == (5, 33, 3)
    for name in ("depth_px", "visibility", "presence", "peak", "spread_px"):
        assert getattr(found, name).shape == (5, 33)
    assert found.person_score.shape == (5,)
    np.testing.assert_array_equal(found.region_size_px, [region.size_px for region in regions])
    for field in fields(RawLandmarks):
        assert getattr(found, field.name).dtype == np.float64
        assert np.isfinite(getattr(found, field.name)).all()
    for name in ("visibility", "presence", "peak", "person_score"):
        assert getattr(found, name).min() >= 0
        assert getattr(found, name).max() <= 1
    assert (found.spread_px > 0).all()


@pytest.mark.parametrize("size", SIZES)
def test_one_picture_does_not_depend_on_the_others(case: Case, size: LandmarkSize) -> None:
    detector, pictures = case
    regions = [people[0].region for people in detector.find_people(pictures[:5])]
    together = detector.detect_landmarks(pictures[:5], regions, size)
    turned = detector.detect_landmarks(pictures[4::-1], regions[::-1], size)
    np.testing.assert_allclose(turned.pixels[::-1], together.pixels, rtol=0, atol=1e-3)
    alone = detector.detect_landmarks(pictures[3:4], regions[3:4], size)
    np.testing.assert_allclose(alone.pixels[0], together.pixels[3], rtol=0, atol=1e-3)


@pytest.mark.parametrize("size", SIZES)
def test_no_pictures_give_no_landmarks(case: Case, size: LandmarkSize) -> None:
    detector, _ = case
    assert detector.find_people([]) == []
    found = detector.detect_landmarks([], [], size)
    assert found.pixels.shape == (0, 33, 2)
    assert found.person_score.shape == (0,)


def test_pictures_without_regions_are_refused(case: Case) -> None:
    detector, pictures = case
    with pytest.raises(ValueError, match="2 pictures need as many regions, not 1"):
        detector.detect_landmarks(pictures[:2], [make_region(0)], "light")


def test_versions_tell_the_sizes_apart(case: Case) -> None:
    detector, _ = case
    names = {detector.name_version(size) for size in SIZES}
    assert len(names) == 2
    assert all(names)


def test_model_finds_the_rendered_figure_where_it_is() -> None:
    """The figure stands in the middle of its tile, 270 pixels tall, and its nose is above its ankles."""
    model = LandmarkModel(fetch_test_weights(), cores=1)
    pictures = read_figures()
    regions = [people[0].region for people in model.find_people(pictures)]
    found = model.detect_landmarks(pictures, regions, "large")
    height = found.pixels[:, [27, 28], 1].mean(axis=1) - found.pixels[:, 0, 1]
    assert (found.person_score > 0.9).all()
    assert (np.abs(found.pixels[:, [23, 24], 0].mean(axis=1) - 159.5) < 30).all()
    assert ((height > 200) & (height < 270)).all()
