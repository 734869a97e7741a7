"""A PostgreSQL server of the tests' own, on loopback, run by an ordinary user."""

from __future__ import annotations

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

SYSTEM_USER = "postgres"


def find_program(name: str) -> Path:
    """Return a program of the server; skip the test where none is installed."""
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)
    found = [folder / name for folder in folders if (folder / name).exists()]
    named = shutil.which(name)
    if not found and not named:
        pytest.skip("no PostgreSQL server is installed (Debian package postgresql)")
    return found[0] if found else Path(str(named))


@contextmanager
def run_server() -> Iterator[str]:
    """Start a server in a passing folder and give the address of its `postgres` database; stop it at the end."""
    initdb, pg_ctl = find_program("initdb"), find_program("pg_ctl")
    # A short path: a socket's name may have about a hundred letters only.
    folder = Path(tempfile.mkdtemp(prefix="pg"))
    port = find_free_port()
    try:
        if os.name != "nt" and os.getuid() == 0:
            owner = pwd.getpwnam(SYSTEM_USER)
            os.chown(folder, owner.pw_uid, owner.pw_gid)
        data = folder / "data"
        run_as_user([str(initdb), "-D", str(data), "-U", "clinic", "-A", "trust", "-E", "UTF8", "--no-sync"])
        options = f"-c listen_addresses=127.0.0.1 -p {port} -k {folder} -c fsync=off"
        run_as_user([str(pg_ctl), "-D", str(data), "-o", options, "-l", str(folder / "log"), "-w", "start"])
        try:
            yield f"postgresql://clinic@127.0.0.1:{port}/postgres"
        finally:
            run_as_user([str(pg_ctl), "-D", str(data), "-m", "immediate", "stop"])
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def run_as_user(command: list[str]) -> None:
    """Run a command as an ordinary user: the server refuses to run as the administrator."""
    is_root = os.name != "nt" and os.getuid() == 0
    result = subprocess.run(
        command,
        user=SYSTEM_USER if is_root else None,
        cwd=tempfile.gettempdir(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    assert result.returncode == 0, result.stderr


def find_free_port() -> int:
    """Find a port of loopback that nobody listens on."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port: int = one.getsockname()[1]
        return port
