"""Memory and speed of reading clips: memory of a long clip against a short one, and pictures a second against the bare
decoder. Run: `python -m benchmarks.capture`. Each measurement of memory runs in a process of its own.
"""

from __future__ import annotations

import platform
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import av
import numpy as np

from elbowroom.adapters.video.clip_file import read_clip
from tests.makers.clips import Recipe, draw_counter, make_clip

SHORT_S, LONG_S, RATE_HZ = 2, 60, 60
LARGE, SMALL = (1280, 720), (640, 360)
MEBIBYTE = 1024.0


def draw_noisy(number: int, width: int, height: int) -> np.ndarray:
    """Draw a counter over grain, so that the decoder has the work of a real picture."""
    grain = np.random.default_rng(number % 8).integers(0, 40, (height, width, 1), dtype=np.uint8)
    return np.clip(draw_counter(number, width, height).astype(np.int16) + grain - 20, 0, 255).astype(np.uint8)


def make_clips(folder: Path) -> tuple[Path, Path, Path]:
    """Make a 720p clip for speed, and a short and a long small clip for memory."""
    paths = folder / "speed.mp4", folder / "short.mp4", folder / "long.mp4"
    for path, length_s, (width, height) in zip(paths, (SHORT_S, SHORT_S, LONG_S), (LARGE, SMALL, SMALL), strict=True):
        recipe = Recipe(count=length_s * RATE_HZ, rate_hz=RATE_HZ, width=width, height=height, gop=60, quality=28)
        make_clip(path, replace(recipe, draw=draw_noisy))
    return paths


def read_peak(path: str) -> None:
    """Print the peak memory, KiB, of a process that reads a clip whole: times, pictures, repeats."""
    clip = read_clip(Path(path))
    for _, picture in clip.read_pictures():
        assert picture.shape[2] == 3
    clip.find_repeats()
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)


def measure_peak_mib(path: Path) -> float:
    """Measure the peak memory of reading a clip, MiB."""
    command = [sys.executable, "-m", "benchmarks.capture", str(path)]
    return int(subprocess.run(command, check=True, capture_output=True, text=True).stdout) / MEBIBYTE


def time_bare(path: Path) -> float:
    """Time the bare decoder with conversion to RGB, seconds."""
    start = time.perf_counter()
    with av.open(str(path)) as container:
        container.streams.video[0].thread_type = "AUTO"
        for frame in container.decode(video=0):
            frame.to_ndarray(format="rgb24")
    return time.perf_counter() - start


def time_ours(path: Path) -> float:
    """Time our reading of every picture, seconds; the table of times is made before."""
    clip = read_clip(path)
    start = time.perf_counter()
    for _ in clip.read_pictures():
        pass
    return time.perf_counter() - start


def main() -> None:
    """Print the figures with machine and date."""
    with tempfile.TemporaryDirectory() as folder:
        speed, short, long = make_clips(Path(folder))
        peaks = [measure_peak_mib(path) for path in (short, long)]
        pairs = [(time_ours(speed), time_bare(speed)) for _ in range(5)]
        start = time.perf_counter()
        clip = read_clip(long)
        open_s = time.perf_counter() - start
        start = time.perf_counter()
        sparse = sum(1 for _ in clip.read_pictures(range(0, clip.clip.picture_count, 240)))
        sparse_s = time.perf_counter() - start
    ours_s, bare_s = (float(np.median(column)) for column in zip(*pairs, strict=True))
    today = datetime.now(tz=UTC).date()
    print(f"{today}, {platform.machine()}, Python {platform.python_version()}, PyAV {av.__version__}")
    print(f"peak memory, 640 x 360: {SHORT_S} s {peaks[0]:.0f} MiB, {LONG_S} s {peaks[1]:.0f} MiB")
    print(
        f"1280 x 720: {SHORT_S * RATE_HZ / ours_s:.0f} pictures a second, bare decoder {SHORT_S * RATE_HZ / bare_s:.0f}"
    )
    print(f"  time over the bare decoder's {ours_s / bare_s:.2f} (median of 5 pairs)")
    print(f"opening the {LONG_S} s clip: {open_s:.2f} s; {sparse} sparse pictures of it: {sparse_s:.2f} s")


if __name__ == "__main__":
    read_peak(sys.argv[1]) if len(sys.argv) > 1 else main()
