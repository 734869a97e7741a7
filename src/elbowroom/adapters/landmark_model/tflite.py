"""Reads the graph and the weights of a tflite file, as far as the landmark models need them.

Field numbers follow the public schema of the format (version 3). Sparse weights come out dense.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model.flatbuffer import FlatbufferError, Table, read_root
from elbowroom.adapters.landmark_model.sparse import densify
from elbowroom.errors import WeightsError

_OPERATORS = {
    0: "ADD",
    2: "CONCATENATION",
    3: "CONV_2D",
    4: "DEPTHWISE_CONV_2D",
    5: "DEPTH_TO_SPACE",
    6: "DEQUANTIZE",
    14: "LOGISTIC",
    17: "MAX_POOL_2D",
    22: "RESHAPE",
    23: "RESIZE_BILINEAR",
    34: "PAD",
    124: "DENSIFY",
}
_TYPES = {0: np.float32, 1: np.float16, 2: np.int32, 3: np.uint8, 4: np.int64, 9: np.int8}
_MOST_ELEMENTS = 1 << 26


@dataclass(frozen=True, kw_only=True)
class Tensor:
    """One tensor of the graph."""

    name: str
    """Its name in the file."""
    shape: tuple[int, ...]
    """Its shape, batch 1, channels last."""
    values: NDArray[np.generic] | None
    """Its stored values, or None where it is computed."""


@dataclass(frozen=True, kw_only=True)
class Operator:
    """One operation of the graph."""

    kind: str
    """Its name in the schema."""
    inputs: tuple[int, ...]
    """Tensors it reads."""
    outputs: tuple[int, ...]
    """Tensors it writes."""
    options: Table
    """Its options, still in the file's form."""


@dataclass(frozen=True, kw_only=True)
class TfliteGraph:
    """The first graph of a tflite file."""

    tensors: tuple[Tensor, ...]
    """All tensors."""
    operators: tuple[Operator, ...]
    """All operations, in the order in which they run."""
    inputs: tuple[int, ...]
    """Tensors fed from outside."""
    outputs: tuple[int, ...]
    """Tensors given out."""


def read_tflite(data: bytes) -> TfliteGraph:
    """Read the bytes of a tflite file; raises WeightsError when they are damaged or use what we cannot
    read."""
    try:
        return _read_graph(read_root(data, b"TFL3"))
    except ValueError as error:
        raise WeightsError(f"The model file is damaged ({error}); delete it and fetch the weights again.") from error


def _read_graph(root: Table) -> TfliteGraph:
    graphs, buffers = root.read_tables(2), root.read_tables(4)
    if not graphs:
        raise FlatbufferError("it holds no graph")
    graph = graphs[0]
    tensors = tuple(_read_tensor(table, buffers) for table in graph.read_tables(0))
    # The code moved to a wider field when the narrow one ran out; the larger of the two holds.
    codes = [max(code.read_scalar(0, "b"), code.read_scalar(3, "i")) for code in root.read_tables(1)]
    operators = tuple(_read_operator(table, codes, len(tensors)) for table in graph.read_tables(3))
    inputs, outputs = graph.read_integers(1), graph.read_integers(2)
    _check_indices(inputs + outputs, len(tensors), lowest=0)
    return TfliteGraph(tensors=tensors, operators=operators, inputs=inputs, outputs=outputs)


def _read_tensor(table: Table, buffers: list[Table]) -> Tensor:
    shape, name = table.read_integers(0), table.read_text(3)
    if any(size < 0 for size in shape) or math.prod(shape) > _MOST_ELEMENTS:
        raise FlatbufferError("a tensor has an impossible shape")
    buffer = table.read_scalar(2, "I")
    if buffer >= len(buffers):
        raise FlatbufferError("a tensor names a buffer that is not there")
    raw = buffers[buffer].read_array(0, np.uint8)
    values = _shape_values(raw.tobytes(), table, shape) if raw.size else None
    return Tensor(name=name, shape=shape, values=values)


def _shape_values(raw: bytes, table: Table, shape: tuple[int, ...]) -> NDArray[np.generic]:
    dtype = _TYPES.get(table.read_scalar(1, "b"))
    if dtype is None:
        raise FlatbufferError("a tensor has numbers of an unknown type")
    values = np.frombuffer(raw, dtype)
    sparsity = table.read_table(6)
    return densify(values, shape, sparsity) if sparsity.position >= 0 else values.reshape(shape)


def _read_operator(table: Table, codes: list[int], tensor_count: int) -> Operator:
    index = table.read_scalar(0, "I")
    kind = _OPERATORS.get(codes[index]) if index < len(codes) else None
    if kind is None:
        raise FlatbufferError("it uses an operation that the landmark models do not have")
    inputs, outputs = table.read_integers(1), table.read_integers(2)
    _check_indices(inputs, tensor_count, lowest=-1)
    _check_indices(outputs, tensor_count, lowest=0)
    return Operator(kind=kind, inputs=inputs, outputs=outputs, options=table.read_table(4))


def _check_indices(indices: tuple[int, ...], count: int, *, lowest: int) -> None:
    if any(not lowest <= index < count for index in indices):
        raise FlatbufferError("an operation names a tensor that is not there")
