"""The converted landmark models against the files they were made from.

Sides: the same weights under the runtime they were published for (a second program, the interpreter of
ai-edge-litert); one picture alone against the same picture in a batch; a shifted picture against the shifted answer;
a mirrored picture against the mirrored answer, which shows where a pixel's (0, 0) is.
The pictures are of a rendered figure made for these tests.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model import decode, people
from elbowroom.adapters.landmark_model.convert import DETECTOR_RANGE, LANDMARK_RANGE, convert_model
from elbowroom.adapters.landmark_model.converted import prepare_model
from elbowroom.adapters.landmark_model.crops import CropCutter
from elbowroom.adapters.landmark_model.model import LandmarkModel
from elbowroom.adapters.landmark_model.network import Network
from elbowroom.adapters.landmark_model.regions import find_whole_region
from elbowroom.adapters.landmark_model.sources import WeightName
from elbowroom.core.landmarks.types import LandmarkSize, Region
from tests.makers.weights import TILE_PX, fetch_test_weights, read_figure, read_figures

Outputs = dict[str, NDArray[np.float32]]

LANDMARK_OUTPUTS = ("Identity", "Identity_1", "Identity_3", "Identity_4")
MIRRORED = np.array([0, 4, 5, 6, 1, 2, 3, 8, 7, 10, 9, *(k + 1 if k % 2 else k - 1 for k in range(11, 33))])
"""The landmark of the other side, for each landmark."""


@pytest.fixture(scope="module")
def folder() -> Path:
    return fetch_test_weights()


@pytest.fixture(scope="module")
def model(folder: Path) -> LandmarkModel:
    return LandmarkModel(folder, cores=2)


@pytest.fixture(scope="module")
def region(model: LandmarkModel) -> Region:
    found = model.find_people([read_figure()])[0]
    assert len(found) == 1
    return found[0].region


def run_original(path: Path, pictures: NDArray[np.float32]) -> Outputs:
    """Run the published file under its own runtime, one picture after another; heat is put channels first."""
    runtime = pytest.importorskip("ai_edge_litert.interpreter", reason="ai-edge-litert is not made for this platform")
    interpreter = runtime.Interpreter(str(path))
    interpreter.allocate_tensors()
    parts: dict[str, list[NDArray[np.float32]]] = {}
    for index in range(len(pictures)):
        interpreter.set_tensor(interpreter.get_input_details()[0]["index"], pictures[index : index + 1])
        interpreter.invoke()
        for detail in interpreter.get_output_details():
            value = interpreter.get_tensor(detail["index"])
            value = value.transpose(0, 3, 1, 2) if value.ndim == 4 else value
            parts.setdefault(detail["name"], []).append(value)
    return {name: np.concatenate(values) for name, values in parts.items()}


def convert_afresh(folder: Path, name: WeightName) -> bytes:
    """Convert the published file now: a file in the cache may come from an earlier state of the converter."""
    data = (folder / f"{name}.tflite").read_bytes()
    return convert_model(data, DETECTOR_RANGE if name == "detector" else LANDMARK_RANGE)


def run_converted(folder: Path, name: WeightName, pictures: NDArray[np.uint8], outputs: tuple[str, ...]) -> Outputs:
    network = Network(convert_afresh(folder, name), cores=1, outputs=outputs, largest_batch=8)
    (values,) = network.run_batches(len(pictures), lambda run, batch: run(pictures[batch]))
    return dict(zip(outputs, values, strict=True))


def list_regions(region: Region, count: int) -> list[Region]:
    """Regions around the given one, moved, scaled and turned a little."""
    random = np.random.default_rng(7)
    return [
        Region(
            centre_px=region.centre_px + random.uniform(-15, 15, 2),
            size_px=region.size_px * random.uniform(0.9, 1.2),
            rotation_rad=region.rotation_rad + random.uniform(-0.1, 0.1),
        )
        for _ in range(count)
    ]


@pytest.mark.parametrize("name", ["lite", "full", "heavy"])
def test_landmark_model_equals_its_original(folder: Path, region: Region, name: WeightName) -> None:
    regions = list_regions(region, 3)
    crops = CropCutter().crop_regions([read_figure()] * 3, regions, decode.SIDE, repeats_edge=True)
    original = run_original(folder / f"{name}.tflite", crops.astype(np.float32) / np.float32(255))
    converted = run_converted(folder, name, crops, LANDMARK_OUTPUTS)
    expected = decode.decode_landmarks([original[key] for key in LANDMARK_OUTPUTS], regions)
    found = decode.decode_landmarks([converted[key] for key in LANDMARK_OUTPUTS], regions)
    assert found.person_score.min() > 0.9
    np.testing.assert_allclose(found.pixels, expected.pixels, rtol=0, atol=1e-3)
    np.testing.assert_allclose(found.depth_px, expected.depth_px, rtol=0, atol=1e-2)
    np.testing.assert_allclose(found.world_m, expected.world_m, rtol=0, atol=1e-4)
    np.testing.assert_allclose(found.spread_px, expected.spread_px, rtol=0, atol=1e-3)
    for probability in ("visibility", "presence", "peak", "person_score"):
        np.testing.assert_allclose(getattr(found, probability), getattr(expected, probability), rtol=0, atol=1e-4)


def test_detector_equals_its_original(folder: Path) -> None:
    figure = read_figure()
    whole = find_whole_region(figure)
    crops = CropCutter().crop_regions([figure], [whole], people.SIDE, repeats_edge=False)
    outputs = ("Identity", "Identity_1")
    scaled = crops.astype(np.float32) * np.float32(2 / 255) - np.float32(1)
    original = run_original(folder / "detector.tflite", scaled)
    converted = run_converted(folder, "detector", crops, outputs)
    (expected,) = people.decode_people(original["Identity"][0], original["Identity_1"][0])
    (found,) = people.decode_people(converted["Identity"][0], converted["Identity_1"][0])
    np.testing.assert_allclose(found.points * people.SIDE, expected.points * people.SIDE, rtol=0, atol=1e-3)
    assert found.score == pytest.approx(expected.score, abs=1e-4)


@pytest.mark.parametrize("name", ["detector", "lite"])
def test_conversion_gives_the_same_bytes_again(folder: Path, name: WeightName) -> None:
    """What lies in the cache must be what the converter makes; raise CONVERTER_VERSION where it is not."""
    assert convert_afresh(folder, name) == convert_afresh(folder, name) == prepare_model(name, folder)


@pytest.mark.parametrize("size", ["light", "large"])
def test_picture_alone_equals_picture_in_batch(model: LandmarkModel, region: Region, size: LandmarkSize) -> None:
    regions = list_regions(region, 7)
    together = model.detect_landmarks([read_figure()] * 7, regions, size)
    for index in (0, 4, 6):
        alone = model.detect_landmarks([read_figure()], [regions[index]], size)
        np.testing.assert_allclose(alone.pixels[0], together.pixels[index], rtol=0, atol=1e-3)


@pytest.mark.parametrize("size", ["light", "large"])
def test_shifted_picture_shifts_landmarks(model: LandmarkModel, region: Region, size: LandmarkSize) -> None:
    figure = read_figure()
    shift = np.array([37, 21])
    # The edge is repeated as the crop itself would repeat it, so both crops hold the same pixels.
    moved = np.pad(figure, ((shift[1], 60), (shift[0], 60), (0, 0)), mode="edge")
    moved_region = Region(centre_px=region.centre_px + shift, size_px=region.size_px, rotation_rad=region.rotation_rad)
    before = model.detect_landmarks([figure], [region], size)
    after = model.detect_landmarks([moved], [moved_region], size)
    np.testing.assert_allclose(after.pixels, before.pixels + shift, rtol=0, atol=0.05)
    np.testing.assert_allclose(after.world_m, before.world_m, rtol=0, atol=1e-3)


def test_mirrored_pictures_mirror_landmarks(model: LandmarkModel) -> None:
    """With (0, 0) at a pixel's centre, x and its mirror image sum to the width less one.

    Read as the program that the model was published with reads them, the answers lie 0.44 crop pixels to the right
    (see `regions`); less than half of that is allowed here.
    """
    figures = read_figures()
    people_found = model.find_people(figures)
    assert [len(found) for found in people_found] == [1] * 16
    pictures = [picture for picture in figures for _ in range(3)]
    regions = [each for found in people_found for each in list_regions(found[0].region, 3)]
    last = TILE_PX - 1
    mirrored = [
        Region(
            centre_px=np.array([last - each.centre_px[0], each.centre_px[1]]),
            size_px=each.size_px,
            rotation_rad=-each.rotation_rad,
        )
        for each in regions
    ]
    direct = model.detect_landmarks(pictures, regions, "large")
    flipped = model.detect_landmarks([np.ascontiguousarray(p[:, ::-1]) for p in pictures], mirrored, "large")
    crop_px = 256 / direct.region_size_px[:, None]
    excess = (direct.pixels[..., 0] + flipped.pixels[:, MIRRORED, 0] - last) * crop_px
    is_sure = (direct.peak >= 0.5) & (flipped.peak[:, MIRRORED] >= 0.5)
    assert is_sure.sum() > 1000
    assert abs(np.median(excess[is_sure]) / 2) < 0.2
