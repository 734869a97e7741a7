"""What every clip reader has to keep to, run on the real one and on its in-memory double.

Sides: the counter burnt into each picture, the times and the click that were written.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from elbowroom.adapters.video.reader import VideoClipReader
from elbowroom.core.clips.timing import time_pictures
from elbowroom.core.clips.types import Clip, Sound
from elbowroom.errors import ClipError
from elbowroom.service.doubles import StoredClip, StoredClipReader
from elbowroom.service.ports import ClipReader
from tests.makers.clips import Recipe, draw_counter, make_clicks, make_clip, read_counter

COUNT, RATE_HZ, CLICK_S = 48, 240.0, 0.1


def make_double(path: Path) -> StoredClipReader:
    pictures = np.stack([draw_counter(number, 320, 192) for number in range(COUNT)])
    sound = Sound(samples=make_clicks([CLICK_S], 0.2).astype(np.float32), rate_hz=48_000.0, start_s=0.0)
    clip = Clip(
        name=path.name,
        width_px=320,
        height_px=192,
        turned_deg=0,
        is_mirrored=False,
        codec="none",
        duration_s=COUNT / RATE_HZ,
        has_sound=True,
        picture_count=COUNT,
    )
    stored = StoredClip(clip, time_pictures(np.arange(COUNT) / RATE_HZ), pictures, sound)
    return StoredClipReader({path.name: stored})


@pytest.fixture(name="path")
def choose_path(tmp_path: Path) -> Path:
    return tmp_path / "a.mov"


@pytest.fixture(name="reader", params=["files", "memory"])
def make_reader(request: pytest.FixtureRequest, path: Path) -> ClipReader:
    if request.param == "memory":
        return make_double(path)
    make_clip(path, Recipe(count=COUNT, rate_hz=RATE_HZ, clicks_s=[CLICK_S]))
    return VideoClipReader()


def test_clip_and_times(reader: ClipReader, path: Path) -> None:
    opened = reader.read_clip(path)
    assert (opened.clip.width_px, opened.clip.height_px, opened.clip.picture_count) == (320, 192, COUNT)
    np.testing.assert_allclose(opened.times.times_s, np.arange(COUNT) / RATE_HZ, atol=1 / 90_000)
    assert not opened.times.is_checked


def test_pictures_in_order_of_time(reader: ClipReader, path: Path) -> None:
    opened = reader.read_clip(path)
    shown = [(number, read_counter(picture)) for number, picture in opened.read_pictures([40, 2, 17, 2])]
    assert shown == [(2, 2), (17, 17), (40, 40)]
    assert [number for number, _ in opened.read_pictures()] == list(range(COUNT))


def test_pictures_are_shrunk_and_never_enlarged(reader: ClipReader, path: Path) -> None:
    opened = reader.read_clip(path)
    assert next(opened.read_pictures([0], 160))[1].shape == (96, 160, 3)
    assert next(opened.read_pictures([0], 999))[1].shape == (192, 320, 3)
    assert next(opened.read_pictures([0]))[1].dtype == np.uint8


@pytest.mark.parametrize("number", [-1, COUNT])
def test_pictures_that_are_not_there(reader: ClipReader, path: Path, number: int) -> None:
    with pytest.raises(ClipError, match=f"0 to {COUNT - 1}"):
        list(reader.read_clip(path).read_pictures([number]))


def test_repeats_are_looked_for(reader: ClipReader, path: Path) -> None:
    opened = reader.read_clip(path)
    times = opened.find_repeats()
    assert times.is_checked
    assert not times.repeated.any()
    assert times.timing.arm_rates
    assert not opened.times.is_checked


def test_sound_and_a_part_of_it(reader: ClipReader, path: Path) -> None:
    opened = reader.read_clip(path)
    for window in ((), (0.05, 0.15)):
        sound = opened.read_sound(*window)
        assert sound
        loud = int(np.argmax(np.abs(sound.samples) > 0.2))
        assert sound.start_s + loud / sound.rate_hz == pytest.approx(CLICK_S, abs=0.001)


def test_stated_rate_and_missing_clip(reader: ClipReader, path: Path) -> None:
    assert reader.read_clip(path, 960.0).times.slow_factor == pytest.approx(4.0)
    with pytest.raises(ClipError, match="rate"):
        reader.read_clip(path, float("nan"))
    with pytest.raises(ClipError, match="not there"):
        reader.read_clip(path.with_name("b.mov"))
