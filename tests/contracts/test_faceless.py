"""Clips without faces.

Sides: real pictures of the demo through the real networks, where the large network, which is not used for hiding,
says where eyes, ears, nose and mouth are; the file itself (no sound, no note of its origin, all pictures at their
times); a detector that misses a head, whose miss is mended or ends in a refusal; consent.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model.model import LandmarkModel
from elbowroom.adapters.vault.passing import open_passing_folder
from elbowroom.adapters.vault.safe_files import place_folder
from elbowroom.adapters.video.clip_file import read_clip
from elbowroom.adapters.video.covering import replace_circles, write_covered_clip
from elbowroom.core.landmarks.heads import HEAD
from elbowroom.core.landmarks.types import LandmarkSize, Person, RawLandmarks, Region
from elbowroom.errors import ClipError, ConsentError
from elbowroom.service.athletes import add_consent, withdraw_consent
from elbowroom.service.faceless import FacelessPlan, FacelessTools, write_faceless, write_visit_faceless
from elbowroom.service.keeping import keep_visit
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_types import GuardianEntry, Purpose, TrailEntry, VisitEntry
from elbowroom.settings import read_settings
from tests.makers.record import STAMP, add_child, begin_clinic, make_parcel
from tests.makers.record_places import make_sealed_record
from tests.makers.recut import recut_clip

PICTURES = range(380, 392)
Picture = NDArray[np.uint8]


@pytest.fixture(name="clip", scope="module")
def cut_clip(root_dir: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("clip") / "short.mp4"
    recut_clip(root_dir / "demo" / "open-side.mp4", path, PICTURES)
    return path


@pytest.fixture(name="model", scope="module")
def open_model() -> LandmarkModel:
    return LandmarkModel(read_settings(os.environ).models_folder, cores=1)


def make_tools(detector: object) -> FacelessTools:
    return FacelessTools(
        detector=detector,  # type: ignore[arg-type]
        open_clip=read_clip,
        write_clip=write_covered_clip,
        place_folder=place_folder,
    )


def be_silent(what: str, done: int, total: int) -> None:
    """Take a report of progress and do nothing."""


def measure_detail(picture: Picture, point: NDArray[np.float64]) -> float:
    """Return how much pixels bend away from their neighbours (second difference) in 9 x 9 pixels about a point.

    A smooth run of colour has none of it, an eye or a mouth has much.
    """
    x, y = (round(value) for value in point.tolist())
    part = picture[y - 4 : y + 5, x - 4 : x + 5].astype(np.float64).mean(axis=2)
    return float(np.abs(np.diff(part, 2, axis=0)).mean() + np.abs(np.diff(part, 2, axis=1)).mean())


def test_the_large_network_finds_no_detail_where_a_face_was(clip: Path, model: LandmarkModel, tmp_path: Path) -> None:
    target = tmp_path / "A-17-1.mp4"
    hidden = write_faceless(clip, target, make_tools(model), be_silent)
    assert (hidden.picture_count, hidden.hidden_count, hidden.bare_count) == (len(PICTURES), len(PICTURES), 0)
    before = [picture for _, picture in read_clip(clip).read_pictures()]
    after = [picture for _, picture in read_clip(target).read_pictures()]
    details: list[tuple[float, float]] = []
    for original, covered in zip(before, after, strict=True):
        (person, *_) = model.find_people([original])[0]
        (points,) = model.detect_landmarks([original], [person.region], "large").pixels
        details += [(measure_detail(original, point), measure_detail(covered, point)) for point in points[list(HEAD)]]
    clear, left = (np.array(values) for values in zip(*details, strict=True))
    # Whole grey levels alone bend a smooth run by about 0.6 of a level along each axis; coding adds as much again.
    assert np.median(left) < 2.4
    assert np.median(left) < 0.25 * np.median(clear)
    assert left.max() < 0.5 * np.median(clear)


def test_the_file_says_nothing_of_its_origin(clip: Path, model: LandmarkModel, tmp_path: Path) -> None:
    target = tmp_path / "A-17-1.mp4"
    write_faceless(clip, target, make_tools(model), be_silent)
    with av.open(str(target)) as container:
        assert [stream.type for stream in container.streams] == ["video"]
        assert set(container.metadata) <= {"major_brand", "minor_version", "compatible_brands"}
    np.testing.assert_allclose(
        np.diff(read_clip(target).times.times_s), np.diff(read_clip(clip).times.times_s), atol=2e-5
    )


class ForgetfulDetector:
    """Gives the real network's answers, but finds nobody the first so many times that a picture is looked at."""

    def __init__(self, model: LandmarkModel, misses: int) -> None:
        self._model, self._misses, self.looks = model, misses, 0

    def find_people(self, pictures: Sequence[Picture]) -> list[tuple[Person, ...]]:
        found = self._model.find_people(pictures)
        self.looks += 1
        # The first look misses every other picture's people; a far place makes their circles useless.
        return [people if self.looks > self._misses else move_away(people) for people in found]

    def detect_landmarks(
        self, pictures: Sequence[Picture], regions: Sequence[Region], size: LandmarkSize
    ) -> RawLandmarks:
        return self._model.detect_landmarks(pictures, regions, size)

    def name_version(self, size: LandmarkSize) -> str:
        return self._model.name_version(size)


