"""Makes bad clips out of a good one: cut, blanked, mirrored beside itself, thinned out, turned."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.video.frame import VideoFrame
from numpy.typing import NDArray

Picture = NDArray[np.uint8]
Change = Callable[[Picture], Picture]
TICKS_HZ = 90_000


def read_first_pictures(path: Path, count: int) -> Iterator[tuple[float, Picture]]:
    """Yield time in seconds and picture (h, w, 3) of the first pictures of a clip."""
    with av.open(str(path)) as container:
        for number, frame in enumerate(container.decode(video=0)):
            if number == count:
                return
            yield float(frame.time), frame.to_ndarray(format="rgb24")


def recut_clip(
    source: Path, target: Path, pictures: range, change: Change = lambda picture: picture, rotation_deg: int = 0
) -> None:
    """Write the chosen pictures of a clip anew, each changed, with their own times and no sound."""
    with av.open(str(target), "w") as container:
        stream = container.add_stream("libx264", rate=240, options={"preset": "ultrafast", "crf": "22", "bf": "0"})
        stream.pix_fmt, stream.time_base = "yuv420p", Fraction(1, TICKS_HZ)
        stream.codec_context.time_base = Fraction(1, TICKS_HZ)
        stream.codec_context.thread_count = 1
        is_begun = False
        for number, (time_s, picture) in enumerate(read_first_pictures(source, pictures.stop)):
            if number not in pictures:
                continue
            changed = np.ascontiguousarray(change(picture))
            if not is_begun:
                stream.width, stream.height, is_begun = changed.shape[1], changed.shape[0], True
                if rotation_deg:
                    stream.set_display_rotation(rotation_deg)
            frame = VideoFrame.from_ndarray(changed, format="rgb24")
            frame.pts, frame.time_base = round(time_s * TICKS_HZ), Fraction(1, TICKS_HZ)
            container.mux(stream.encode(frame))
        container.mux(stream.encode())


def make_sound_only(target: Path) -> None:
    """Write an MP4 that holds nothing but a second of sound."""
    with av.open(str(target), "w") as container:
        stream = container.add_stream("aac", rate=48_000)
        stream.layout = "mono"
        for start in range(0, 48_000, 1024):
            silence = np.zeros((1, 1024), np.int16)
            block = av.AudioFrame.from_ndarray(silence, format="s16", layout="mono")
            block.sample_rate, block.pts, block.time_base = 48_000, start, Fraction(1, 48_000)
            container.mux(stream.encode(block))
        container.mux(stream.encode())


def make_no_pictures(target: Path) -> None:
    """Write an MP4 that announces a moving picture and holds none."""
    with av.open(str(target), "w", options={"movflags": "empty_moov+frag_keyframe"}) as container:
        stream = container.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = 320, 192, "yuv420p"
        container.start_encoding()


def build_doubler(path: Path, count: int, *, left_px: int, apart_px: int, half_px: int = 190) -> Change:
    """Return a change that moves a clip to the left and shows the columns about its mover again, `apart_px` beside."""
    some = [picture for number, (_, picture) in enumerate(read_first_pictures(path, count)) if number % 40 == 0]
    still = np.median([picture[::4, ::4, 1] for picture in some], axis=0)

    def change(picture: Picture) -> Picture:
        columns = np.nonzero(np.abs(picture[::4, ::4, 1] - still) > 28)[1] * 4
        middle = int(np.median(columns)) if len(columns) else 600
        block = picture[:, max(0, middle - half_px) : middle + half_px]
        doubled = np.roll(picture, -left_px, axis=1)
        first = max(0, middle - half_px) - left_px + apart_px
        last = min(first + block.shape[1], picture.shape[1])
        doubled[:, first:last] = block[:, : last - first]
        return doubled

    return change
