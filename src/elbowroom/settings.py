"""What the machine's owner may set, read once from the environment."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from elbowroom.errors import SettingsError

MODELS_VARIABLE = "ELBOWROOM_MODELS"
CORES_VARIABLE = "ELBOWROOM_CORES"
RECORD_VARIABLE = "ELBOWROOM_RECORD"
VAULT_VARIABLE = "ELBOWROOM_VAULT"
PASSPHRASE_VARIABLE = "ELBOWROOM_PASSPHRASE_FILE"
LOCK_VARIABLE = "ELBOWROOM_LOCK_MINUTES"
USUAL_LOCK_MINUTES, LONGEST_LOCK_MINUTES = 10, 120
SERVER_SCHEMES = ("postgresql://", "postgres://")


@dataclass(frozen=True, kw_only=True)
class Settings:
    """The owner's choices; everything else is stated visit by visit."""

    models_folder: Path
    """Absolute folder that holds the weights of the landmark model (ELBOWROOM_MODELS)."""
    core_count: int
    """Number of processor cores that an analysis may use, at least 1 (ELBOWROOM_CORES)."""


@dataclass(frozen=True, kw_only=True)
class RecordSettings:
    """Where the clinic's record lies."""

    folder: Path
    """Absolute folder of the keys and the sealed files, and of the database where no server is named."""
    address: str
    """Address of a PostgreSQL database (ELBOWROOM_RECORD), or empty for the sealed file in the folder."""
    passphrase_file: Path | None
    """File that holds the passphrase (ELBOWROOM_PASSPHRASE_FILE), or nothing where a person types it."""


@dataclass(frozen=True, kw_only=True)
class WebSettings:
    """How the pages behave."""

    lock_after_s: float
    """Seconds without a touch after which a session locks (ELBOWROOM_LOCK_MINUTES)."""


def read_settings(environment: Mapping[str, str]) -> Settings:
    """Read the settings from environment variables.

    `ELBOWROOM_MODELS` defaults to a folder in the user's cache folder, `ELBOWROOM_CORES` to all cores that
    this process may use. An empty variable counts as one that is not set.

    Raises `SettingsError`, naming every variable that cannot be used.
    """
    folder, folder_problem = _read_models_folder(environment)
    core_count, count_problem = _read_core_count(environment)
    problems = [problem for problem in (folder_problem, count_problem) if problem]
    if problems:
        raise SettingsError(" ".join(problems))
    return Settings(models_folder=folder, core_count=core_count)


def read_record_settings(environment: Mapping[str, str]) -> RecordSettings:
    """Read where the record lies.

    `ELBOWROOM_RECORD` is a folder, or the address of a PostgreSQL database; `ELBOWROOM_VAULT` is the folder of keys
    and files beside a database on a server. Both folders default to one in the user's data folder.

    Raises `SettingsError`, naming every variable that cannot be used.
    """
    place, vault = environment.get(RECORD_VARIABLE, ""), environment.get(VAULT_VARIABLE, "")
    is_server = place.startswith(SERVER_SCHEMES)
    name, text = (VAULT_VARIABLE, vault) if is_server else (RECORD_VARIABLE, place)
    folder = Path(text) if text else _find_data_folder(environment) / "elbowroom" / "record"
    file = environment.get(PASSPHRASE_VARIABLE, "")
    problems = []
    if not folder.is_absolute() or (folder.exists() and not folder.is_dir()):
        problems.append(f"{name} is {text!r}: give the whole path of a folder, from its root.")
    if vault and not is_server:
        problems.append(f"{VAULT_VARIABLE} is set, but {RECORD_VARIABLE} names no server: set only one of them.")
    if file and not Path(file).is_file():
        problems.append(f"{PASSPHRASE_VARIABLE} is {file!r}, which is no file: name one that holds the passphrase.")
    if problems:
        raise SettingsError(" ".join(problems))
    return RecordSettings(
        folder=folder, address=place if is_server else "", passphrase_file=Path(file) if file else None
    )


def read_web_settings(environment: Mapping[str, str]) -> WebSettings:
    """Read how the pages behave; raises `SettingsError`."""
    text = environment.get(LOCK_VARIABLE, "") or str(USUAL_LOCK_MINUTES)
    if not (text.isascii() and text.isdigit()) or not 1 <= int(text) <= LONGEST_LOCK_MINUTES:
        raise SettingsError(f"{LOCK_VARIABLE} is {text!r}: give whole minutes, 1 to {LONGEST_LOCK_MINUTES}.")
    return WebSettings(lock_after_s=60.0 * int(text))


def _read_models_folder(environment: Mapping[str, str]) -> tuple[Path, str]:
    """Return the folder and what is wrong with it, an empty text where nothing is."""
    text = environment.get(MODELS_VARIABLE, "")
    if not text:
        return _find_cache_folder(environment) / "elbowroom" / "models", ""
    folder = Path(text)
    if not folder.is_absolute():
        return folder, f"{MODELS_VARIABLE} is {text!r}: give the whole path of a folder, from its root."
    if folder.exists() and not folder.is_dir():
        return folder, f"{MODELS_VARIABLE} is {text!r}, which is a file: give a folder."
    return folder, ""


def _read_core_count(environment: Mapping[str, str]) -> tuple[int, str]:
    """Return the number of cores and what is wrong with it, an empty text where nothing is."""
    text = environment.get(CORES_VARIABLE, "")
    if not text:
        return _count_usable_cores(), ""
    if not (text.isascii() and text.isdigit()) or int(text) < 1:
        return 0, f"{CORES_VARIABLE} is {text!r}: give a whole number of cores, 1 or more."
    return int(text), ""


def _count_usable_cores() -> int:
    """Count the cores that this process may use, which can be fewer than the machine has."""
    read_affinity = getattr(os, "sched_getaffinity", None)
    return len(read_affinity(0)) if read_affinity else os.cpu_count() or 1


def _find_cache_folder(environment: Mapping[str, str]) -> Path:
    """Return the folder where this system keeps what programs can fetch again."""
    home = Path.home()
    if sys.platform == "win32":
        return Path(environment.get("LOCALAPPDATA") or home / "AppData" / "Local")
    if sys.platform == "darwin":
        return home / "Library" / "Caches"
    return Path(environment.get("XDG_CACHE_HOME") or home / ".cache")


def _find_data_folder(environment: Mapping[str, str]) -> Path:
    """Return the folder where this system keeps what programs cannot make again."""
    home = Path.home()
    if sys.platform == "win32":
        return Path(environment.get("APPDATA") or home / "AppData" / "Roaming")
    if sys.platform == "darwin":
        return home / "Library" / "Application Support"
    return Path(environment.get("XDG_DATA_HOME") or home / ".local" / "share")