def move_away(people: tuple[Person, ...]) -> tuple[Person, ...]:
    """Return people whose regions lie far from where they are."""
    return tuple(
        Person(
            region=Region(
                centre_px=person.region.centre_px + np.array([0.0, 250.0]),
                size_px=0.4 * person.region.size_px,
                rotation_rad=person.region.rotation_rad,
            ),
            score=person.score,
        )
        for person in people
    )


def test_a_head_that_was_missed_is_hidden_after_the_second_look(
    clip: Path, model: LandmarkModel, tmp_path: Path
) -> None:
    hidden = write_faceless(clip, tmp_path / "out.mp4", make_tools(ForgetfulDetector(model, 1)), be_silent)
    assert hidden.mended_count > 0


class RestlessDetector(ForgetfulDetector):
    """Finds everybody somewhere else at every look."""

    def find_people(self, pictures: Sequence[Picture]) -> list[tuple[Person, ...]]:
        self.looks += 1
        shift = 90.0 * (self.looks - 3)
        return [
            tuple(
                Person(
                    region=Region(
                        centre_px=person.region.centre_px + np.array([shift, 0.0]),
                        size_px=person.region.size_px,
                        rotation_rad=0.0,
                    ),
                    score=1.0,
                )
                for person in people
            )
            for people in self._model.find_people(pictures)
        ]

    def detect_landmarks(
        self, pictures: Sequence[Picture], regions: Sequence[Region], size: LandmarkSize
    ) -> RawLandmarks:
        raw = self._model.detect_landmarks(pictures, regions, size)
        moved = np.array([region.centre_px for region in regions])[:, None] + 5.0 * np.arange(33)[None, :, None] % 7
        return RawLandmarks(**{**vars(raw), "pixels": moved})


def test_a_clip_that_cannot_be_hidden_is_refused_and_nothing_stays(
    clip: Path, model: LandmarkModel, tmp_path: Path
) -> None:
    target = tmp_path / "out.mp4"
    with pytest.raises(ClipError, match="do not give this clip away"):
        write_faceless(clip, target, make_tools(RestlessDetector(model, 0)), be_silent)
    assert not target.exists()


class BlindDetector(ForgetfulDetector):
    """Finds nobody at all."""

    def find_people(self, pictures: Sequence[Picture]) -> list[tuple[Person, ...]]:
        return [() for _ in pictures]


def test_a_clip_in_which_nobody_is_found_is_refused(clip: Path, model: LandmarkModel, tmp_path: Path) -> None:
    with pytest.raises(ClipError, match="shows nobody"):
        write_faceless(clip, tmp_path / "out.mp4", make_tools(BlindDetector(model, 0)), be_silent)
    assert not (tmp_path / "out.mp4").exists()


