"""Usual bone lengths for an athlete's height."""

from __future__ import annotations

from collections.abc import Sequence

from elbowroom.core.landmarks.names import BONES, Joint
from elbowroom.core.reconstruction.types import BodyPriors, BonePrior, BoneShare
from elbowroom.errors import TableError


def build_priors(shares: Sequence[BoneShare], height_m: float, ground_height_m: float) -> BodyPriors:
    """Return the expected length of every bone for a height in metres; raises `TableError` where a bone has no row."""
    rows = {frozenset(row.parts): row for row in shares}
    bones = []
    for ends in BONES:
        row = rows.get(frozenset(name_part(joint) for joint in ends))
        if row is None:
            raise TableError(f"The table of bone shares has no row for {ends[0].name} to {ends[1].name}; add one.")
        bones.append(BonePrior(ends=ends, length_m=row.share * height_m, standard_m=row.spread * height_m))
    return BodyPriors(bones=tuple(bones), ground_height_m=ground_height_m)


def name_part(joint: Joint) -> str:
    """Return the name of a joint without its side."""
    return joint.name.removeprefix("RIGHT_").removeprefix("LEFT_")
