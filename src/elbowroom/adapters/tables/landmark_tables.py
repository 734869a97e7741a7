"""Reading what is known about a landmark model's errors: the offset networks (npz) and the noise (JSON)."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.models import KINDS, LandmarkTables, NoiseModel, OffsetModel
from elbowroom.core.landmarks.noise import NOISE_FEATURES
from elbowroom.core.landmarks.offsets import FEATURES
from elbowroom.core.landmarks.types import LandmarkSize
from elbowroom.errors import TableError

Array = NDArray[np.float64]

_NAMES = ("centre", "spread", "hidden", "hidden_bias", "output", "output_bias")


def read_landmark_tables(size: LandmarkSize = "large", folder: Path | None = None) -> LandmarkTables:
    """Return the tables of the light or large landmark model, the packaged ones where no folder is given.

    Raises `TableError` where a file is missing, cannot be read, or does not fit this version of the program.
    """
    place: Traversable = folder if folder else files("elbowroom.tables")
    name = f"landmark_model_{size}"
    rest = _read_json(_read_bytes(place / f"{name}.json"), f"{name}.json")
    offset = _read_offset(_read_bytes(place / f"{name}.npz"), f"{name}.npz")
    return LandmarkTables(
        name=str(rest["name"]),
        is_provisional=False,
        offset=offset,
        noise=_read_noise(rest, f"{name}.json"),
        how=str(rest["how"]),
    )


def _read_bytes(path: Traversable) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise TableError(f"The table {path.name} could not be read: install elbowroom anew.") from error


def _read_json(data: bytes, name: str) -> Mapping[str, Any]:
    try:
        rest = json.loads(data)
    except ValueError as error:
        raise TableError(f"The table {name} is not JSON: install elbowroom anew.") from error
    wanted = {"name", "how", "kinds", "coefficients", "standing_share", "noise_time_s", "depth_standard_m"}
    missing = wanted - set(rest) if isinstance(rest, dict) else wanted
    if missing:
        raise TableError(f"The table {name} lacks {', '.join(sorted(missing))}: fit the tables anew.")
    if tuple(rest["kinds"]) != KINDS:
        raise TableError(f"The table {name} was made for other joints: fit the tables anew.")
    return dict(rest)


def _read_offset(data: bytes, name: str) -> OffsetModel:
    try:
        with np.load(BytesIO(data), allow_pickle=False) as arrays:
            parts = {key: np.asarray(arrays[key], np.float64) for key in _NAMES}
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile) as error:
        raise TableError(f"The table {name} cannot be read as arrays: install elbowroom anew.") from error
    hidden = parts["hidden"].shape[-1] if parts["hidden"].ndim == 3 else 0
    kinds = len(KINDS)
    shapes = {
        "centre": (kinds, FEATURES),
        "spread": (kinds, FEATURES),
        "hidden": (kinds, FEATURES, hidden),
        "hidden_bias": (kinds, hidden),
        "output": (kinds, hidden, 2),
        "output_bias": (kinds, 2),
    }
    wrong = [key for key, shape in shapes.items() if parts[key].shape != shape or not np.isfinite(parts[key]).all()]
    if wrong:
        raise TableError(f"The table {name} does not fit this version in {', '.join(wrong)}: fit the tables anew.")
    return OffsetModel(**parts)


def _read_noise(rest: Mapping[str, Any], name: str) -> NoiseModel:
    try:
        coefficients = np.asarray(rest["coefficients"], np.float64)
        share = np.asarray(rest["standing_share"], np.float64)
        noise = NoiseModel(
            coefficients=coefficients,
            standing_share=share,
            noise_time_s=float(rest["noise_time_s"]),
            depth_standard_m=float(rest["depth_standard_m"]),
        )
    except (TypeError, ValueError) as error:
        raise TableError(f"The table {name} holds something that is no number: fit the tables anew.") from error
    fits = coefficients.shape == (len(KINDS), 2, NOISE_FEATURES) and share.shape == (len(KINDS),)
    positive = noise.noise_time_s > 0 and noise.depth_standard_m > 0
    if not fits or not positive or not ((share >= 0) & (share <= 1)).all() or not np.isfinite(coefficients).all():
        raise TableError(f"The table {name} holds numbers out of range: fit the tables anew.")
    return noise
