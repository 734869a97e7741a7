"""A minimal reader of flatbuffers: tables, scalars, vectors and strings, with every offset checked.

Format: the FlatBuffers internals document. A table begins with a signed offset back to its vtable; the vtable
holds for each field its offset from the table's start, 0 where the field has its default.
"""

import struct
from dataclasses import dataclass

import numpy as np
from numpy.typing import DTypeLike, NDArray


class FlatbufferError(ValueError):
    """The bytes are not a sound flatbuffer."""


@dataclass(frozen=True, kw_only=True)
class Table:
    """One table of a flatbuffer; `position` -1 stands for a table that is not there: all fields at their
    defaults."""

    data: bytes
    """The whole file."""
    position: int
    """Where the table begins in the file, or -1."""

    def read_scalar(self, field: int, code: str, default: int = 0) -> int:
        """An integer or boolean field, by its struct code."""
        at = self._find_field(field)
        return int(_unpack(code, self.data, at)) if at else default

    def read_table(self, field: int) -> "Table":
        """A table field; an absent table where the field is not set."""
        at = self._find_field(field)
        return Table(data=self.data, position=_follow(self.data, at) if at else -1)

    def read_array(self, field: int, dtype: DTypeLike) -> NDArray[np.generic]:
        """A vector of numbers, empty where the field is not set."""
        at = self._find_field(field)
        if not at:
            return np.zeros(0, dtype)
        start, count = self._read_vector(at, np.dtype(dtype).itemsize)
        return np.frombuffer(self.data, dtype, count, start)

    def read_integers(self, field: int) -> tuple[int, ...]:
        """A vector of 32-bit integers."""
        return tuple(int(value) for value in self.read_array(field, np.int32))

    def read_tables(self, field: int) -> list["Table"]:
        """A vector of tables, empty where the field is not set."""
        at = self._find_field(field)
        if not at:
            return []
        start, count = self._read_vector(at, 4)
        return [Table(data=self.data, position=_follow(self.data, start + 4 * index)) for index in range(count)]

    def read_text(self, field: int) -> str:
        """A string, "" where the field is not set."""
        return self.read_array(field, np.uint8).tobytes().decode("utf-8", "replace")

    def _find_field(self, field: int) -> int:
        """Position of a field's value; 0 where it is not set."""
        if self.position < 0:
            return 0
        vtable = self.position - _unpack("i", self.data, self.position)
        if 4 + 2 * field >= _unpack("H", self.data, vtable):
            return 0
        offset = _unpack("H", self.data, vtable + 4 + 2 * field)
        return self.position + offset if offset else 0

    def _read_vector(self, at: int, item_bytes: int) -> tuple[int, int]:
        vector = _follow(self.data, at)
        count = _unpack("I", self.data, vector)
        if vector + 4 + count * item_bytes > len(self.data):
            raise FlatbufferError("a vector runs past the end of the file")
        return vector + 4, count


def read_root(data: bytes, mark: bytes) -> Table:
    """The root table of a flatbuffer whose four-byte file mark must be `mark`."""
    if data[4:8] != mark:
        raise FlatbufferError("the file mark is wrong")
    return Table(data=data, position=_follow(data, 0))


def _follow(data: bytes, at: int) -> int:
    return at + _unpack("I", data, at)


def _unpack(code: str, data: bytes, at: int) -> int:
    size = struct.calcsize("<" + code)
    if at < 0 or at + size > len(data):
        raise FlatbufferError("an offset points outside the file")
    value: int = struct.unpack_from("<" + code, data, at)[0]
    return value
