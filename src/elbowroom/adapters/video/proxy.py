"""Makes of a clip a proxy that every browser steps through picture by picture, and the table of picture times."""

from __future__ import annotations

import json
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.container import OutputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from elbowroom.adapters.video.clip_file import ClipFile, read_clip
from elbowroom.adapters.video.opening import translate_errors
from elbowroom.errors import ClipError

SHORT_EDGE_PX = 720
TICKS_HZ = 90_000
OPTIONS = {"preset": "veryfast", "tune": "fastdecode", "g": "12", "bf": "0", "crf": "24", "sc_threshold": "0"}
"""GOP 12, no B-frames, fast to decode: a step of one picture then takes a browser 12 to 23 ms (own trial)."""
REPORT_EVERY = 24


def make_proxy(source: Path, proxy: Path, times: Path, report: Callable[[str, int, int], None]) -> None:
    """Write a proxy (H.264, upright, short edge at most 720, no sound) and the times of its pictures.

    Every picture of the clip is in it, shown at its capture time; the table holds, by number of the picture, the
    capture time and the middle of the time for which the proxy shows it, seconds. Raises `ClipError`.
    """
    clip = read_clip(source)
    size = _choose_size(clip.clip.width_px, clip.clip.height_px)
    ticks = np.rint(clip.times.times_s * TICKS_HZ).astype(np.int64)
    with translate_errors(source.name), av.open(str(proxy), "w", options={"movflags": "+faststart"}) as container:
        _write_pictures(container, clip, size, ticks, report)
    _check_count(proxy, len(ticks), source.name)
    times.write_text(json.dumps(_build_table(clip, size, ticks)), encoding="utf-8")


def _write_pictures(
    container: OutputContainer,
    clip: ClipFile,
    size: tuple[int, int],
    ticks: np.ndarray[tuple[int], np.dtype[np.int64]],
    report: Callable[[str, int, int], None],
) -> None:
    stream: VideoStream = container.add_stream("libx264", rate=Fraction(TICKS_HZ), options=dict(OPTIONS))
    stream.width, stream.height, stream.pix_fmt = *size, "yuv420p"
    stream.codec_context.time_base = stream.time_base = Fraction(1, TICKS_HZ)
    stream.codec_context.thread_count = 1
    for number, picture in clip.read_pictures(None, max(size)):
        frame = VideoFrame.from_ndarray(picture, format="rgb24")
        frame.pts, frame.time_base = int(ticks[number]), Fraction(1, TICKS_HZ)
        container.mux(stream.encode(frame.reformat(*size, format="yuv420p")))
        if number % REPORT_EVERY == 0:
            report(f"making the proxy of {clip.clip.name}", number, len(ticks))
    container.mux(stream.encode())


def _choose_size(width: int, height: int) -> tuple[int, int]:
    """Return an even size whose short edge is at most 720."""
    share = min(1.0, SHORT_EDGE_PX / min(width, height))
    even = [max(2, 2 * round(edge * share / 2)) for edge in (width, height)]
    return even[0], even[1]


def _build_table(
    clip: ClipFile, size: tuple[int, int], ticks: np.ndarray[tuple[int], np.dtype[np.int64]]
) -> dict[str, object]:
    shown_s = ticks / TICKS_HZ
    ends_s = np.append(shown_s[1:], shown_s[-1] + 1.0 / clip.times.rate_hz)
    return {
        "format": "elbowroom picture times",
        "format_version": "1",
        "clip": {"width_px": clip.clip.width_px, "height_px": clip.clip.height_px, "rate_hz": clip.times.rate_hz},
        "proxy": {"width_px": size[0], "height_px": size[1]},
        "capture_s": [round(float(time_s), 7) for time_s in clip.times.times_s],
        "seek_s": [round(float(time_s), 7) for time_s in (shown_s + ends_s) / 2],
    }


def _check_count(proxy: Path, count: int, name: str) -> None:
    made = read_clip(proxy)
    if made.clip.picture_count != count:
        raise ClipError(f"The proxy of {name} lost pictures ({made.clip.picture_count} of {count}): report this.")
