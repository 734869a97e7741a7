"""Tables for a landmark model that nothing has been fitted to: no offset, and wide guesses of the noise."""

from __future__ import annotations

import numpy as np

from elbowroom.core.landmarks.models import KINDS, LandmarkTables, NoiseModel, OffsetModel
from elbowroom.core.landmarks.offsets import FEATURES


def build_provisional_tables() -> LandmarkTables:
    """Return tables with no offset and a standard deviation of 2.5 cm, more where heat and visibility are low.

    The size is that of the spike's first look (mean error 5.5 px on bodies 430 px tall); the rest is guessed.
    """
    kinds = len(KINDS)
    coefficients = np.tile([2.0 * np.log(0.025), 2.0, 1.5, 0.0, 0.0, 0.2], (kinds, 2, 1))
    return LandmarkTables(
        name="provisional",
        is_provisional=True,
        offset=OffsetModel(
            centre=np.zeros((kinds, FEATURES)),
            spread=np.ones((kinds, FEATURES)),
            hidden=np.zeros((kinds, FEATURES, 1)),
            hidden_bias=np.zeros((kinds, 1)),
            output=np.zeros((kinds, 1, 2)),
            output_bias=np.zeros((kinds, 2)),
        ),
        noise=NoiseModel(
            coefficients=coefficients,
            standing_share=np.full(kinds, 0.6),
            noise_time_s=0.05,
            depth_standard_m=0.12,
        ),
        how="Guessed from the size of the errors in a first look; nothing was fitted.",
    )
