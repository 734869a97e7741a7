"""Writes a clip with circles of its pictures hidden: no sound, no note of where it comes from."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.video.opening import translate_errors
from elbowroom.errors import ClipError, ResultError
from elbowroom.service.ports import OpenClip

Picture = NDArray[np.uint8]
Array = NDArray[np.float64]
CELLS = 3
"""What is left of a hidden circle: so many patches of colour across and down, smoothed: nine tell no face."""
TICK = Fraction(1, 90_000)
QUALITY = "20"


def write_covered_clip(path: Path, clip: OpenClip, pictures: Iterable[tuple[int, Picture, Array]]) -> None:
    """Write pictures (number, (h, w, 3) red first, circles (k, 3)) at the clip's own times, H.264 in an MP4 file.

    Raises `ClipError` where the clip cannot be encoded, `ResultError` where the file cannot be written.
    """
    if path.exists():
        path.unlink()
    width, height = clip.clip.width_px // 2 * 2, clip.clip.height_px // 2 * 2
    times = clip.times.times_s * clip.times.slow_factor
    try:
        with translate_errors(clip.clip.name), av.open(str(path), "w", options={"fflags": "+bitexact"}) as container:
            stream = _add_stream(container, width, height, float(1.0 / np.median(np.diff(times))))
            for number, picture, circles in pictures:
                covered = replace_circles(picture, circles)[:height, :width]
                frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(covered), format="rgb24")
                frame.pts, frame.time_base = round(float(times[number]) / TICK), TICK
                container.mux(stream.encode(frame))
            container.mux(stream.encode(None))
    except ClipError:
        raise
    except OSError as e:
        raise ResultError(f"{path} cannot be written ({e.strerror}): check room and permissions.") from e


def _add_stream(container: Any, width: int, height: int, rate_hz: float) -> Any:
    stream = container.add_stream("libx264", rate=Fraction(rate_hz).limit_denominator(1001))
    stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
    stream.codec_context.time_base = stream.time_base = TICK
    stream.options = {"crf": QUALITY, "preset": "veryfast", "flags": "+bitexact"}
    return stream


def replace_circles(picture: Picture, circles_px: Array) -> Picture:
    """Return a picture (h, w, 3) whose circles (k, 3) hold a few smoothed patches of colour and nothing else."""
    covered = picture.copy()
    for x, y, radius in circles_px.tolist():
        left, top = max(0, int(x - radius)), max(0, int(y - radius))
        right, bottom = min(picture.shape[1], int(x + radius) + 2), min(picture.shape[0], int(y + radius) + 2)
        if left >= right or top >= bottom:
            continue
        part = covered[top:bottom, left:right]
        patches = cv2.resize(part, (CELLS, CELLS), interpolation=cv2.INTER_AREA)
        smooth = cv2.resize(patches, (right - left, bottom - top), interpolation=cv2.INTER_LINEAR)
        rows, columns = np.mgrid[top:bottom, left:right]
        inside = (columns - x) ** 2 + (rows - y) ** 2 <= radius**2
        part[inside] = smooth[inside]
    return covered
