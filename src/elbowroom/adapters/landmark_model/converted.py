"""Keeps the converted models beside the weights, each with its sha256, and makes them anew where they do not
fit."""

import hashlib
from pathlib import Path

from elbowroom.adapters.landmark_model.convert import (
    CONVERTER_VERSION,
    DETECTOR_RANGE,
    LANDMARK_RANGE,
    convert_model,
)
from elbowroom.adapters.landmark_model.sources import WeightName
from elbowroom.adapters.landmark_model.weights import Report, fetch_weights, write_atomically
from elbowroom.errors import WeightsError


def prepare_model(name: WeightName, folder: Path, *, report: Report = lambda line: None) -> bytes:
    """The ONNX bytes of the named model, from the cache folder or fetched and converted into it.

    The converted file's name holds the sha256 of its source and the converter's version, and the file beside
    it its own sha256: a converted file that was changed or cut short is made again. Raises WeightsError.
    """
    weights = fetch_weights([name], folder, report=report)[name]
    source = _read_bytes(weights)
    path = folder / f"{name}-{hashlib.sha256(source).hexdigest()[:12]}-v{CONVERTER_VERSION}.onnx"
    cached = _find_cached(path)
    if cached:
        return cached
    report(f"{name}: converting to ONNX")
    converted = convert_model(source, DETECTOR_RANGE if name == "detector" else LANDMARK_RANGE)
    write_atomically(path, converted)
    write_atomically(_name_digest_file(path), hashlib.sha256(converted).hexdigest().encode("ascii"))
    return converted


def _find_cached(path: Path) -> bytes:
    digest_file = _name_digest_file(path)
    if not (path.is_file() and digest_file.is_file()):
        return b""
    data = _read_bytes(path)
    expected = _read_bytes(digest_file).strip()
    return data if hashlib.sha256(data).hexdigest().encode("ascii") == expected else b""


def _name_digest_file(path: Path) -> Path:
    return path.with_name(path.name + ".sha256")


def _read_bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise WeightsError(f"The file {path} could not be read: {error.strerror}.") from error
