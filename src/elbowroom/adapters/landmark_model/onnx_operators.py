"""How each tflite operation is said in ONNX. Option numbers follow the public tflite schema."""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model.onnx_graph import GrowingGraph, Padding
from elbowroom.adapters.landmark_model.tflite import Operator

_CONVOLUTIONS = ("CONV_2D", "DEPTHWISE_CONV_2D")
_SAME = 0


def find_same_padding(size: int, kernel: int, stride: int, dilation: int) -> tuple[int, int]:
    """Padding before and after that makes ceil(size / stride) outputs; the odd one goes after."""
    outputs = -(-size // stride)
    total = max((outputs - 1) * stride + (kernel - 1) * dilation + 1 - size, 0)
    return total // 2, total - total // 2


def _find_padding(
    scheme: int,
    size: tuple[int, int],
    kernel: tuple[int, int],
    stride: tuple[int, int],
    dilation: tuple[int, int],
) -> Padding:
    if scheme != _SAME:
        return 0, 0, 0, 0
    rows, columns = (find_same_padding(size[k], kernel[k], stride[k], dilation[k]) for k in (0, 1))
    return (*rows, *columns)


def _order_pads(padding: Padding) -> list[int]:
    top, bottom, left, right = padding
    return [top, left, bottom, right]


def _add_widened(graph: GrowingGraph, operator: Operator) -> None:
    values = graph.get_constant(operator.inputs[0])
    graph.constants[operator.outputs[0]] = values.astype(np.float32) if operator.kind == "DEQUANTIZE" else values


def _add_padding(graph: GrowingGraph, operator: Operator) -> None:
    source, output = operator.inputs[0], operator.outputs[0]
    pads = graph.get_constant(operator.inputs[1]).astype(np.int64).reshape(4, 2)
    readers = graph.readers.get(output, [])
    is_spatial = not pads[0].any() and not pads[3].any()
    if is_spatial and all(reader.kind in _CONVOLUTIONS for reader in readers):
        graph.waiting_padding[output] = (source, (*map(int, pads[1]), *map(int, pads[2])))  # type: ignore[assignment]
        return
    channels_first = pads[[0, 3, 1, 2]]
    name = graph.store(f"p{output}", np.concatenate([channels_first[:, 0], channels_first[:, 1]]))
    graph.add_node("Pad", [graph.name_tensor(source), name], graph.name_tensor(output))


def _add_convolution(graph: GrowingGraph, operator: Operator) -> None:
    source, output, options = operator.inputs[0], operator.outputs[0], operator.options
    is_depthwise = operator.kind == "DEPTHWISE_CONV_2D"
    weights = graph.get_constant(operator.inputs[1]).astype(np.float32)
    weights = weights.transpose(3, 0, 1, 2) if is_depthwise else weights.transpose(0, 3, 1, 2)
    stride = (options.read_scalar(2, "i", 1), options.read_scalar(1, "i", 1))
    first = 5 if is_depthwise else 4
    dilation = (options.read_scalar(first + 1, "i", 1), options.read_scalar(first, "i", 1))
    kernel = (weights.shape[2], weights.shape[3])
    size = graph.get_shape(source, 4)[1:3]
    padding = _find_padding(options.read_scalar(0, "b"), (size[0], size[1]), kernel, stride, dilation)
    if source in graph.waiting_padding:
        source, before = graph.waiting_padding[source]
        padding = (*(own + added for own, added in zip(padding, before, strict=True)),)  # type: ignore[assignment]
    bias = graph.get_constant(operator.inputs[2]).astype(np.float32)
    graph.add_activated(
        "Conv",
        [graph.name_tensor(source), graph.store(f"w{output}", weights), graph.store(f"b{output}", bias)],
        output,
        options.read_scalar(4 if is_depthwise else 3, "b"),
        kernel_shape=list(kernel),
        strides=list(stride),
        pads=_order_pads(padding),
        dilations=list(dilation),
        group=weights.shape[0] if is_depthwise else 1,
    )


def _add_sum(graph: GrowingGraph, operator: Operator) -> None:
    output = operator.outputs[0]
    names = [_name_addend(graph, index, output) for index in operator.inputs]
    graph.add_activated("Add", names, output, operator.options.read_scalar(0, "b"))


def _name_addend(graph: GrowingGraph, index: int, output: int) -> str:
    constant: NDArray[np.generic] | None = graph.find_constant(index)
    if constant is None:
        return graph.name_tensor(index)
    values = constant.astype(np.float32)
    return graph.store(f"k{output}_{index}", values.transpose(0, 3, 1, 2) if values.ndim == 4 else values)


def _add_max_pool(graph: GrowingGraph, operator: Operator) -> None:
    source, options = operator.inputs[0], operator.options
    stride = (options.read_scalar(2, "i"), options.read_scalar(1, "i"))
    kernel = (options.read_scalar(4, "i"), options.read_scalar(3, "i"))
    if min(*stride, *kernel) < 1:
        raise ValueError("a pooling has no size")
    size = graph.get_shape(source, 4)[1:3]
    padding = _find_padding(options.read_scalar(0, "b"), (size[0], size[1]), kernel, stride, (1, 1))
    graph.add_activated(
        "MaxPool",
        [graph.name_tensor(source)],
        operator.outputs[0],
        options.read_scalar(5, "b"),
        kernel_shape=list(kernel),
        strides=list(stride),
        pads=_order_pads(padding),
    )


def _add_enlargement(graph: GrowingGraph, operator: Operator) -> None:
    source, output = operator.inputs[0], operator.outputs[0]
    before, after = graph.get_shape(source, 4), graph.get_shape(output, 4)
    scales = np.array([1, 1, after[1] / before[1], after[2] / before[2]], np.float32)
    name = graph.store(f"s{output}", scales)
    mode = "half_pixel" if operator.options.read_scalar(3, "?") else "asymmetric"
    if operator.options.read_scalar(2, "?"):
        mode = "align_corners"
    graph.add_node(
        "Resize",
        [graph.name_tensor(source), "", name],
        graph.name_tensor(output),
        mode="linear",
        coordinate_transformation_mode=mode,
    )


def _add_depth_to_space(graph: GrowingGraph, operator: Operator) -> None:
    graph.add_node(
        "DepthToSpace",
        [graph.name_tensor(operator.inputs[0])],
        graph.name_tensor(operator.outputs[0]),
        blocksize=operator.options.read_scalar(0, "i"),
        mode="DCR",
    )


def _add_reshape(graph: GrowingGraph, operator: Operator) -> None:
    source, output = operator.inputs[0], operator.outputs[0]
    before, after = graph.source.tensors[source].shape, graph.source.tensors[output].shape
    name = graph.name_tensor(source)
    # Only a picture of more than one cell has an order of channels that matters.
    if len(before) == 4 and before[1] * before[2] > 1:
        graph.add_node("Transpose", [name], graph.name_tensor(output) + "_last", perm=[0, 2, 3, 1])
        name = graph.name_tensor(output) + "_last"
    shape = graph.store(f"r{output}", np.array([0, -1, *after[2:]], np.int64))
    graph.add_node("Reshape", [name, shape], graph.name_tensor(output))


def _add_logistic(graph: GrowingGraph, operator: Operator) -> None:
    graph.add_node("Sigmoid", [graph.name_tensor(operator.inputs[0])], graph.name_tensor(operator.outputs[0]))


def _add_concatenation(graph: GrowingGraph, operator: Operator) -> None:
    output = operator.outputs[0]
    graph.get_shape(output, 3)
    names = [graph.name_tensor(index) for index in operator.inputs]
    graph.add_node("Concat", names, graph.name_tensor(output), axis=operator.options.read_scalar(0, "i"))


ADDERS: Mapping[str, Callable[[GrowingGraph, Operator], None]] = {
    "ADD": _add_sum,
    "CONCATENATION": _add_concatenation,
    "CONV_2D": _add_convolution,
    "DEPTHWISE_CONV_2D": _add_convolution,
    "DEPTH_TO_SPACE": _add_depth_to_space,
    "DENSIFY": _add_widened,
    "DEQUANTIZE": _add_widened,
    "LOGISTIC": _add_logistic,
    "MAX_POOL_2D": _add_max_pool,
    "PAD": _add_padding,
    "RESHAPE": _add_reshape,
    "RESIZE_BILINEAR": _add_enlargement,
}
