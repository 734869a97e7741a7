"""A phone's video file: true picture times, upright pictures, sound."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import inf
from pathlib import Path

import numpy as np
from av.codec.context import CodecContext
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray

from elbowroom.adapters.video.decoding import PictureDecoder
from elbowroom.adapters.video.opening import choose_stream, open_container, translate_errors
from elbowroom.adapters.video.sound import find_sound_factor, join_blocks, read_blocks
from elbowroom.adapters.video.table import PictureTable, read_table
from elbowroom.adapters.video.turning import Rgb, Turn, read_turn
from elbowroom.core.clips.repeats import find_repeated, measure_level_change
from elbowroom.core.clips.timing import mark_repeats, time_pictures
from elbowroom.core.clips.types import Clip, ClipTimes, Sound
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import ClipError

RATE_TAGS = ("com.android.capture.fps",)
"""Tags that carry the capture rate of a slow-motion file (from memory). Phones that write none either keep
every picture's true time (then the container's rate is the capture rate) or leave the rate to be stated."""
SMALL_EDGE_PX = 160
"""Longest edge of the small pictures in which repeats are looked for."""


@dataclass(frozen=True, kw_only=True)
class ClipFile:
    """An opened clip; the file is opened anew for each reading and closed after it."""

    path: Path
    """Where the file is."""
    clip: Clip
    """What the clip is."""
    times: ClipTimes
    """When its pictures were taken."""
    table: PictureTable
    """The file's own times and key pictures."""
    turn: Turn
    """How stored pictures become upright."""

    def read_pictures(
        self, pictures: Iterable[int] | None = None, long_edge_px: int | None = None
    ) -> Iterator[tuple[int, Rgb]]:
        """Read upright pictures one at a time, in the order of time, in memory that does not grow.

        Args:
            pictures: numbers of the pictures wanted, in any order; all where left out.
            long_edge_px: shrink pictures to this longest edge; never enlarged.

        Yields (number, (h, w, 3) uint8 RGB). Raises `ClipError` for a number that the clip does not have
        or a picture that cannot be decoded.
        """
        wanted = self._check_numbers(pictures)
        stored = self.turn.swap(*_shrink(self.clip.width_px, self.clip.height_px, long_edge_px))
        for number, frame in self._decode(wanted):
            with translate_errors(self.clip.name):
                small = _convert(frame, stored, "rgb24")
            yield number, self.turn.apply(small)

    def find_repeats(self, first: int = 0, last: int | None = None) -> ClipTimes:
        """Look through the pictures from `first` to `last` for repeats and return the times with them marked.

        Decodes each picture once, in memory that does not grow. Raises `ClipError` as `read_pictures` does.
        """
        stop = self.clip.picture_count if last is None else last + 1
        stored = self.turn.swap(*_shrink(self.clip.width_px, self.clip.height_px, SMALL_EDGE_PX))
        changes, before = [], None
        for _, frame in self._decode(self._check_numbers(range(first, stop))):
            with translate_errors(self.clip.name):
                grey = _convert(frame, stored, "gray")
            after = grey.astype(np.float64)
            if before is not None:
                changes.append(measure_level_change(before, after))
            before = after
        repeated = np.zeros(self.clip.picture_count, dtype=bool)
        repeated[first:stop] = find_repeated(np.array(changes))
        return mark_repeats(self.times, repeated)

    def read_sound(self, start_s: float = -inf, stop_s: float = inf) -> Sound | Absent:
        """Read the sound between two capture times, whole where left out, mixed to one channel.

        Raises `ClipError` where the sound track is damaged.
        """
        if not self.clip.has_sound:
            return Absent(reason=f"{self.clip.name} has no sound.", advice="Film with the sound on.")
        with open_container(self.path) as container:
            return self._read_sound(container, start_s, stop_s)

    def _read_sound(self, container: InputContainer, start_s: float, stop_s: float) -> Sound | Absent:
        stream = container.streams.audio[0]
        zero_s = float(self.table.ticks[0] * self.table.tick)
        length_s = float((stream.duration or 0) * stream.time_base) if stream.time_base else 0.0
        factor = find_sound_factor(length_s, self.table.duration_s, self.times.slow_factor)
        if factor is None:
            return Absent(reason=f"The sound of {self.clip.name} fits neither slowed nor true time.")
        window = (zero_s + factor * start_s, zero_s + factor * stop_s)
        with translate_errors(self.clip.name):
            blocks = list(read_blocks(container, stream, *window))
            if not blocks:
                return Absent(reason=f"{self.clip.name} has no sound at that time.")
            rate_hz = float(stream.codec_context.sample_rate)
            samples = join_blocks(blocks, rate_hz)
        return Sound(samples=samples, rate_hz=rate_hz * factor, start_s=(blocks[0].start_s - zero_s) / factor)

    def _decode(self, wanted: NDArray[np.int64]) -> Iterator[tuple[int, VideoFrame]]:
        with open_container(self.path) as container:
            stream = choose_stream(container, self.clip.name)
            decoder = PictureDecoder(container, stream, self.table, self.clip.name)
            for number in wanted.tolist():
                yield number, decoder.decode(number)

    def _check_numbers(self, pictures: Iterable[int] | None) -> NDArray[np.int64]:
        count = self.clip.picture_count
        if pictures is None:
            return np.arange(count)
        wanted = np.unique(np.fromiter(pictures, dtype=np.int64))
        if len(wanted) and (wanted[0] < 0 or wanted[-1] >= count):
            raise ClipError(f"{self.clip.name} has pictures 0 to {count - 1}; ask for one of these.")
        return wanted


