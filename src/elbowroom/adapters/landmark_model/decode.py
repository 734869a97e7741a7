"""From the landmark model's raw output to landmarks in pixels of the whole picture."""

from collections.abc import Sequence
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model.heat import CELLS, refine_landmarks
from elbowroom.adapters.landmark_model.people import evaluate_logistic
from elbowroom.core.landmarks.types import LANDMARK_COUNT, RawLandmarks, Region

SIDE = 256
"""Side of the landmark model's input in pixels."""

# The model gives 39 points; the last six only serve to follow a person from picture to picture.
_MODEL_POINTS = 39


def decode_landmarks(outputs: Sequence[NDArray[np.float32]], regions: Sequence[Region]) -> RawLandmarks:
    """Landmarks of n crops from the model's outputs: points (n, 195), person (n, 1), heat (n, 39, 64, 64),
    world points (n, 117). Regions are those that the crops were cut from.
    """
    points, person, heat, world = outputs
    raw = points.reshape(-1, _MODEL_POINTS, 5)[:, :LANDMARK_COUNT].astype(np.float64)
    sizes = np.array([region.size_px for region in regions], np.float64)
    refined = refine_landmarks(raw[..., :2] / SIDE, heat)
    return RawLandmarks(
        pixels=_place_in_picture(refined.places, regions),
        depth_px=raw[..., 2] / SIDE * sizes[:, None],
        world_m=_turn_world(world, regions),
        visibility=evaluate_logistic(raw[..., 3]),
        presence=evaluate_logistic(raw[..., 4]),
        peak=refined.peak,
        spread_px=refined.spread * (sizes / CELLS)[:, None],
        person_score=person.reshape(-1).astype(np.float64),
        region_size_px=sizes,
    )


def join_landmarks(parts: Sequence[RawLandmarks]) -> RawLandmarks:
    """One result of several, in their order; at least one."""
    names = [field.name for field in fields(RawLandmarks)]
    return RawLandmarks(**{name: np.concatenate([getattr(part, name) for part in parts]) for name in names})


def list_no_landmarks() -> RawLandmarks:
    """The landmarks of no pictures."""
    blank = [np.zeros((0, count), np.float32) for count in (5 * _MODEL_POINTS, 1, 0, 3 * _MODEL_POINTS)]
    blank[2] = np.zeros((0, _MODEL_POINTS, CELLS, CELLS), np.float32)
    return decode_landmarks(blank, [])


def _list_turns(regions: Sequence[Region]) -> NDArray[np.float64]:
    """Rotation matrices (n, 2, 2) that take crop directions to picture directions."""
    angles = np.array([region.rotation_rad for region in regions], np.float64)
    cosine, sine = np.cos(angles), np.sin(angles)
    return np.stack([np.stack([cosine, -sine], axis=-1), np.stack([sine, cosine], axis=-1)], axis=-2)


def _place_in_picture(places: NDArray[np.float64], regions: Sequence[Region]) -> NDArray[np.float64]:
    centres = np.array([region.centre_px for region in regions], np.float64).reshape(-1, 1, 2)
    sizes = np.array([region.size_px for region in regions], np.float64)[:, None, None]
    turned: NDArray[np.float64] = np.einsum("nij,nkj->nki", _list_turns(regions), places - 0.5)
    return turned * sizes + centres


def _turn_world(world: NDArray[np.float32], regions: Sequence[Region]) -> NDArray[np.float64]:
    points = world.reshape(-1, _MODEL_POINTS, 3)[:, :LANDMARK_COUNT].astype(np.float64)
    flat = np.einsum("nij,nkj->nki", _list_turns(regions), points[..., :2])
    return np.concatenate([flat, points[..., 2:]], axis=-1)
