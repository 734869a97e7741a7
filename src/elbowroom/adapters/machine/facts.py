"""Facts about the machine that decide whether and how fast a screening runs."""

from __future__ import annotations

import os
import platform
import shutil
from dataclasses import dataclass
from pathlib import Path

import av

GIGABYTE = 1_000_000_000
NEEDED_DECODERS = {"H.264": "h264", "HEVC": "hevc"}
"""Codecs that phones write, and the library's names for them."""
LEAST_MEMORY_GB = 3.0
"""A screening stays under 2 GB (design figure); the system needs some beside it."""
LEAST_DISK_GB = 0.5
"""Room for the weights (about 50 MB), their converted copies and reports."""


@dataclass(frozen=True, kw_only=True)
class MachineFact:
    """One thing that was looked at."""

    what: str
    """What it is: `memory`."""
    found: str
    """What was found, in words."""
    remedy: str
    """What to do about it, or an empty string where it is as it should be."""


def list_machine_facts(core_count: int, models_folder: Path) -> tuple[MachineFact, ...]:
    """Return the facts about Python, cores, memory, disk room and decoders."""
    return (
        MachineFact(what="Python", found=f"{platform.python_version()} on {platform.system()}", remedy=""),
        MachineFact(what="cores", found=f"{core_count} to be used (ELBOWROOM_CORES changes this)", remedy=""),
        describe_memory(find_memory_bytes()),
        describe_disk(models_folder),
        *(describe_decoder(words, name) for words, name in NEEDED_DECODERS.items()),
    )


def find_memory_bytes() -> int:
    """Return the size of the machine's memory in bytes, 0 where the system does not tell."""
    names = getattr(os, "sysconf_names", {})
    if "SC_PHYS_PAGES" not in names or "SC_PAGE_SIZE" not in names:
        return 0
    return max(0, os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE"))


def describe_memory(memory_bytes: int) -> MachineFact:
    """Return whether the memory is enough, for its size in bytes (0: not known)."""
    if not memory_bytes:
        return MachineFact(what="memory", found="not known on this system", remedy="")
    size_gb = memory_bytes / GIGABYTE
    is_enough = size_gb >= LEAST_MEMORY_GB
    remedy = "" if is_enough else f"close other programs; a screening wants {LEAST_MEMORY_GB:g} GB in the machine"
    return MachineFact(what="memory", found=f"{size_gb:.1f} GB", remedy=remedy)


def describe_disk(folder: Path) -> MachineFact:
    """Return whether there is room on the disk that holds (or will hold) a folder."""
    standing = next(parent for parent in (folder, *folder.parents) if parent.exists())
    free_gb = shutil.disk_usage(standing).free / GIGABYTE
    remedy = "" if free_gb >= LEAST_DISK_GB else f"make room: {LEAST_DISK_GB:g} GB are needed for the weights"
    return MachineFact(what="disk room", found=f"{free_gb:.1f} GB free", remedy=remedy)


def describe_decoder(words: str, name: str) -> MachineFact:
    """Return whether the video library can decode a codec."""
    try:
        av.codec.Codec(name, "r")
    except (av.error.FFmpegError, ValueError):
        return MachineFact(
            what=f"{words} video", found="cannot be decoded", remedy="run `python3 run.py` to set up again"
        )
    return MachineFact(what=f"{words} video", found="can be decoded", remedy="")
