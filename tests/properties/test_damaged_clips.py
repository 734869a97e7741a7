"""Mutated video files.

Sides: whatever bytes change, reading gives a `ClipError` or pictures whose count and times agree with the table.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from elbowroom.adapters.video.clip_file import read_clip
from elbowroom.core.clips.types import Sound
from elbowroom.errors import ClipError
from tests.makers.clips import Recipe, make_clip

KINDS = {
    "h264.mp4": Recipe(count=24, clicks_s=[0.05]),
    "hevc.mp4": Recipe(count=24, codec="libx265", clicks_s=[0.05]),
    "front.mp4": Recipe(count=24, muxer={"movflags": "faststart"}),
    "parts.mp4": Recipe(count=24, muxer={"movflags": "frag_keyframe+empty_moov"}),
    "h264.mkv": Recipe(count=24, clicks_s=[0.05]),
}


@pytest.fixture(scope="module", name="originals")
def make_originals(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    folder = tmp_path_factory.mktemp("clips")
    for name, recipe in KINDS.items():
        make_clip(folder / name, recipe)
    return {name: (folder / name).read_bytes() for name in KINDS}


def read_all(path: Path) -> None:
    clip = read_clip(path)
    assert clip.clip.picture_count == len(clip.times.times_s) >= 2
    assert np.all(np.diff(clip.times.times_s) > 0)
    sound = clip.read_sound()
    assert not sound or isinstance(sound, Sound)
    shown = [number for number, _ in clip.read_pictures()]
    assert shown == list(range(clip.clip.picture_count))
    assert clip.find_repeats().is_checked


def read_or_refuse(path: Path) -> str:
    """Return the sentence with which a clip is refused, or an empty string where it was read as a whole."""
    try:
        read_all(path)
    except ClipError as error:
        return str(error) or "no sentence"
    return ""


def draw_places(length: int) -> st.SearchStrategy[int]:
    """Draw places to change: anywhere, or in the headers and the index at either end."""
    ends = st.integers(0, min(3000, length) - 1)
    return st.one_of(st.integers(0, length - 1), ends, ends.map(lambda place: length - 1 - place))


@pytest.mark.parametrize("name", KINDS)
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(data=st.data())
def test_changed_bytes_give_a_sentence_or_a_whole_clip(
    name: str, originals: dict[str, bytes], tmp_path: Path, data: st.DataObject
) -> None:
    changed = bytearray(originals[name])
    for _ in range(data.draw(st.integers(1, 12))):
        changed[data.draw(draw_places(len(changed)))] = data.draw(st.integers(0, 255))
    cut = data.draw(st.one_of(st.none(), st.integers(0, len(changed))))
    path = tmp_path / name
    path.write_bytes(bytes(changed[:cut]))
    sentence = read_or_refuse(path)
    assert sentence != "no sentence"
    assert "\n" not in sentence
    assert str(tmp_path) not in sentence
