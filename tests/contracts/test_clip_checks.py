"""The quick check of a clip: what is said of rate, length, light, sound, thrower and view, and of files that are none.

Sides: clips made for the purpose with a property each (rate, repeats, sound, brightness); a detector that gives stored
people; the real reader of clips on damaged files.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from elbowroom.adapters.video.clip_file import read_clip
from elbowroom.core.cameras.types import View
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.landmarks.layout import concatenate_pictures
from elbowroom.core.landmarks.names import Side
from elbowroom.core.landmarks.types import LandmarkSize, Person, RawLandmarks, Region
from elbowroom.errors import ClipError
from elbowroom.service.check_types import CheckLine, CheckWish
from elbowroom.service.checking_clips import CheckTools, check_clip
from elbowroom.service.record_lines import ABSENT
from tests.core.test_facing import CAMERAS, see_body
from tests.makers.clips import Recipe, make_clip

ROOMY = {"width": 1280, "height": 1040, "quality": 40, "gop": 60}


class StandingDetector:
    """Gives the same person at the lift in every picture; nobody where none is wanted."""

    def __init__(self, view: str = "behind", is_there: bool = True, size: float = 1.0) -> None:
        self._body, self._is_there, self._size = see_body(CAMERAS[view], Side.RIGHT), is_there, size

    def find_people(self, pictures: Sequence[NDArray[np.uint8]]) -> list[tuple[Person, ...]]:
        region = Region(centre_px=np.array([500.0, 500.0]), size_px=600.0, rotation_rad=0.0)
        return [(Person(region=region, score=0.9),) if self._is_there else () for _ in pictures]

    def detect_landmarks(
        self, pictures: Sequence[NDArray[np.uint8]], regions: Sequence[Region], size: LandmarkSize
    ) -> RawLandmarks:
        assert size == "light"
        if not regions:
            return RawLandmarks(**{name: value[:0] for name, value in vars(self._body).items()})
        moved = {**vars(self._body), "pixels": 500.0 + 300.0 * self._size * self._body.world_m[..., :2] + [0.0, 300.0]}
        return concatenate_pictures([RawLandmarks(**moved)] * len(regions))

    def name_version(self, size: LandmarkSize) -> str:
        return "standing"


def look(path: Path, view: View = View.BEHIND, **detector: object) -> dict[str, CheckLine]:
    tools = CheckTools(open_clip=read_clip, detector=StandingDetector(**detector))  # type: ignore[arg-type]
    wish = CheckWish(path=path, view=view, hand=ThrowingHand.RIGHT, rate_hz=ABSENT)
    return {line.what: line for line in check_clip(tools, wish, lambda *_: None)}


@pytest.fixture(scope="module")
def sound_clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("clips") / "good.mp4"
    make_clip(path, Recipe(count=492, clicks_s=(0.5,), **ROOMY))  # type: ignore[arg-type]
    return path


def test_good_clip_is_good_in_everything(sound_clip: Path) -> None:
    lines = look(sound_clip)
    assert [line.what for line in lines.values() if not line.is_good] == []
    assert lines["rate"].words == "240 pictures a second: enough for everything."
    assert lines["view"].words == "It looks like the behind view."


def test_view_that_cannot_be_is_told(sound_clip: Path) -> None:
    line = look(sound_clip, View.FRONT)["view"]
    assert not line.is_good
    assert "said to be front, but looks like behind" in line.words
    assert look(sound_clip, View.OBLIQUE)["view"].is_good


def test_nobody_and_somebody_small_are_told(sound_clip: Path) -> None:
    assert "in 0 of" in look(sound_clip, is_there=False)["thrower"].words
    small = look(sound_clip, size=0.5)["thrower"]
    assert not small.is_good
    assert "come nearer, until it is 300 or more" in small.words


def test_body_that_leaves_the_picture_is_told(sound_clip: Path) -> None:
    line = look(sound_clip, size=2.5)["thrower"]
    assert not line.is_good
    assert "leave the picture" in line.words


@pytest.mark.parametrize(
    ("rate_hz", "words"), [(60.0, "60 pictures a second are too few"), (120.0, "120 pictures a second are too few")]
)
def test_slow_clip_is_told(tmp_path: Path, rate_hz: float, words: str) -> None:
    make_clip(tmp_path / "slow.mp4", Recipe(count=round(2.5 * rate_hz), rate_hz=rate_hz))
    lines = look(tmp_path / "slow.mp4")
    assert not lines["rate"].is_good
    assert words in lines["rate"].words
    assert not lines["sound"].is_good


def test_repeated_pictures_are_told(tmp_path: Path) -> None:
    def draw(number: int, width: int, height: int) -> NDArray[np.uint8]:
        picture = np.full((height, width, 3), 96, np.uint8)
        left = (number // 2 * 14) % (width - 40)
        picture[60:100, left : left + 40] = 220
        return picture

    make_clip(tmp_path / "twice.mp4", Recipe(count=500, draw=draw))
    assert "repeat the one before" in look(tmp_path / "twice.mp4")["rate"].words


@pytest.mark.parametrize(("level", "words"), [(12, "It is dark"), (252, "It is too bright")])
def test_light_is_told(tmp_path: Path, level: int, words: str) -> None:
    def draw(number: int, width: int, height: int) -> NDArray[np.uint8]:
        picture = np.full((height, width, 3), level, np.uint8)
        picture[0, number % width] = 128
        return picture

    make_clip(tmp_path / "light.mp4", Recipe(count=60, draw=draw))
    lines = look(tmp_path / "light.mp4")
    assert words in lines["light"].words
    assert not lines["light"].is_good
    assert "is short" in lines["length"].words


def test_file_that_is_no_clip_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "noise.mp4").write_bytes(b"noise" * 5000)
    with pytest.raises(ClipError, match=r"noise.mp4 is damaged or no MP4"):
        look(tmp_path / "noise.mp4")
