"""Frozen values as plain trees and rows of numbers, and back; only the listed kinds are ever made, so that a file can
build nothing else."""

from __future__ import annotations

import inspect
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import date
from enum import Enum
from types import ModuleType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras import types as cameras
from elbowroom.core.chain import types as chain
from elbowroom.core.chain import workings
from elbowroom.core.clips import types as clips
from elbowroom.core.clocks import types as clocks
from elbowroom.core.findings import report
from elbowroom.core.findings import types as findings
from elbowroom.core.instants import types as instants
from elbowroom.core.landmarks import names as names
from elbowroom.core.landmarks import types as landmarks
from elbowroom.core.loads import types as loads
from elbowroom.core.measures import types as measures
from elbowroom.core.quantities import types as quantities
from elbowroom.core.reconstruction import types as reconstruction
from elbowroom.core.throws import types as throws

MODULES: tuple[ModuleType, ...] = (
    *(cameras, chain, workings, clips, clocks, report, findings, instants, names, landmarks, loads, measures),
    *(quantities, reconstruction, throws),
)
"""Where the kinds that a file may hold are laid down."""
KINDS: dict[str, type] = {
    name: kind
    for module in MODULES
    for name, kind in vars(module).items()
    if inspect.isclass(kind) and kind.__module__ == module.__name__ and (is_dataclass(kind) or issubclass(kind, Enum))
}
"""The kinds by name."""
ROWS = ("float64", "int64", "bool", "float32", "uint8")
"""Kinds of numbers that arrays are made of, one row of the file each."""
Tree = Any
"""What JSON can say."""
Numbers = NDArray[Any]


@dataclass
class TreeWriter:
    """Turns values into trees, and gathers their arrays in rows."""

    rows: dict[str, list[Numbers]] = field(default_factory=lambda: {name: [] for name in ROWS})
    """The arrays seen so far, flat, by kind of number."""
    lengths: dict[str, int] = field(default_factory=lambda: dict.fromkeys(ROWS, 0))
    """How many numbers each row holds."""

    def encode(self, value: object) -> Tree:
        """Return a value as a tree; raises TypeError where it is of a kind that is not listed."""
        if value is None or (isinstance(value, bool | int | float | str) and not isinstance(value, Enum)):
            return value
        if isinstance(value, np.ndarray | np.generic | bytes):
            return self._encode_array(value)
        if isinstance(value, tuple | list):
            return {"~": "tuple", "of": [self.encode(item) for item in value]}
        if isinstance(value, dict):
            return {"~": "dict", "of": [[self.encode(key), self.encode(item)] for key, item in value.items()]}
        if isinstance(value, date):
            return {"~": "date", "of": value.isoformat()}
        return self._encode_kind(value)

    def join_rows(self) -> dict[str, Numbers]:
        """Return the rows, each one array."""
        return {name: np.concatenate(parts) if parts else np.zeros(0, dtype=name) for name, parts in self.rows.items()}

    def _encode_kind(self, value: object) -> Tree:
        name = type(value).__name__
        if KINDS.get(name) is not type(value):
            raise TypeError(f"A file of workings holds no {name}.")
        if isinstance(value, Enum):
            return {"~": name, "of": value.value}
        return {"~": name, **{part.name: self.encode(getattr(value, part.name)) for part in fields(value)}}  # type: ignore[arg-type]

    def _encode_array(self, value: Numbers | np.generic | bytes) -> Tree:
        array = np.frombuffer(value, np.uint8) if isinstance(value, bytes) else np.asarray(value)
        name = str(array.dtype)
        start = self.lengths[name]
        self.rows[name].append(np.ascontiguousarray(array).ravel())
        self.lengths[name] += array.size
        said = {"~": "bytes" if isinstance(value, bytes) else "array", "row": name, "from": start}
        return {**said, "shape": list(array.shape)}


@dataclass(frozen=True)
class TreeReader:
    """Turns trees back into values."""

    rows: dict[str, Numbers]
    """The rows of numbers."""

    def decode(self, tree: Tree) -> Any:
        """Return the value of a tree.

        Raises KeyError, TypeError or ValueError where the tree is of another version or none at all.
        """
        if not isinstance(tree, dict):
            return tree
        name = tree["~"]
        if name == "tuple":
            return tuple(self.decode(item) for item in tree["of"])
        if name == "dict":
            return {self.decode(key): self.decode(item) for key, item in tree["of"]}
        if name == "date":
            return date.fromisoformat(tree["of"])
        if name in ("array", "bytes"):
            return self._decode_array(tree)
        kind = KINDS[name]
        if issubclass(kind, Enum):
            return kind(tree["of"])
        return kind(**{name: self.decode(item) for name, item in tree.items() if name != "~"})

    def _decode_array(self, tree: Tree) -> Numbers | bytes:
        shape = tuple(tree["shape"])
        size = int(np.prod(shape, dtype=np.int64))
        flat = self.rows[tree["row"]][tree["from"] : tree["from"] + size]
        if len(flat) != size:
            raise ValueError("A row of numbers is too short.")
        return flat.tobytes() if tree["~"] == "bytes" else flat.reshape(shape)
