"""The landmark model as the rest of the program sees it: pictures in, people and landmarks out."""

import hashlib
from collections.abc import Callable, Sequence
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model import decode, people
from elbowroom.adapters.landmark_model.converted import prepare_model
from elbowroom.adapters.landmark_model.crops import CropCutter
from elbowroom.adapters.landmark_model.network import Network, Run
from elbowroom.adapters.landmark_model.regions import find_region, find_whole_region
from elbowroom.adapters.landmark_model.sources import WeightName
from elbowroom.core.landmarks.types import LandmarkSize, Person, RawLandmarks, Region

_WEIGHTS: dict[LandmarkSize, WeightName] = {"light": "lite", "large": "heavy"}
_DETECTOR_OUTPUTS = ("Identity", "Identity_1")
_LANDMARK_OUTPUTS = ("Identity", "Identity_1", "Identity_3", "Identity_4")
LARGEST_BATCH = 4
"""Pictures a session sees at once: on one core four go a little faster than one, eight or sixteen."""

Picture = NDArray[np.uint8]


class LandmarkModel:
    """Finds people and their landmarks with the published networks; a `LandmarkDetector`.

    Each network is fetched, converted and opened when it is first needed, and then kept.
    """

    def __init__(self, folder: Path, *, cores: int, report: Callable[[str], None] = lambda line: None) -> None:
        """`folder` caches the weights; `cores` sessions run side by side; `report` gets a line for each
        download."""
        # Cropping runs in the sessions' threads; threads of its own would only get in their way.
        cv2.setNumThreads(1)
        self._cutter = CropCutter()
        self._folder = folder
        self._cores = max(1, cores)
        self._report = report
        self._networks: dict[WeightName, Network] = {}
        self._digests: dict[WeightName, str] = {}

    def find_people(self, pictures: Sequence[Picture]) -> list[tuple[Person, ...]]:
        """All people in each picture (height, width, 3) RGB, surest first. Raises WeightsError."""

        def handle(run: Run, batch: slice) -> list[tuple[Person, ...]]:
            wholes = [find_whole_region(picture) for picture in pictures[batch]]
            crops = self._cutter.crop_regions(pictures[batch], wholes, people.SIDE, repeats_edge=False)
            boxes, logits = run(crops)
            return [_place_people(*each) for each in zip(boxes, logits, wholes, strict=True)]

        parts = self._open("detector").run_batches(len(pictures), handle)
        return [found for part in parts for found in part]

    def detect_landmarks(
        self, pictures: Sequence[Picture], regions: Sequence[Region], size: LandmarkSize
    ) -> RawLandmarks:
        """Landmarks of one person in each picture (height, width, 3) RGB, looked for in its region.

        Raises ValueError when there are not as many regions as pictures, and WeightsError.
        """
        if len(pictures) != len(regions):
            raise ValueError(f"{len(pictures)} pictures need as many regions, not {len(regions)}")
        if not regions:
            return decode.list_no_landmarks()

        def handle(run: Run, batch: slice) -> RawLandmarks:
            crops = self._cutter.crop_regions(pictures[batch], regions[batch], decode.SIDE, repeats_edge=True)
            return decode.decode_landmarks(run(crops), regions[batch])

        return decode.join_landmarks(self._open(_WEIGHTS[size]).run_batches(len(pictures), handle))

    def name_version(self, size: LandmarkSize) -> str:
        """Name and sha256 of the converted landmark model of that size, for the history of a result."""
        name = _WEIGHTS[size]
        self._open(name)
        return f"{name} {self._digests[name]}"

    def _open(self, name: WeightName) -> Network:
        if name not in self._networks:
            model = prepare_model(name, self._folder, report=self._report)
            outputs = _DETECTOR_OUTPUTS if name == "detector" else _LANDMARK_OUTPUTS
            self._digests[name] = hashlib.sha256(model).hexdigest()
            self._networks[name] = Network(model, cores=self._cores, outputs=outputs, largest_batch=LARGEST_BATCH)
        return self._networks[name]


def _place_people(boxes: NDArray[np.float32], logits: NDArray[np.float32], whole: Region) -> tuple[Person, ...]:
    """People in pixels of the picture, from the detector's output for the square around it."""
    corner = whole.centre_px - whole.size_px / 2
    return tuple(
        Person(
            region=find_region(found.points[0] * whole.size_px + corner, found.points[1] * whole.size_px + corner),
            score=found.score,
        )
        for found in people.decode_people(boxes, logits)
    )