def test_circles_at_the_edge_and_beyond_are_taken() -> None:
    picture = np.random.default_rng(1).integers(0, 255, (60, 80, 3)).astype(np.uint8)
    covered = replace_circles(picture, np.array([[0.0, 0.0, 15.0], [79.0, 59.0, 10.0], [-50.0, 20.0, 10.0]]))
    assert np.abs(np.diff(covered[:8, :8].astype(float), axis=0)).mean() < 10.0
    np.testing.assert_array_equal(covered[25:35, 35:45], picture[25:35, 35:45])


@pytest.fixture(name="kept")
def keep_clips(clip: Path, tmp_path: Path) -> tuple[RecordTools, VisitEntry]:
    """Return a record that keeps a visit of two equal short clips."""
    record = make_sealed_record(tmp_path / "record")
    begin_clinic(record)
    athlete_id = add_child(record)
    parcel = make_parcel(tmp_path / "visit")
    names = parcel.report.clip_digests
    for name in names:
        (tmp_path / "visit" / name).write_bytes(clip.read_bytes())
    digest = hashlib.sha256(clip.read_bytes()).hexdigest()
    report = replace(parcel.report, clip_digests=dict.fromkeys(names, digest))
    keep_visit(record, athlete_id, replace(parcel, report=report), STAMP)
    (visit,) = record.entries.find_entries(VisitEntry, athlete_id=athlete_id)
    return record, visit


def make_plan(folder: Path, purpose: Purpose = Purpose.TEACHING) -> FacelessPlan:
    return FacelessPlan(
        purpose=purpose, code="A-17", folder=folder, stamp=STAMP, open_folder=lambda: open_passing_folder(folder.parent)
    )


def consent_to_teaching(record: RecordTools, visit: VisitEntry) -> None:
    (guardian,) = record.entries.find_entries(GuardianEntry, athlete_id=visit.athlete_id)
    add_consent(record, visit.athlete_id, guardian.id, Purpose.TEACHING, STAMP.at.date(), STAMP)


@pytest.mark.parametrize("purpose", list(Purpose))
def test_without_consent_nothing_is_given(
    kept: tuple[RecordTools, VisitEntry], purpose: Purpose, model: LandmarkModel, tmp_path: Path
) -> None:
    record, visit = kept
    with pytest.raises(ConsentError):
        write_visit_faceless(record, visit, make_plan(tmp_path / "out", purpose), make_tools(model), be_silent)
    assert not (tmp_path / "out").exists()


def test_a_withdrawn_consent_covers_nothing(
    kept: tuple[RecordTools, VisitEntry], model: LandmarkModel, tmp_path: Path
) -> None:
    record, visit = kept
    consent_to_teaching(record, visit)
    withdraw_consent(record, visit.athlete_id, Purpose.TEACHING, STAMP.at.date(), STAMP)
    with pytest.raises(ConsentError):
        write_visit_faceless(record, visit, make_plan(tmp_path / "out"), make_tools(model), be_silent)


def test_with_consent_every_clip_goes_out_under_the_code(
    kept: tuple[RecordTools, VisitEntry], model: LandmarkModel, tmp_path: Path
) -> None:
    record, visit = kept
    consent_to_teaching(record, visit)
    hidden = write_visit_faceless(record, visit, make_plan(tmp_path / "out"), make_tools(model), be_silent)
    assert set(hidden) == {path.name for path in (tmp_path / "out").iterdir()} == {"A-17-1.mp4", "A-17-2.mp4"}
    acts = [item.what for item in record.entries.find_entries(TrailEntry, athlete_id=visit.athlete_id)]
    assert "clips without faces, for teaching" in acts
    assert list((tmp_path / "passing").iterdir()) == []


def test_one_clip_that_must_stay_keeps_all_of_them_in(
    kept: tuple[RecordTools, VisitEntry], model: LandmarkModel, tmp_path: Path
) -> None:
    record, visit = kept
    consent_to_teaching(record, visit)
    with pytest.raises(ClipError):
        write_visit_faceless(record, visit, make_plan(tmp_path / "out"), make_tools(BlindDetector(model, 0)), be_silent)
    assert not (tmp_path / "out").exists()
