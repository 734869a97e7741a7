"""What the adjustment says of the clips' clocks."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from elbowroom.core.cameras.types import ClipClock
from elbowroom.core.reconstruction.adjust import Adjusted, AdjustThrow
from elbowroom.core.reconstruction.free_terms import CLIP_UNKNOWNS, CLOCK_UNIT_S, DRIFT_UNIT


def read_clocks(adjusted: Adjusted, throws: Sequence[AdjustThrow]) -> tuple[ClipClock, ...]:
    """Return the clock of every further clip against the first's, in the middle of the throws that both show.

    The uncertainty is that of the joint adjustment: cameras, curves, shutters and standing offsets are free beside it.
    """
    return tuple(read_clock(adjusted, throws, clip) for clip in range(1, len(adjusted.state.cameras)))


def read_clock(adjusted: Adjusted, throws: Sequence[AdjustThrow], clip: int) -> ClipClock:
    """Return one clip's clock; a throw's clock is offset + clock + drift x its age, as in the adjustment."""
    ages = [throw.window_s[2] for throw in throws if clip in dict(throw.views)]
    rough = [dict(throw.views)[clip].offset_s for throw in throws if clip in dict(throw.views)]
    age = float(np.mean(ages))
    clock, drift = float(adjusted.state.clocks_s[clip]), float(adjusted.state.drifts[clip])
    first = len(adjusted.state.bones_m) + clip * CLIP_UNKNOWNS
    modes = adjusted.modes[first : first + 2] * np.array([[CLOCK_UNIT_S], [DRIFT_UNIT]])
    offset = float(np.mean(rough)) + clock + drift * age
    return ClipClock(
        offset_s=offset,
        standard_s=float(np.linalg.norm(np.array([1.0, age]) @ modes)),
        epoch_s=age - offset,
        drift_ratio=drift,
        drift_standard_ratio=float(np.linalg.norm(modes[1])),
    )
