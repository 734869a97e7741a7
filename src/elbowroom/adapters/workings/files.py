"""The file of workings: numpy's archive of a JSON text and five rows of numbers, with a format version; no pickle."""

from __future__ import annotations

import io
import json
import zipfile

import numpy as np

from elbowroom.adapters.workings.trees import ROWS, TreeReader, TreeWriter
from elbowroom.core.chain.workings import Workings
from elbowroom.errors import RecordError

FORMAT = "elbowroom workings"
FORMAT_VERSION = 1
TREE = "tree"


def render_workings(workings: Workings) -> bytes:
    """Return the content of a file of workings."""
    writer = TreeWriter()
    tree = {"format": FORMAT, "version": FORMAT_VERSION, "workings": writer.encode(workings)}
    text = np.frombuffer(json.dumps(tree, ensure_ascii=False).encode("utf-8"), np.uint8)
    written = io.BytesIO()
    np.savez_compressed(written, **{TREE: text}, **writer.join_rows())  # type: ignore[arg-type]
    return written.getvalue()


def read_workings(content: bytes) -> Workings:
    """Read a file of workings; raises `RecordError` where it is none of this version."""
    try:
        with np.load(io.BytesIO(content), allow_pickle=False) as stored:
            tree = json.loads(stored[TREE].tobytes().decode("utf-8"))
            rows = {name: stored[name] for name in ROWS}
        if (tree["format"], tree["version"]) != (FORMAT, FORMAT_VERSION):
            raise ValueError("another version")
        workings = TreeReader(rows).decode(tree["workings"])
    except (ValueError, KeyError, TypeError, OSError, EOFError, zipfile.BadZipFile) as e:
        raise RecordError(
            "The workings of this screening are of another version or damaged: screen the visit again."
        ) from e
    if not isinstance(workings, Workings):
        raise RecordError("This file holds no workings of a screening: screen the visit again.")
    return workings
