"""Writes a phone's clip: pictures at their true times, compressed, with sound; options that real phones show."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from rendering.cameras import Phone, find_picture_times
from rendering.picture import Actor, Studio
from rendering.rotations import Array
from rendering.sound import SAMPLE_HZ

TIME_BASE = Fraction(1, 90000)
NOISE_PICTURES = 6


@dataclass(frozen=True, kw_only=True)
class Recording:
    """How a phone writes what it sees."""

    codec: str = "libx264"
    """'libx264' or 'libx265'."""
    quality: int = 27
    """Constant rate factor: lower is better and larger."""
    noise: float = 1.3
    """Standard deviation of the sensor noise, grey levels."""
    samples: int = 2
    """Moments averaged over the exposure."""
    container_fps: float = 0.0
    """Rate written in the file when it differs from the filming rate (slow-motion file); 0: the same."""
    time_jitter_s: float = 0.0
    """Standard deviation of the spacing of pictures (variable frame rate)."""
    repeat_every: int = 0
    """Every so many pictures one is replaced by the one before it; 0: never."""
    has_sound: bool = True
    """Whether a sound track is written."""
    preset: str = "veryfast"
    """Encoder preset."""


def choose_times(phone: Phone, count: int, how: Recording, rng: np.random.Generator) -> Array:
    """World times (count,) of the pictures' first rows, jittered where the rate varies."""
    times = find_picture_times(phone, count)
    if how.time_jitter_s:
        times = np.sort(times + rng.normal(0, how.time_jitter_s, count))
    return times


def render_pictures(
    studio: Studio, phone: Phone, scene: tuple[Array, list[Actor]], times: Array, how: Recording
) -> Iterator[Array]:
    """Pictures (height, width, 3) of bytes at world times, over the still background of `scene`."""
    background, actors = scene
    rng = np.random.default_rng(len(times))
    noise = [rng.normal(0, how.noise, background.shape[:2]).astype(np.float32) for _ in range(NOISE_PICTURES)]
    still = [np.clip(background + n[..., None] + 0.5, 0, 255).astype(np.uint8) for n in noise]
    last = still[0]
    for k, time_s in enumerate(times):
        if how.repeat_every and k % how.repeat_every == how.repeat_every - 1:
            yield last
            continue
        pick = int(rng.integers(NOISE_PICTURES))
        last = still[pick].copy()
        _lay_over(last, background, noise[pick], studio.render_picture(phone, actors, float(time_s), how.samples))
        yield last


def _lay_over(picture: Array, background: Array, noise: Array, moving: tuple[Array, Array]) -> None:
    layer, (x, y, w, h) = moving
    box = (slice(y, y + h), slice(x, x + w))
    mixed = background[box] * (1 - layer[..., 3:] / 255) + layer[..., :3] + noise[box][..., None]
    picture[box] = np.clip(mixed + 0.5, 0, 255).astype(np.uint8)


def find_stamps(times: Array, phone: Phone, how: Recording) -> Array:
    """Time stamps (N,) in TIME_BASE that the file carries: from zero, on the phone's own clock, stretched if slowed."""
    clock = (times - phone.start_s) / (1.0 + phone.drift)
    stretch = phone.fps / how.container_fps if how.container_fps else 1.0
    return np.round((clock - clock[0]) * stretch / float(TIME_BASE)).astype(int)


def write_clip(path: Path, pictures: Iterator[Array], stamps: Array, how: Recording, sound: Array | None) -> None:
    """Write pictures with their time stamps and the sound samples (N,) as an MP4 file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with av.open(str(path), "w") as file:
        first = next(pictures)
        step = float(np.median(np.diff(stamps))) * float(TIME_BASE)
        video = file.add_stream(how.codec, rate=Fraction(round(1.0 / step)))
        video.width, video.height, video.pix_fmt = first.shape[1], first.shape[0], "yuv420p"
        video.time_base = TIME_BASE
        video.codec_context.time_base = TIME_BASE
        video.options = {"crf": str(how.quality), "preset": how.preset, "threads": "1", "bf": "0", "g": "60"}
        if how.codec == "libx265":
            video.options = {"crf": str(how.quality), "preset": how.preset, "x265-params": "log-level=none:pools=1"}
        audio = file.add_stream("aac", rate=SAMPLE_HZ, layout="mono") if sound is not None else None
        _write_pictures(file, video, [first], stamps[:1])
        _write_pictures(file, video, pictures, stamps[1:])
        file.mux(video.encode())
        if audio is not None and sound is not None:
            _write_sound(file, audio, sound)


def _write_pictures(file, video, pictures, stamps: Array) -> None:  # type: ignore[no-untyped-def]
    for stamp, picture in zip(stamps, pictures, strict=True):
        frame = av.VideoFrame.from_ndarray(picture, format="rgb24")
        frame.pts, frame.time_base = int(stamp), TIME_BASE
        file.mux(video.encode(frame))


def _write_sound(file, audio, sound: Array) -> None:  # type: ignore[no-untyped-def]
    size = 1024
    for start in range(0, len(sound), size):
        chunk = np.zeros((1, size), np.float32)
        part = sound[start : start + size]
        chunk[0, : len(part)] = part
        frame = av.AudioFrame.from_ndarray(chunk, format="fltp", layout="mono")
        frame.sample_rate, frame.pts, frame.time_base = SAMPLE_HZ, start, Fraction(1, SAMPLE_HZ)
        file.mux(audio.encode(frame))
    file.mux(audio.encode())
