"""Proxies for the review: every picture of the clip, upright, at its time, with a table to find it again.

Sides: a counter burnt into every picture and read back from the proxy; the packets of the proxy (key pictures, no
picture shown out of order); uneven times and turned clips.
"""

from __future__ import annotations

import json
from pathlib import Path

import av
import numpy as np
import pytest

from elbowroom.adapters.video.clip_file import read_clip
from elbowroom.adapters.video.proxy import make_proxy
from elbowroom.errors import ClipError
from tests.makers.clips import Recipe, draw_counter, make_clip, read_counter

TICKS = [*range(0, 375 * 30, 375), *range(375 * 31, 375 * 40, 375)]
RECIPES = {
    "even": Recipe(count=40),
    "a picture dropped": Recipe(ticks=TICKS, count=len(TICKS)),
    "hevc": Recipe(codec="libx265", count=30),
}


def make(tmp_path: Path, recipe: Recipe) -> tuple[Path, Path, dict[str, object]]:
    source, proxy, times = (tmp_path / name for name in ("clip.mp4", "proxy.mp4", "times.json"))
    make_clip(source, recipe)
    make_proxy(source, proxy, times, lambda *_: None)
    return source, proxy, json.loads(times.read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", list(RECIPES))
def test_every_picture_is_in_it_at_its_time(tmp_path: Path, name: str) -> None:
    source, proxy, table = make(tmp_path, RECIPES[name])
    clip, made = read_clip(source), read_clip(proxy)
    assert [read_counter(picture) for _, picture in made.read_pictures()] == list(range(clip.clip.picture_count))
    assert np.abs(made.times.times_s - clip.times.times_s).max() < 1.0 / 90_000
    assert np.abs(np.array(table["capture_s"]) - clip.times.times_s).max() < 1e-6
    seek_s = np.array(table["seek_s"])
    assert np.all(seek_s > made.times.times_s)
    assert np.all(seek_s[:-1] < made.times.times_s[1:])


def test_browser_steps_through_it_fast(tmp_path: Path) -> None:
    _, proxy, _ = make(tmp_path, RECIPES["even"])
    with av.open(str(proxy)) as container:
        stream = container.streams.video[0]
        assert (stream.codec_context.name, stream.codec_context.has_b_frames) == ("h264", False)
        packets = [packet for packet in container.demux(stream) if packet.pts is not None]
        assert [packet.pts for packet in packets] == sorted(packet.pts for packet in packets)
        keys = [number for number, packet in enumerate(packets) if packet.is_keyframe]
    assert np.diff([*keys, len(packets)]).max() <= 12
    content = proxy.read_bytes()
    assert content.index(b"moov") < content.index(b"mdat")


def test_turned_clip_is_upright_and_without_a_turn(tmp_path: Path) -> None:
    recipe = Recipe(count=12, width=320, height=192, rotation_deg=90)
    source, proxy, table = make(tmp_path, recipe)
    clip, made = read_clip(source), read_clip(proxy)
    assert (made.clip.turned_deg, made.clip.width_px, made.clip.height_px) == (0, 192, 320)
    (_, before), (_, after) = next(clip.read_pictures([5])), next(made.read_pictures([5]))
    assert np.abs(before.astype(int) - after.astype(int)).mean() < 6
    assert table["clip"] == {"width_px": 192, "height_px": 320, "rate_hz": pytest.approx(240.0)}


def test_large_clip_shrinks_to_a_short_edge_of_720(tmp_path: Path) -> None:
    def draw(number: int, width: int, height: int) -> np.ndarray:  # type: ignore[type-arg]
        return draw_counter(number, width, height)

    _, proxy, table = make(tmp_path, Recipe(count=3, width=1920, height=1080, draw=draw))
    assert table["proxy"] == {"width_px": 1280, "height_px": 720}
    assert (read_clip(proxy).clip.width_px, read_clip(proxy).clip.height_px) == (1280, 720)


def test_damaged_clip_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "clip.mp4").write_bytes(b"noise" * 9000)
    with pytest.raises(ClipError, match="copy the original from the phone again"):
        make_proxy(tmp_path / "clip.mp4", tmp_path / "p.mp4", tmp_path / "t.json", lambda *_: None)
