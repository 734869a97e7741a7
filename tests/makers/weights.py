"""The weights of the landmark models for tests that need them: from the cache, or fetched into it once."""

from __future__ import annotations

import os
from pathlib import Path
from typing import get_args

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model.sources import WeightName
from elbowroom.adapters.landmark_model.weights import fetch_weights
from elbowroom.errors import WeightsError
from elbowroom.settings import read_settings

FIGURES = Path(__file__).resolve().parents[1] / "reference" / "rendered_figures.jpg"
"""An invented body rendered for these tests, turned in 16 steps through a whole circle, in tiles of 320 x 320."""
TILE_PX = 320


def fetch_test_weights() -> Path:
    """Return the folder that holds all weights; skip where they cannot be fetched."""
    folder = read_settings(os.environ).models_folder
    try:
        fetch_weights(get_args(WeightName), folder)
    except WeightsError as error:
        pytest.skip(f"the landmark weights cannot be had here: {error}")
    return folder


def read_figures() -> list[NDArray[np.uint8]]:
    """The 16 pictures of the rendered figure, each (320, 320, 3), red first."""
    sheet = cv2.imread(str(FIGURES), cv2.IMREAD_COLOR)
    assert sheet is not None
    corners = [(row * TILE_PX, column * TILE_PX) for row in range(4) for column in range(4)]
    tiles = [sheet[row : row + TILE_PX, column : column + TILE_PX, ::-1] for row, column in corners]
    return [np.ascontiguousarray(tile, np.uint8) for tile in tiles]


def read_figure() -> NDArray[np.uint8]:
    """The figure from behind and to one side, (320, 320, 3), red first."""
    return read_figures()[7]