def read_clip(path: Path, stated_rate_hz: float | None = None) -> ClipFile:
    """Open a clip, check that it is whole, and read its picture times.

    Args:
        path: the video file.
        stated_rate_hz: capture rate that the user states, pictures a second; goes before the file's own.

    Raises `ClipError`, one sentence that says what to do, for whatever is wrong with the file or the rate.
    """
    with open_container(path) as container:
        stream = choose_stream(container, path.name)
        table = read_table(container, stream, path.name)
        tagged_hz = _read_tagged_rate(container)
        has_sound = _has_sound(container)
        # After the walk through the packets, so that the decoder starts clean at the first key picture.
        frame = PictureDecoder(container, stream, table, path.name).decode(0)
        turn = read_turn(frame)
        width, height = turn.swap(*_find_square_size(stream, frame))
        codec = stream.codec_context.codec.name
    times = time_pictures(table.container_s, tick_s=float(table.tick), stated_hz=stated_rate_hz, tagged_hz=tagged_hz)
    clip = Clip(
        name=path.name,
        width_px=width,
        height_px=height,
        turned_deg=turn.clockwise_deg,
        is_mirrored=turn.is_mirrored,
        codec=codec,
        duration_s=_find_duration(table, times),
        has_sound=has_sound,
        picture_count=len(times.times_s),
    )
    return ClipFile(path=path, clip=clip, times=times, table=table, turn=turn)


def _convert(frame: VideoFrame, size_px: tuple[int, int], kind: str) -> Rgb:
    # The filter that shrinks well is slow where nothing shrinks: then the plain conversion does.
    shrinks = size_px != (frame.width, frame.height)
    converted = frame.reformat(*size_px, format=kind, interpolation="AREA" if shrinks else None)
    return converted.to_ndarray().astype(np.uint8, copy=False)


def _find_square_size(stream: VideoStream, frame: VideoFrame) -> tuple[int, int]:
    aspect = stream.sample_aspect_ratio
    width = frame.width if not aspect else max(1, round(frame.width * float(aspect)))
    return width, frame.height


def _find_duration(table: PictureTable, times: ClipTimes) -> float:
    last_s = float(times.times_s[-1])
    return max(table.duration_s / times.slow_factor, last_s + 1.0 / times.rate_hz)


def _has_sound(container: InputContainer) -> bool:
    # The library's types promise a decoder; a track with an unknown code has none.
    contexts: list[CodecContext | None] = [stream.codec_context for stream in container.streams.audio[:1]]
    return any(context is not None for context in contexts)


def _read_tagged_rate(container: InputContainer) -> float | None:
    for tag in RATE_TAGS:
        try:
            rate_hz = float(container.metadata.get(tag, ""))
        except ValueError:
            continue
        if 0 < rate_hz < inf:
            return rate_hz
    return None


def _shrink(width: int, height: int, long_edge_px: int | None) -> tuple[int, int]:
    longest = max(width, height)
    if long_edge_px is None or longest <= long_edge_px:
        return width, height
    scale = long_edge_px / longest
    return max(1, round(width * scale)), max(1, round(height * scale))
