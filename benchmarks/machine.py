"""What the figures were made on: machine, day, versions; and Markdown tables to write them in."""

from __future__ import annotations

import os
import platform
import subprocess
from collections.abc import Sequence
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

from elbowroom import __version__
from elbowroom.bootstrap import LIBRARIES, find_landmark_tables


def describe_machine() -> dict[str, str]:
    """Describe machine, day and versions."""
    return {
        "day": datetime.now(tz=UTC).date().isoformat(),
        "processor": find_processor(),
        "cores": str(len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()),
        "memory": find_memory(),
        "system": f"{platform.system()} {platform.machine()}",
        "python": platform.python_version(),
        "elbowroom": __version__,
        "code": find_commit(),
        "landmark errors": find_landmark_tables().name,
        **{library: version(library) for library in LIBRARIES},
    }


def find_commit() -> str:
    """Find the commit of the code, from git or from the file `HEAD` of a copy without git."""
    root = Path(__file__).resolve().parents[1]
    if (root / "HEAD").is_file():
        return (root / "HEAD").read_text(encoding="utf-8").strip()
    found = subprocess.run(["git", "-C", str(root), "rev-parse", "--short", "HEAD"], capture_output=True, text=True)
    return found.stdout.strip() or "not known"


def find_processor() -> str:
    """Find the processor's name."""
    listing = Path("/proc/cpuinfo")
    lines = listing.read_text(encoding="utf-8").splitlines() if listing.is_file() else []
    names = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.processor() or platform.machine()


def find_memory() -> str:
    """Find how much memory the machine has."""
    names = getattr(os, "sysconf_names", {})
    if "SC_PHYS_PAGES" not in names:
        return "not known"
    return f"{os.sysconf('SC_PHYS_PAGES') * os.sysconf('SC_PAGE_SIZE') / 2**30:.0f} GiB"


def render_machine(facts: dict[str, str]) -> str:
    """Render the facts as one paragraph."""
    return ", ".join(f"{name} {value}" for name, value in facts.items()) + "."


def render_table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Render a Markdown table."""
    lines = ["| " + " | ".join(head) + " |", "|" + " --- |" * len(head)]
    return "\n".join([*lines, *("| " + " | ".join(row) + " |" for row in rows)]) + "\n"
