"""The ONNX graph while it grows out of a tflite graph: its nodes, its stored numbers, and the padding still
to place."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import onnx
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model.tflite import Operator, TfliteGraph

Padding = tuple[int, int, int, int]
"""Rows above and below, columns left and right."""


class GrowingGraph:
    """Collects ONNX nodes; activations are channels first, the tflite graph's are channels last."""

    def __init__(self, source: TfliteGraph, operators: Sequence[Operator]) -> None:
        """Begin an empty graph that will say what these operators of the source do."""
        self.source = source
        self.nodes: list[onnx.NodeProto] = []
        self.stored: list[onnx.TensorProto] = []
        self.constants: dict[int, NDArray[np.generic]] = {}
        self.waiting_padding: dict[int, tuple[int, Padding]] = {}
        self.readers: dict[int, list[Operator]] = {}
        for operator in operators:
            for index in operator.inputs:
                self.readers.setdefault(index, []).append(operator)

    def name_tensor(self, index: int) -> str:
        """The name under which a computed tensor goes in the new graph."""
        return f"t{index}"

    def find_constant(self, index: int) -> NDArray[np.generic] | None:
        """The value of a tensor that does not depend on the picture, else None."""
        found = self.constants.get(index)
        return self.source.tensors[index].values if found is None else found

    def get_constant(self, index: int) -> NDArray[np.generic]:
        """The value of a tensor that must not depend on the picture."""
        found = self.find_constant(index)
        if found is None:
            raise ValueError("an operation lacks its weights")
        return found

    def get_shape(self, index: int, rank: int) -> tuple[int, ...]:
        """The shape of a tensor that must have so many dimensions."""
        shape = self.source.tensors[index].shape
        if len(shape) != rank:
            raise ValueError("a tensor has an unexpected number of dimensions")
        return shape

    def store(self, name: str, values: NDArray[np.generic]) -> str:
        """Put numbers into the graph; weights that float16 holds without loss are stored so, at half the
        size."""
        values = np.ascontiguousarray(values)
        short = values.astype(np.float16) if values.dtype == np.float32 and values.size > 64 else None
        if short is None or not np.array_equal(short.astype(np.float32), values):
            self.stored.append(onnx.numpy_helper.from_array(values, name))
            return name
        self.stored.append(onnx.numpy_helper.from_array(short, name + "_short"))
        self.add_node("Cast", [name + "_short"], name, to=onnx.TensorProto.FLOAT)
        return name

    def add_node(self, kind: str, inputs: Sequence[str], output: str, **settings: Any) -> None:
        """Add one operation with one output."""
        self.nodes.append(onnx.helper.make_node(kind, list(inputs), [output], **settings))

    def add_activated(self, kind: str, inputs: Sequence[str], output: int, activation: int, **settings: Any) -> None:
        """Add one operation followed by the activation that the tflite file folds into it (0 none, 1 ReLU, 3
        ReLU6)."""
        name = self.name_tensor(output)
        if activation == 0:
            self.add_node(kind, inputs, name, **settings)
            return
        self.add_node(kind, inputs, name + "_bare", **settings)
        if activation == 1:
            self.add_node("Relu", [name + "_bare"], name)
        elif activation == 3:
            self.add_node("Clip", [name + "_bare", "zero", "six"], name)
        else:
            raise ValueError("an operation has an activation that the landmark models do not have")
