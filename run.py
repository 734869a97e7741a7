"""Set elbowroom up beside this file and run it: Python 3.11, 3.12 or 3.13 is all that a machine needs.

    python3 run.py demo           screen the demo visit and write its report
    python3 run.py test           run every check of this project
    python3 run.py more           set up what open data formats and many machines need as well
    python3 run.py COMMAND ...    run any other elbowroom command (try: --help)

The first run makes the folder `.venv` and fills it with exactly the packages that the requirements
files pin, each checked by its hash. Later runs start at once, until a pin changes.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
STAMP = VENV / "elbowroom-ready"
PINS = {
    "runtime": ROOT / "requirements.txt",
    "more": ROOT / "requirements-more.txt",
    "test": ROOT / "requirements-test.txt",
}
"""Pins of each kind of set-up, each holding those before it."""
VERSIONS = ((3, 13), (3, 12), (3, 11))
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")


def main(words: list[str]) -> int:
    """Run one command line and return its exit status."""
    if not words:
        print(__doc__)
        return 0
    python = find_python()
    if python is None:
        return say("elbowroom needs Python 3.11, 3.12 or 3.13: install one of them and start again with it.")
    if python != sys.executable:
        return subprocess.call([python, str(Path(__file__).resolve()), *words])
    kind = words[0] if words[0] in ("test", "more") else "runtime"
    problem = set_up(kind)
    if problem:
        return say(problem)
    if kind == "more":
        print("elbowroom: the parts for open data formats and many machines are set up")
        return 0
    if kind == "test":
        return run_tests(words[1:])
    return subprocess.call([str(PYTHON), "-m", "elbowroom", *words])


def find_python() -> str | None:
    """Return this Python, the one of a finished set-up or one on the PATH that fits, or None."""
    if sys.version_info[:2] in VERSIONS:
        return sys.executable
    named = [shutil.which(f"python{major}.{minor}") for major, minor in VERSIONS]
    candidates = [str(PYTHON) if STAMP.exists() else None, *named]
    return next((python for python in candidates if python and does_fit(python)), None)


def does_fit(python: str) -> bool:
    """Say whether a Python starts and is of a version that elbowroom runs on."""
    test = f"import sys; sys.exit(sys.version_info[:2] not in {VERSIONS!r})"
    return does_run([python, "-c", test], quiet=True)


def does_run(command: list[str], quiet: bool = False) -> bool:
    """Run a command to its end and say whether it succeeded."""
    output = subprocess.DEVNULL if quiet else None
    try:
        return subprocess.call(command, stdout=output, stderr=output, cwd=str(ROOT)) == 0
    except OSError:
        return False


def set_up(kind: str) -> str:
    """Bring `.venv` to the pinned packages; return what went wrong in a sentence, or an empty string."""
    digest = compute_digest()
    if is_ready(kind, digest):
        return ""
    if not (importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip")):
        return (
            "This Python cannot make virtual environments: install that part of it "
            "(on Debian and Ubuntu: apt-get install python3-venv) and run the same line again."
        )
    with locked():
        return "" if is_ready(kind, digest) else install(find_widest(kind), digest)


@contextmanager
def locked() -> Iterator[None]:
    """Let one set-up at a time work on `.venv`; the lock of a killed process frees itself."""
    connection = sqlite3.connect(str(ROOT / ".venv.lock"), timeout=1800, isolation_level=None)
    try:
        connection.execute("BEGIN EXCLUSIVE")
        yield
    finally:
        connection.close()


def compute_digest() -> str:
    """Return the digest of everything that decides what is installed."""
    pages = [path for path in sorted((ROOT / "frontend").rglob("*")) if "node_modules" not in path.parts]
    files = [*PINS.values(), ROOT / "pyproject.toml", *(path for path in pages if path.is_file())]
    return hashlib.sha256(b"\0".join(file.read_bytes() for file in files)).hexdigest()


def is_ready(kind: str, digest: str) -> bool:
    """Say whether `.venv` was finished for these pins, or wider ones, and its Python still starts."""
    kinds = list(PINS)
    finished = STAMP.read_text(encoding="ascii") if STAMP.exists() else ""
    return finished in [wide + " " + digest for wide in kinds[kinds.index(kind) :]] and does_fit(str(PYTHON))


def find_widest(kind: str) -> str:
    """Return the wider of the kind asked for and the one that was set up before, so that nothing is left outdated."""
    kinds = list(PINS)
    before = STAMP.read_text(encoding="ascii").split(" ")[0] if STAMP.exists() else kind
    return max(kind, before, key=lambda name: kinds.index(name) if name in kinds else -1)


def install(kind: str, digest: str) -> str:
    """Install the pinned packages and elbowroom; return what went wrong, or an empty string."""
    print(f"elbowroom: setting up in {VENV.name}, once for these pins", flush=True)
    if not make_venv():
        return "The folder .venv could not be made: see the lines above, delete the folder and run again."
    pip = [str(PYTHON), "-m", "pip", "install", "-qq", "--disable-pip-version-check"]
    uv = [str(PYTHON), "-m", "uv", "pip", "install", "--quiet", "--python", str(PYTHON)]
    pins = ["--no-deps", "--require-hashes", "--only-binary", ":all:", "-r", str(PINS[kind])]
    own = ["--no-deps", "--no-build-isolation", "-e", str(ROOT)]
    if not (install_uv(pip) and does_run([*uv, *pins])):
        print("elbowroom: uv could not install the packages, trying pip", flush=True)
        if not does_run([*pip, *pins]):
            return (
                "The pinned packages could not be installed: see the lines above, check the network "
                "(or your pip settings), and run the same line again; there is no wheel for every machine."
            )
    if not does_run([*pip, *own]):
        return "elbowroom itself could not be installed: see the lines above and run the same line again."
    write_stamp(kind + " " + digest)
    return ""


def make_venv() -> bool:
    """Make `.venv`, anew where an earlier set-up was cut off or its Python is gone."""
    is_whole = STAMP.exists() and does_fit(str(PYTHON))
    if is_whole:
        # Without its stamp, a set-up that is cut off from here on starts anew the next time.
        STAMP.unlink()
        return True
    return does_run([sys.executable, "-m", "venv", "--clear", str(VENV)])


def install_uv(pip: list[str]) -> bool:
    """Install uv alone, as pinned and hashed in the requirements file."""
    lines = PINS["runtime"].read_text(encoding="utf-8").splitlines(keepends=True)
    start = next(number for number, line in enumerate(lines) if line.startswith("uv=="))
    end = start + 1
    while end < len(lines) and lines[end].startswith(" "):
        end += 1
    with tempfile.TemporaryDirectory() as folder:
        pin = Path(folder) / "uv.txt"
        pin.write_text("".join(lines[start:end]), encoding="utf-8")
        return does_run([*pip, "--no-deps", "--require-hashes", "-r", str(pin)])


def write_stamp(text: str) -> None:
    """Mark the set-up as finished, whole or not at all."""
    part = STAMP.with_suffix(".part")
    part.write_text(text, encoding="ascii")
    os.replace(str(part), str(STAMP))


def run_tests(words: list[str]) -> int:
    """Say what is missing for the tests, then run them."""
    if not any(shutil.which(name) for name in BROWSERS):
        print(
            "elbowroom: no Chromium on this machine, so the checks of pages in a browser cannot run "
            "(on Debian: apt-get install chromium)",
            flush=True,
        )
    spread = [] if has_own_spread(words) else ["-n", str(min(4, os.cpu_count() or 1))]
    return subprocess.call([str(PYTHON), "-m", "pytest", *spread, *words], cwd=str(ROOT))


def has_own_spread(words: list[str]) -> bool:
    """Say whether a line names how many processes run the tests, or picks a few tests that one runs sooner."""
    return any(word.startswith(("-n", "--numprocesses", "-k", "tests/")) for word in words)


def say(problem: str) -> int:
    """Print one sentence to the error stream and return the exit status of a failure."""
    print("elbowroom: " + problem, file=sys.stderr, flush=True)
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
