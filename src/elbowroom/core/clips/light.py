"""How much light pictures have."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

GREY = np.array([0.2126, 0.7152, 0.0722])
"""Share of red, green and blue in brightness (ITU-R BT.709, from memory)."""
BLACK, WHITE = 20.0, 250.0
"""Levels of 255 below and above which a picture shows nothing any more."""


@dataclass(frozen=True, kw_only=True)
class Light:
    """Brightness of some pictures."""

    mean_level: float
    """Mean brightness, 0 to 255."""
    black_share: float
    """Share of the pixels that are as good as black."""
    white_share: float
    """Share of the pixels that are as good as white."""


def measure_light(pictures: Sequence[NDArray[np.uint8]]) -> Light:
    """Measure the brightness of pictures (h, w, 3), red first; at least one."""
    levels = np.concatenate([(picture[::4, ::4].reshape(-1, 3) @ GREY) for picture in pictures])
    return Light(
        mean_level=float(levels.mean()),
        black_share=float(np.mean(levels < BLACK)),
        white_share=float(np.mean(levels > WHITE)),
    )
