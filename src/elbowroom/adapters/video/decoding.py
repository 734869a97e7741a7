"""Decodes single pictures of a file by number: reads on where that is short, else seeks a key picture."""

from __future__ import annotations

from collections.abc import Iterator

from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from elbowroom.adapters.video.opening import translate_errors
from elbowroom.adapters.video.table import PictureTable
from elbowroom.errors import ClipError

WORTH_A_SEEK = 12
"""Pictures that a seek has to save before it is worth refilling the decoder's threads."""


class PictureDecoder:
    """Gives the decoded picture with a number; numbers that increase are the fast way."""

    def __init__(self, container: InputContainer, stream: VideoStream, table: PictureTable, name: str) -> None:
        self._container, self._stream, self._table, self._name = container, stream, table, name
        stream.thread_type = "AUTO"
        self._frames: Iterator[VideoFrame] = iter(())
        self._next: int | None = None

    def decode(self, picture: int) -> VideoFrame:
        """Decode a picture; the file's own time of it is checked, so it is never a neighbour.

        Raises `ClipError` where the picture cannot be decoded.
        """
        with translate_errors(self._name):
            for key in self._choose_starts(picture):
                if key is not None:
                    self._seek(key)
                frame = self._read_until(picture)
                if frame is not None:
                    return frame
        raise ClipError(f"Picture {picture} of {self._name} cannot be decoded; the file is damaged, so copy it again.")

    def _choose_starts(self, picture: int) -> Iterator[int | None]:
        key = self._table.find_key(picture)
        ahead = self._next is not None and self._next <= picture
        if ahead and self._table.keys[key] <= (self._next or 0) + WORTH_A_SEEK:
            yield None
        # A seek may land late (open groups of pictures): go back one key picture, then to the start.
        yield from dict.fromkeys([key, max(0, key - 1), 0])

    def _seek(self, key: int) -> None:
        # By the time at which the key picture is shown: by its decoding time the seek lands one key picture early.
        tick = int(self._table.ticks[self._table.keys[key]])
        self._container.seek(tick, stream=self._stream, backward=True)
        self._frames = self._container.decode(self._stream)

    def _read_until(self, picture: int) -> VideoFrame | None:
        for frame in self._frames:
            number = self._table.find_picture(frame.pts)
            if number is None:
                continue
            self._next = number + 1
            if number >= picture:
                return frame if number == picture and not frame.is_corrupt else None
        self._next = None
        return None
