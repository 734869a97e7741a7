"""What the adjustment says of the clips' clocks, and of a camera that was moved between throws."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from elbowroom.core.cameras.types import CAMERA_PARAMETERS, LENS_PARAMETERS, ClipClock
from elbowroom.core.reconstruction.adjust import Adjusted, AdjustThrow
from elbowroom.core.reconstruction.free_terms import CLIP_UNKNOWNS, CLOCK_UNIT_S, DRIFT_UNIT
from elbowroom.core.reconstruction.types import Array

MOVED_SQUARES = 10.0
"""Squared distance, in standard uncertainties, of a throw's own camera poses from the other throws', from which a
camera was moved. On a rendered visit of three throws it is 0.2 where nothing moved and 17 where one phone was turned by
1 degree; landmark noise is taken four times too wide in the adjustment, so that the usual limits do not hold."""


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


def find_moved_throw(adjusted: Adjusted) -> int | None:
    """Return the throw whose own camera poses stand furthest from what the others say, none where all agree."""
    if len(adjusted.own) < 2:
        return None
    clips = range(1, len(adjusted.state.cameras))
    apart = [max(measure_apart_squares(adjusted, throw, clip) for clip in clips) for throw in range(len(adjusted.own))]
    furthest = int(np.argmax(apart))
    return furthest if apart[furthest] > MOVED_SQUARES else None


def measure_apart_squares(adjusted: Adjusted, throw: int, clip: int) -> float:
    """Return the squared distance of a clip's pose by one throw from that by all others, in standard uncertainties.

    Each throw's own pose is one Gauss-Newton step from the common optimum, all else held.
    """
    first = len(adjusted.state.bones_m) + clip * CLIP_UNKNOWNS + 3 + LENS_PARAMETERS
    pose = slice(first, first + CAMERA_PARAMETERS - LENS_PARAMETERS)
    own = [(information[pose, pose], rest[pose]) for information, rest in adjusted.own]
    others = [item for number, item in enumerate(own) if number != throw]
    together = sum_own(others)
    gap = np.linalg.solve(*own[throw]) - np.linalg.solve(*together)
    spread = np.linalg.inv(own[throw][0]) + np.linalg.inv(together[0])
    return float(gap @ np.linalg.solve(spread, gap))


def sum_own(parts: Sequence[tuple[Array, Array]]) -> tuple[Array, Array]:
    """Return information and right-hand side of several throws together."""
    informations, rests = zip(*parts, strict=True)
    return np.sum(informations, axis=0), np.sum(rests, axis=0)
