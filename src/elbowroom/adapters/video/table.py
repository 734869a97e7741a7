"""The table of a clip's pictures: their times and key pictures, from the packets, without decoding."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

import numpy as np
from av.container import InputContainer
from av.packet import Packet
from av.stream import Stream
from av.video.stream import VideoStream
from numpy.typing import NDArray

from elbowroom.core.clips.types import Array
from elbowroom.errors import ClipError

Ticks = NDArray[np.int64]
CUT_OFF_S = 0.1
"""A file whose pictures and sound end this long before the time that its header states is cut off."""


@dataclass(frozen=True, kw_only=True)
class PictureTable:
    """The pictures of a clip in the order in which they are shown."""

    ticks: Ticks
    """(n,) times as the file writes them, strictly increasing, in units of `tick`."""
    tick: Fraction
    """Length of a tick, seconds."""
    keys: Ticks
    """(m,) numbers of the pictures from which decoding can start, increasing; the first is 0."""
    duration_s: float
    """Time from the first picture to the end of the last by the file's own clock, seconds."""

    @property
    def container_s(self) -> Array:
        """(n,) picture times by the file's own clock from its first picture, seconds."""
        times: Array = (self.ticks - self.ticks[0]) * float(self.tick)
        return times

    def find_picture(self, tick: int | None) -> int | None:
        """Find the number of the picture shown at exactly this tick."""
        if tick is None:
            return None
        number = int(np.searchsorted(self.ticks, tick))
        return number if number < len(self.ticks) and self.ticks[number] == tick else None

    def find_key(self, picture: int) -> int:
        """Find which key picture (its place in `keys`) decoding has to start from to reach a picture."""
        return max(0, int(np.searchsorted(self.keys, picture, side="right")) - 1)


class _Packet(NamedTuple):
    shown: int
    length: int
    is_key: bool


def read_table(container: InputContainer, stream: VideoStream, name: str) -> PictureTable:
    """Read the table of pictures by walking through the packets.

    Raises `ClipError` where the file is cut off, holds no pictures, or no usable times.
    """
    packets, seen, end_s = _walk_packets(container, stream, name)
    _check_whole(container, stream, name, seen, end_s)
    packets = _drop_undecodable(packets)
    if not packets or stream.time_base is None:
        raise ClipError(f"{name} holds no picture that can be shown; copy it from the phone again.")
    packets.sort(key=lambda packet: packet.shown)
    ticks = np.array([packet.shown for packet in packets], dtype=np.int64)
    if np.any(np.diff(ticks) <= 0):
        raise ClipError(f"Several pictures of {name} carry the same time; export it again as MP4 or MOV.")
    keys = [number for number, packet in enumerate(packets) if packet.is_key]
    return PictureTable(
        ticks=ticks,
        tick=stream.time_base,
        keys=np.array(keys, dtype=np.int64),
        duration_s=float((ticks[-1] - ticks[0] + packets[-1].length) * stream.time_base),
    )


def _walk_packets(container: InputContainer, stream: VideoStream, name: str) -> tuple[list[_Packet], int, float]:
    packets: list[_Packet] = []
    seen, end_s = 0, 0.0
    for packet in container.demux([stream, *container.streams.audio]):
        if packet.size == 0:
            continue
        if packet.is_corrupt:
            raise ClipError(f"{name} is cut off or damaged; copy the whole file from the phone again.")
        end_s = max(end_s, float(((packet.pts or 0) + (packet.duration or 0)) * packet.time_base))
        if packet.stream_index != stream.index:
            continue
        seen += 1
        # Pictures that the file's edit list hides are decoded and never shown.
        if not packet.is_discard:
            packets.append(_read_packet(packet, name))
    return packets, seen, end_s


def _read_packet(packet: Packet[Stream], name: str) -> _Packet:
    if packet.pts is None:
        raise ClipError(f"{name} holds no picture times; export it again as MP4 or MOV.")
    return _Packet(packet.pts, packet.duration or 0, packet.is_keyframe)


def _check_whole(container: InputContainer, stream: VideoStream, name: str, seen: int, end_s: float) -> None:
    # Matroska states the length in front, and the parts of the file give no other sign of a cut.
    stated_s = (container.duration or 0) / 1e6 if "matroska" in container.format.name else 0.0
    if seen < stream.frames or end_s < stated_s - CUT_OFF_S:
        raise ClipError(f"{name} is cut off; copy the whole file from the phone again.")


def _drop_undecodable(packets: list[_Packet]) -> list[_Packet]:
    first = next((n for n, packet in enumerate(packets) if packet.is_key), None)
    if first is None:
        return []
    start = packets[first].shown
    return [packet for packet in packets[first:] if packet.shown >= start]
