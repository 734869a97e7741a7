"""What is known about a landmark model's errors: the standing offset to joint centres and the noise, as fitted tables.

Everything is fitted for the RIGHT joints; left joints are read in the mirrored picture. Lengths are in metres of the
model's own body (`estimate_scale` gives pixels for such a metre), so that tables hold for any distance and size.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.names import Joint

Array = NDArray[np.float64]

KINDS = ("HEAD", "SHOULDER", "ELBOW", "WRIST", "HAND", "HIP", "KNEE", "ANKLE", "HEEL", "TOE")
"""Kinds of joint, in the order of the tables' first axis."""


def find_kind(joint: Joint) -> int:
    """Return the number of a joint's kind."""
    return KINDS.index(joint.name.rpartition("_")[2])


@dataclass(frozen=True, kw_only=True)
class OffsetModel:
    """A small network for each kind of joint that gives landmark minus joint centre in the picture.

    offset = tanh(clip((f - centre) / spread, -3, 3) @ hidden + hidden_bias) @ output + output_bias, f as
    `build_features` gives it; model metres, x right and y down in the picture of a RIGHT joint.
    """

    centre: Array
    """(10, f) mean of the features."""
    spread: Array
    """(10, f) standard deviation of the features."""
    hidden: Array
    """(10, f, h) weights of the hidden layer."""
    hidden_bias: Array
    """(10, h) biases of the hidden layer."""
    output: Array
    """(10, h, 2) weights of the output."""
    output_bias: Array
    """(10, 2) biases of the output."""


@dataclass(frozen=True, kw_only=True)
class NoiseModel:
    """Standard deviation of what is left after the offset: log of the variance is linear in what the model tells."""

    coefficients: Array
    """(10, 2, 6) of the log variance (model metres squared) along and across the limb, in the order of
    `build_noise_features`: 1, lack of heat, lack of visibility, log spread, log region cell, log speed."""
    standing_share: Array
    """(10,) share of the variance that stays the same through a throw, 0 to 1."""
    noise_time_s: float
    """Correlation time of the rest, seconds."""
    depth_standard_m: float
    """Standard deviation of the model's depth of a joint from the hips, metres."""


@dataclass(frozen=True, kw_only=True)
class LandmarkTables:
    """Everything known about the errors of one landmark model."""

    name: str
    """Name of the landmark model and version of the tables."""
    is_provisional: bool
    """Whether the numbers are guesses that no fit stands behind."""
    offset: OffsetModel
    """Landmark minus joint centre."""
    noise: NoiseModel
    """What is left."""
    how: str
    """One sentence on how the tables were made."""
