"""Writes small tflite files with the flatbuffers package, for tests of our reader."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import flatbuffers
import numpy as np
from numpy.typing import NDArray

Builder = flatbuffers.Builder


@dataclass(frozen=True, kw_only=True)
class SparseMatrix:
    """A float32 matrix with its second level compressed."""

    shape: tuple[int, int]
    """Rows and columns."""
    segments: Sequence[int]
    """Where each row begins among the columns."""
    columns: Sequence[int]
    """The column of each value."""
    values: Sequence[float]
    """The values, row by row."""


def write_tflite(constant: NDArray[np.float32], sparse: SparseMatrix) -> bytes:
    """A file with an input (tensor 0), a constant (1), a sparse constant (2) and their sum (3) by one ADD."""
    builder = Builder(1024)
    buffers = [
        write_buffer(builder, b""),
        write_buffer(builder, constant.tobytes()),
        write_buffer(builder, np.asarray(sparse.values, np.float32).tobytes()),
    ]
    sparsity = write_sparsity(builder, sparse)
    tensors = [
        write_tensor(builder, "input", constant.shape, 0, 0),
        write_tensor(builder, "constant", constant.shape, 1, 0),
        write_tensor(builder, "sparse", sparse.shape, 2, sparsity),
        write_tensor(builder, "sum", constant.shape, 0, 0),
    ]
    operator = write_table(builder, {1: write_integers(builder, [0, 1]), 2: write_integers(builder, [3])})
    graph_fields = {
        0: write_offsets(builder, tensors),
        1: write_integers(builder, [0]),
        2: write_integers(builder, [3]),
        3: write_offsets(builder, [operator]),
    }
    graph = write_table(builder, graph_fields)
    code = write_table(builder, {})
    root_fields = {
        1: write_offsets(builder, [code]),
        2: write_offsets(builder, [graph]),
        4: write_offsets(builder, buffers),
    }
    builder.Finish(write_table(builder, root_fields), file_identifier=b"TFL3")
    return bytes(builder.Output())


def write_table(builder: Builder, offsets: dict[int, int], numbers: dict[int, tuple[str, int]] | None = None) -> int:
    """A table with offset fields and number fields (type name of the builder, value)."""
    numbers = numbers or {}
    builder.StartObject(max([*offsets, *numbers, -1]) + 1)
    for field, offset in offsets.items():
        builder.PrependUOffsetTRelativeSlot(field, offset, 0)
    for field, (kind, value) in numbers.items():
        getattr(builder, f"Prepend{kind}Slot")(field, value, 0)
    return int(builder.EndObject())


def write_buffer(builder: Builder, data: bytes) -> int:
    return write_table(builder, {0: builder.CreateByteVector(data)} if data else {})


def write_integers(builder: Builder, values: Sequence[int]) -> int:
    return int(builder.CreateNumpyVector(np.asarray(values, np.int32)))


def write_offsets(builder: Builder, offsets: Sequence[int]) -> int:
    builder.StartVector(4, len(offsets), 4)
    for offset in reversed(offsets):
        builder.PrependUOffsetTRelative(offset)
    return int(builder.EndVector())


def write_tensor(builder: Builder, name: str, shape: Sequence[int], buffer: int, sparsity: int) -> int:
    offsets = {0: write_integers(builder, shape), 3: builder.CreateString(name)}
    if sparsity:
        offsets[6] = sparsity
    return write_table(builder, offsets, {2: ("Uint32", buffer)})


def write_sparsity(builder: Builder, sparse: SparseMatrix) -> int:
    """Traversal order rows then columns; rows dense, columns compressed with 32-bit indices."""
    rows = write_table(builder, {}, {1: ("Int32", sparse.shape[0])})
    segments = write_table(builder, {0: write_integers(builder, sparse.segments)})
    columns = write_table(builder, {0: write_integers(builder, sparse.columns)})
    compressed = write_table(builder, {3: segments, 5: columns}, {0: ("Int8", 1), 2: ("Uint8", 1), 4: ("Uint8", 1)})
    levels = write_offsets(builder, [rows, compressed])
    return write_table(builder, {0: write_integers(builder, [0, 1]), 2: levels})
