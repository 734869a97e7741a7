"""Turns the sparse weights of a tflite file into dense ones.

A sparse tensor is stored level by level, outermost first, in `traversal order`: a dense level has a fixed
number of children, a sparse (compressed) level lists its children by segments and indices. Levels beyond the
tensor's own dimensions run inside blocks; `block map` says which dimension each of them cuts.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model.flatbuffer import FlatbufferError, Table

_INDEX_TYPES = {1: np.int32, 2: np.uint16, 3: np.uint8}
_MOST_ELEMENTS = 1 << 26


@dataclass(frozen=True, kw_only=True)
class _Level:
    """One level: the number of children of a dense one, segments and indices of a sparse one."""

    is_sparse: bool
    """Whether it lists its children."""
    size: int
    """Number of children of a dense level."""
    segments: NDArray[np.int64]
    """Where the children of each parent begin among the indices of a sparse level."""
    indices: NDArray[np.int64]
    """Places of the children of a sparse level."""


def densify(values: NDArray[np.generic], shape: tuple[int, ...], sparsity: Table) -> NDArray[np.generic]:
    """The dense tensor of the given shape; raises FlatbufferError where the description does not fit."""
    order, block_map = sparsity.read_integers(0), sparsity.read_integers(1)
    levels = [_read_level(table) for table in sparsity.read_tables(2)]
    rank = len(shape)
    if sorted(order) != list(range(rank + len(block_map))) or len(levels) != len(order):
        raise FlatbufferError("the levels of a sparse tensor do not fit its shape")
    coordinates, positions = _walk_levels(order, levels)
    sizes = {dimension: level.size for dimension, level in zip(order, levels, strict=True)}
    places = [coordinates[dimension] for dimension in range(rank)]
    for block, dimension in enumerate(block_map):
        if not 0 <= dimension < rank:
            raise FlatbufferError("a block of a sparse tensor cuts a dimension that is not there")
        places[dimension] = places[dimension] * sizes[rank + block] + coordinates[rank + block]
    return _scatter(values, shape, places, positions)


def _read_level(table: Table) -> _Level:
    is_sparse = table.read_scalar(0, "b") != 0
    segments, indices = (_read_indices(table, 2), _read_indices(table, 4)) if is_sparse else (_NONE, _NONE)
    return _Level(is_sparse=is_sparse, size=table.read_scalar(1, "i"), segments=segments, indices=indices)


_NONE = np.zeros(0, np.int64)


def _read_indices(table: Table, field: int) -> NDArray[np.int64]:
    kind = _INDEX_TYPES.get(table.read_scalar(field, "B"))
    if kind is None:
        raise FlatbufferError("a sparse level has indices of an unknown type")
    return table.read_table(field + 1).read_array(0, kind).astype(np.int64)


def _walk_levels(
    order: tuple[int, ...], levels: list[_Level]
) -> tuple[dict[int, NDArray[np.int64]], NDArray[np.int64]]:
    """Coordinates of each stored value along each level's dimension, and its position in the stored
    values."""
    coordinates: dict[int, NDArray[np.int64]] = {}
    positions = np.zeros(1, np.int64)
    for dimension, level in zip(order, levels, strict=True):
        counts, first = _count_children(level, positions)
        total = int(counts.sum())
        if total > _MOST_ELEMENTS:
            raise FlatbufferError("a sparse tensor is larger than any of these models has")
        within = np.arange(total) - np.repeat(np.cumsum(counts) - counts, counts)
        coordinates = {key: np.repeat(value, counts) for key, value in coordinates.items()}
        positions = np.repeat(first, counts) + within
        coordinates[dimension] = _take(level.indices, positions) if level.is_sparse else within
    return coordinates, positions


def _count_children(level: _Level, positions: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    if not level.is_sparse:
        if level.size < 0 or level.size > _MOST_ELEMENTS:
            raise FlatbufferError("a level of a sparse tensor has an impossible size")
        return np.full(len(positions), level.size, np.int64), positions * level.size
    first = _take(level.segments, positions)
    counts = _take(level.segments, positions + 1) - first
    if (counts < 0).any() or (counts > len(level.indices)).any():
        raise FlatbufferError("the segments of a sparse level run backwards")
    return counts, first


def _take(values: NDArray[np.int64], positions: NDArray[np.int64]) -> NDArray[np.int64]:
    if len(positions) and (positions.min() < 0 or positions.max() >= len(values)):
        raise FlatbufferError("a sparse level points outside its indices")
    return values[positions]


def _scatter(
    values: NDArray[np.generic],
    shape: tuple[int, ...],
    places: list[NDArray[np.int64]],
    positions: NDArray[np.int64],
) -> NDArray[np.generic]:
    for place, size in zip(places, shape, strict=True):
        if len(place) and (place.min() < 0 or place.max() >= size):
            raise FlatbufferError("a value of a sparse tensor lies outside its shape")
    if len(positions) and (positions.min() < 0 or positions.max() >= len(values)):
        raise FlatbufferError("a sparse tensor has fewer values than places")
    dense = np.zeros(shape, values.dtype)
    dense[tuple(places)] = values[positions]
    return dense
