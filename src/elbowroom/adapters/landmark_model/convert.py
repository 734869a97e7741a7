"""Makes an ONNX model of a landmark model's tflite file: any number of pictures at once, 8-bit pictures in,
no segmentation. The same file gives the same bytes on every machine with the same `onnx` package.
"""

from dataclasses import dataclass

import numpy as np
import onnx

from elbowroom.adapters.landmark_model.onnx_graph import GrowingGraph
from elbowroom.adapters.landmark_model.onnx_operators import ADDERS
from elbowroom.adapters.landmark_model.tflite import Operator, TfliteGraph, read_tflite
from elbowroom.errors import WeightsError

CONVERTER_VERSION = 2
"""Part of the converted file's name: raise it whenever the converted model changes."""

_OPSET, _FORMAT = 17, 8

# What a graph that makes no sense can raise on its way through the ONNX package.
_UNSOUND = (
    ValueError,
    LookupError,
    ArithmeticError,
    TypeError,
    onnx.checker.ValidationError,
    onnx.shape_inference.InferenceError,
)


@dataclass(frozen=True, kw_only=True)
class InputRange:
    """What the model wants its pixels to be: value * gain + zero level for a value of 0 to 255."""

    gain: float
    """Factor of the pixel value."""
    zero_level: float
    """Added after the factor: what a pixel value of 0 becomes."""


DETECTOR_RANGE = InputRange(gain=2 / 255, zero_level=-1.0)
LANDMARK_RANGE = InputRange(gain=1 / 255, zero_level=0.0)


def convert_model(data: bytes, input_range: InputRange) -> bytes:
    """ONNX bytes of the tflite bytes.

    The input is named `pictures`, uint8 (N, side, side, 3) RGB. Outputs keep the tflite names; flat ones keep
    their shapes, pictures come out channels first (N, channels, rows, columns); one-channel pictures (the
    segmentation) and what only they need are left out. Raises WeightsError when the file cannot be read or
    converted.
    """
    source = read_tflite(data)
    try:
        model = _build_model(source, input_range)
        onnx.checker.check_model(model, full_check=True)
    except _UNSOUND as error:
        raise WeightsError(
            "The model file could not be converted to ONNX; delete it and fetch the weights again."
        ) from error
    return bytes(model.SerializeToString(deterministic=True))


def _build_model(source: TfliteGraph, input_range: InputRange) -> onnx.ModelProto:
    outputs = [index for index in source.outputs if not _is_segmentation(source, index)]
    needed = _choose_operators(source, outputs)
    graph = GrowingGraph(source, needed)
    graph.store("zero", np.array(0, np.float32))
    graph.store("six", np.array(6, np.float32))
    _add_input(graph, input_range)
    for operator in needed:
        ADDERS[operator.kind](graph, operator)
    for index in outputs:
        graph.add_node("Identity", [graph.name_tensor(index)], source.tensors[index].name)
    return _finish_model(graph, outputs)


def _is_segmentation(source: TfliteGraph, index: int) -> bool:
    shape = source.tensors[index].shape
    return len(shape) == 4 and shape[3] == 1 and shape[1] > 1


def _choose_operators(source: TfliteGraph, outputs: list[int]) -> list[Operator]:
    wanted, chosen = set(outputs), []
    for operator in reversed(source.operators):
        if wanted.intersection(operator.outputs):
            chosen.append(operator)
            wanted.update(operator.inputs)
    return chosen[::-1]


def _add_input(graph: GrowingGraph, input_range: InputRange) -> None:
    index = graph.source.inputs[0]
    graph.add_node("Transpose", ["pictures"], "channels_first", perm=[0, 3, 1, 2])
    graph.add_node("Cast", ["channels_first"], "floats", to=onnx.TensorProto.FLOAT)
    gain = graph.store("gain", np.array(input_range.gain, np.float32))
    if input_range.zero_level == 0.0:
        graph.add_node("Mul", ["floats", gain], graph.name_tensor(index))
        return
    graph.add_node("Mul", ["floats", gain], "scaled")
    zero_level = graph.store("zero_level", np.array(input_range.zero_level, np.float32))
    graph.add_node("Add", ["scaled", zero_level], graph.name_tensor(index))


def _finish_model(graph: GrowingGraph, outputs: list[int]) -> onnx.ModelProto:
    shape = graph.get_shape(graph.source.inputs[0], 4)
    picture = onnx.helper.make_tensor_value_info("pictures", onnx.TensorProto.UINT8, ["n", *shape[1:]])
    given = [
        onnx.helper.make_tensor_value_info(
            graph.source.tensors[index].name,
            onnx.TensorProto.FLOAT,
            ["n", *_order_channels_first(graph.source.tensors[index].shape)[1:]],
        )
        for index in outputs
    ]
    body = onnx.helper.make_graph(graph.nodes, "landmark_model", [picture], given, graph.stored)
    opset = onnx.helper.make_opsetid("", _OPSET)
    return onnx.helper.make_model(body, opset_imports=[opset], ir_version=_FORMAT, producer_name="elbowroom")


def _order_channels_first(shape: tuple[int, ...]) -> tuple[int, ...]:
    return (shape[0], shape[3], shape[1], shape[2]) if len(shape) == 4 else shape
