"""Reading the table of usual bone lengths as shares of height."""

from __future__ import annotations

from pathlib import Path

from elbowroom.adapters.tables.rows import TableRow, raise_problems, read_rows, read_table_text
from elbowroom.core.reconstruction.types import BoneShare

PACKAGED_BONES = "bone_shares.csv"
COLUMNS = ("from", "to", "share", "spread", "source")
"""Columns of the table."""
PARTS = ("SHOULDER", "ELBOW", "WRIST", "HAND", "HIP", "KNEE", "ANKLE", "HEEL", "TOE")
"""Ends that a bone may have."""


def read_bone_shares(path: Path | None = None) -> tuple[BoneShare, ...]:
    """Return the rows of the table, the packaged one where no path is given; raises one `TableError` for all
    problems."""
    name = path.name if path else PACKAGED_BONES
    rows = read_rows(read_table_text(path, PACKAGED_BONES), name, COLUMNS)
    shares = tuple(_read_share(row) for row in rows)
    raise_problems(rows, name)
    return shares


def _read_share(row: TableRow) -> BoneShare:
    ends = (row.read_text("from", "name an end"), row.read_text("to", "name an end"))
    for column, end in zip(("from", "to"), ends, strict=True):
        if end and end not in PARTS:
            row.refuse(column, f"holds {end!r}: use one of {', '.join(PARTS)}")
    share, spread = row.read_number("share"), row.read_number("spread")
    if not 0 < share < 1:
        row.refuse("share", f"holds {share:g}: give a share of the height between 0 and 1")
    if not 0 < spread < share:
        row.refuse("spread", f"holds {spread:g}: give a standard deviation above 0 and below the share")
    return BoneShare(parts=ends, share=share, spread=spread, source=row.read_text("source", "say where it comes from"))
