"""Makes small video files with a counter burnt into each picture, for tests and benchmarks."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.audio.frame import AudioFrame
from av.container import OutputContainer
from av.video.frame import VideoFrame
from numpy.typing import NDArray

BITS = 16
BLOCK_PX = 16
TICKS_HZ = 90_000
SOUND_HZ = 48_000
Picture = NDArray[np.uint8]


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """What a made clip holds."""

    count: int = 48
    rate_hz: float = 240.0
    codec: str = "libx264"
    width: int = 320
    height: int = 192
    gop: int = 12
    b_frames: int = 2
    quality: int = 24
    ticks: Sequence[int] | None = None
    rotation_deg: int | None = None
    is_mirrored: bool = False
    tags: dict[str, str] = field(default_factory=dict)
    clicks_s: Sequence[float] | None = None
    sound_s: float | None = None
    muxer: dict[str, str] = field(default_factory=dict)
    draw: Callable[[int, int, int], Picture] | None = None


def draw_counter(number: int, width: int, height: int) -> Picture:
    """Draw a picture with its number as black and white blocks in the top row, and a square that moves."""
    picture = np.full((height, width, 3), 96, dtype=np.uint8)
    for bit in range(BITS):
        column = slice(bit * BLOCK_PX, (bit + 1) * BLOCK_PX)
        picture[:BLOCK_PX, column] = 255 if number >> bit & 1 else 0
    left = (number * 7) % (width - 40)
    picture[height // 2 : height // 2 + 40, left : left + 40] = (220, 180, 60)
    return picture


def read_counter(picture: Picture) -> int:
    """Read the number that `draw_counter` burnt in."""
    middle = picture[BLOCK_PX // 2, BLOCK_PX // 2 : BITS * BLOCK_PX : BLOCK_PX].mean(axis=-1)
    return sum(1 << bit for bit, level in enumerate(middle) if level > 128)


def make_clip(path: Path, recipe: Recipe | None = None) -> list[int]:
    """Write a clip and return the time of each picture in ticks of 1 / 90,000 s."""
    recipe = recipe or Recipe()
    ticks = list(recipe.ticks or [round(n * TICKS_HZ / recipe.rate_hz) for n in range(recipe.count)])
    is_mp4 = path.suffix in (".mp4", ".mov")
    options = {"movflags": "use_metadata_tags", "video_track_timescale": str(TICKS_HZ)} if is_mp4 else {}
    with av.open(str(path), "w", options=options | recipe.muxer) as container:
        container.metadata.update(recipe.tags)
        _write(container, recipe, ticks)
    return ticks


def _write(container: OutputContainer, recipe: Recipe, ticks: list[int]) -> None:
    stream = container.add_stream(recipe.codec, rate=Fraction(TICKS_HZ), options=_choose_options(recipe))
    stream.width, stream.height, stream.pix_fmt = recipe.width, recipe.height, "yuv420p"
    stream.codec_context.time_base = stream.time_base = Fraction(1, TICKS_HZ)
    stream.codec_context.thread_count = 1
    if recipe.rotation_deg is not None:
        stream.set_display_rotation(recipe.rotation_deg, hflip=recipe.is_mirrored)
    sound = None
    if recipe.clicks_s is not None:
        sound = container.add_stream("pcm_s16le" if container.format.name == "mov" else "aac", rate=SOUND_HZ)
        sound.layout = "mono"
    draw = recipe.draw or draw_counter
    for number, tick in enumerate(ticks):
        frame = VideoFrame.from_ndarray(draw(number, recipe.width, recipe.height), format="rgb24")
        frame.pts, frame.time_base = tick, Fraction(1, TICKS_HZ)
        container.mux(stream.encode(frame))
    container.mux(stream.encode())
    if sound is not None:
        for block in _make_sound(recipe, ticks):
            container.mux(sound.encode(block))
        container.mux(sound.encode())


def _choose_options(recipe: Recipe) -> dict[str, str]:
    if recipe.codec == "libx265":
        text = "log-level=none:pools=1:frame-threads=1:keyint={}:min-keyint=1:bframes={}:scenecut=0"
        return {
            "x265-params": text.format(recipe.gop, recipe.b_frames),
            "preset": "ultrafast",
            "crf": str(recipe.quality),
        }
    if recipe.codec != "libx264":
        return {}
    return {
        "g": str(recipe.gop),
        "bf": str(recipe.b_frames),
        "crf": str(recipe.quality),
        "preset": "veryfast",
        "sc_threshold": "0",
    }


def make_clicks(
    clicks_s: Sequence[float], length_s: float, rate_hz: int = SOUND_HZ, seed: int = 5
) -> NDArray[np.float64]:
    """Make quiet noise with decaying 3 kHz clicks that start at the given times."""
    times_s = np.arange(round(length_s * rate_hz)) / rate_hz
    sound = np.random.default_rng(seed).normal(0, 0.002, len(times_s))
    for click_s in clicks_s:
        after_s = np.maximum(times_s - click_s, 0.0)
        wave = 0.8 * np.exp(-after_s / 0.004) * np.sin(2 * np.pi * 3000 * after_s)
        sound += wave
    return sound


def _make_sound(recipe: Recipe, ticks: list[int]) -> Iterator[AudioFrame]:
    length_s = recipe.sound_s or (ticks[-1] + 2 * ticks[1] - ticks[0]) / TICKS_HZ
    sound = make_clicks(recipe.clicks_s or (), length_s)
    whole = (np.clip(sound, -1, 1) * 32767).astype(np.int16)
    for start in range(0, len(whole), 1024):
        block = AudioFrame.from_ndarray(whole[None, start : start + 1024].copy(), format="s16", layout="mono")
        block.sample_rate, block.pts, block.time_base = SOUND_HZ, start, Fraction(1, SOUND_HZ)
        yield block
