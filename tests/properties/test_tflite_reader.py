"""The reader of tflite files on sound and on damaged files.

Sides: round trip through the flatbuffers package (a second implementation of the format); files cut and mutated at
random, which must be read or refused in a sentence, never crash.
"""

from __future__ import annotations

from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from elbowroom.adapters.landmark_model.convert import LANDMARK_RANGE, convert_model
from elbowroom.adapters.landmark_model.tflite import read_tflite
from elbowroom.errors import WeightsError
from tests.makers.tflite import SparseMatrix, write_tflite


def make_sparse(dense: np.ndarray) -> SparseMatrix:
    rows, columns = np.nonzero(dense)
    starts = np.searchsorted(rows, np.arange(len(dense) + 1))
    shape = (dense.shape[0], dense.shape[1])
    return SparseMatrix(shape=shape, segments=starts, columns=columns, values=dense[rows, columns])


def make_file(seed: int = 0) -> bytes:
    random = np.random.default_rng(seed)
    dense = random.normal(size=(4, 6)) * (random.uniform(size=(4, 6)) < 0.4)
    return write_tflite(random.normal(size=(1, 2, 2, 3)).astype(np.float32), make_sparse(dense.astype(np.float32)))


SOUND = make_file()


@given(st.integers(0, 2**32 - 1), st.integers(1, 7), st.integers(1, 7), st.floats(0, 1))
@settings(max_examples=60, deadline=None)
def test_round_trip(seed: int, rows: int, columns: int, share: float) -> None:
    random = np.random.default_rng(seed)
    dense = (random.normal(size=(rows, columns)) * (random.uniform(size=(rows, columns)) < share)).astype(np.float32)
    dense[0, 0] = 1.0
    constant = random.normal(size=(1, rows, columns, 2)).astype(np.float32)
    graph = read_tflite(write_tflite(constant, make_sparse(dense)))
    assert [tensor.name for tensor in graph.tensors] == ["input", "constant", "sparse", "sum"]
    assert graph.tensors[0].values is None
    np.testing.assert_array_equal(graph.tensors[1].values, constant)
    np.testing.assert_array_equal(graph.tensors[2].values, dense)
    assert (graph.inputs, graph.outputs) == ((0,), (3,))
    (operator,) = graph.operators
    assert (operator.kind, operator.inputs, operator.outputs) == ("ADD", (0, 1), (3,))


@given(st.integers(0, len(SOUND) - 1))
@settings(max_examples=100, deadline=None)
def test_cut_file_is_read_or_refused(length: int) -> None:
    read_or_refuse(SOUND[:length])


@given(st.lists(st.tuples(st.integers(0, len(SOUND) - 1), st.integers(0, 255)), min_size=1, max_size=6))
@settings(max_examples=600, deadline=None)
def test_mutated_file_is_read_or_refused(changes: list[tuple[int, int]]) -> None:
    data = bytearray(SOUND)
    for place, value in changes:
        data[place] = value
    read_or_refuse(bytes(data))


@given(st.binary(max_size=400))
@settings(max_examples=100, deadline=None)
def test_any_bytes_are_refused(data: bytes) -> None:
    with pytest.raises(WeightsError, match="damaged"):
        read_tflite(data)


def read_or_refuse(data: bytes) -> None:
    """Read and convert; no error but our own may come out."""
    with suppress(WeightsError):
        convert_model(data, LANDMARK_RANGE)
    with suppress(WeightsError):
        read_tflite(data)
