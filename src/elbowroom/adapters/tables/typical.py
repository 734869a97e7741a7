"""Reading the typical throw that plans of filming are tried with."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from elbowroom.adapters.tables.rows import TableRow, raise_problems, read_rows, read_table_text
from elbowroom.core.chain.predicting import TypicalThrow
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import JOINTS, Joint

PACKAGED_THROW = "typical_throw.csv"
PLACES = tuple(f"{joint.name.lower()} {axis}" for joint in Joint for axis in "xyz")
"""Columns of the joints, shares of the height."""
COLUMNS = ("time_s", "near", *PLACES, "source")
"""Columns of the table."""


def read_typical_throw(path: Path | None = None) -> TypicalThrow:
    """Return the typical throw, the packaged one where no path is given; raises one `TableError` for all problems."""
    name = path.name if path else PACKAGED_THROW
    rows = read_rows(read_table_text(path, PACKAGED_THROW), name, COLUMNS)
    times = [row.read_number("time_s") for row in rows]
    places = [[row.read_number(column) for column in PLACES] for row in rows]
    near = {word: time for row, time in zip(rows, times, strict=True) if (word := row.read_text("near"))}
    for row, time, before in zip(rows, times, [-1.0, *times], strict=False):
        row.read_text("source", "say where it comes from")
        if time <= before:
            row.refuse("time_s", "is not later than the row above: order the rows by time")
    _check_instants(rows[0], near)
    raise_problems(rows, name)
    return TypicalThrow(
        times_s=np.array(times),
        places=np.array(places).reshape(-1, JOINTS, 3),
        instants_s={name: near[name.value] for name in InstantName},
    )


def _check_instants(row: TableRow, near: dict[str, float]) -> None:
    for name in InstantName:
        if name.value not in near:
            row.refuse("near", f"and the rows below name no {name.value}: write it beside the row nearest to it")
