"""One converted model on several cores: one single-thread session each, every batch handled on one of them.

The runtime lets go of the interpreter while it computes, so plain threads keep all cores busy; cropping and
decoding run in the same thread as the batch they belong to.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from math import ceil
from queue import SimpleQueue
from typing import TypeVar

import numpy as np
import onnxruntime
from numpy.typing import NDArray
from onnxruntime.capi import onnxruntime_pybind11_state as runtime_errors

from elbowroom.errors import WeightsError

Run = Callable[[NDArray[np.uint8]], list[NDArray[np.float32]]]
Result = TypeVar("Result")

# The runtime's errors have no common parent; these are what it raises for a model that is not sound.
_REFUSALS = (
    runtime_errors.Fail,
    runtime_errors.InvalidArgument,
    runtime_errors.InvalidGraph,
    runtime_errors.InvalidProtobuf,
    runtime_errors.NotImplemented,
    runtime_errors.RuntimeException,
)


class Network:
    """Runs a model on batches of 8-bit pictures."""

    def __init__(self, model: bytes, *, cores: int, outputs: Sequence[str], largest_batch: int) -> None:
        """Open one session per core on the ONNX bytes. Raises WeightsError when the runtime refuses them."""
        self._outputs = list(outputs)
        self._largest_batch = largest_batch
        self._cores = cores
        self._idle: SimpleQueue[onnxruntime.InferenceSession] = SimpleQueue()
        for _ in range(cores):
            self._idle.put(_open_session(model))
        self._threads = ThreadPoolExecutor(cores, thread_name_prefix="landmark-model")

    def split_work(self, count: int) -> list[slice]:
        """Batches that cover 0 to count, no larger than allowed and even enough to keep all cores busy."""
        size = max(1, min(self._largest_batch, ceil(count / self._cores)))
        return [slice(start, min(start + size, count)) for start in range(0, count, size)]

    def run_batches(self, count: int, handle: Callable[[Run, slice], Result]) -> list[Result]:
        """Call `handle` for each batch of 0 to count on some core, and give the results in order.

        `handle` gets a function that runs the model on (k, side, side, 3) pictures, and its batch.
        """
        return list(self._threads.map(lambda batch: self._handle_batch(handle, batch), self.split_work(count)))

    def _handle_batch(self, handle: Callable[[Run, slice], Result], batch: slice) -> Result:
        session = self._idle.get()
        try:
            return handle(lambda pictures: session.run(self._outputs, {"pictures": pictures}), batch)
        finally:
            self._idle.put(session)


def _open_session(model: bytes) -> onnxruntime.InferenceSession:
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    options.inter_op_num_threads = 1
    options.log_severity_level = 3
    try:
        return onnxruntime.InferenceSession(model, options, providers=["CPUExecutionProvider"])
    except _REFUSALS as error:
        raise WeightsError(
            "The landmark model could not be opened; delete the folder of weights and fetch them again."
        ) from error
