"""Time of the whole landmark stage (crop, batch, network, decoding) over that of the bare network.

Both see the same pictures, on the same number of sessions, in turns within one run, so that whatever else the
machine does falls on both. The figure to reach is 1.10 or less (time of the stage over time of the network).

    python benchmarks/landmark_stage.py WEIGHTS_FOLDER [--cores 2] [--pictures 64] [--rounds 5]
"""

import argparse
import platform
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.landmark_model.converted import prepare_model
from elbowroom.adapters.landmark_model.model import LARGEST_BATCH, LandmarkModel
from elbowroom.adapters.landmark_model.network import Network, Run
from elbowroom.core.landmarks.types import LandmarkSize, Region

OUTPUTS = ("Identity", "Identity_1", "Identity_3", "Identity_4")
WEIGHTS = {"light": "lite", "large": "heavy"}


def make_pictures(count: int) -> tuple[list[NDArray[np.uint8]], list[Region]]:
    """Pictures of 1280 x 720 (their content does not change the time) and regions of the usual size."""
    random = np.random.default_rng(0)
    pictures = [random.integers(0, 256, (720, 1280, 3), dtype=np.uint8) for _ in range(min(count, 16))]
    regions = [
        Region(
            centre_px=random.uniform((400, 300), (800, 400)),
            size_px=float(random.uniform(500, 750)),
            rotation_rad=float(random.uniform(-0.3, 0.3)),
        )
        for _ in range(count)
    ]
    return [pictures[index % len(pictures)] for index in range(count)], regions


def time_call(call: Callable[[], object]) -> tuple[float, float]:
    """Seconds that a call takes, by the clock and of all cores together."""
    start, busy = time.perf_counter(), time.process_time()
    call()
    return time.perf_counter() - start, time.process_time() - busy


def describe_ratios(name: str, bare_s: list[float], stage_s: list[float]) -> str:
    """One line on the ratios of one kind of time."""
    ratios = [whole / part for whole, part in zip(stage_s, bare_s, strict=True)]
    return (
        f"  {name}: ratio {statistics.median(ratios):.3f} median of {len(ratios)} rounds "
        f"({min(ratios):.3f} to {max(ratios):.3f}), {min(stage_s) / min(bare_s):.3f} of the least"
    )


def measure(folder: Path, size: LandmarkSize, count: int, cores: int, rounds: int) -> None:
    """Print the times and their ratio for one size of the landmark model."""
    pictures, regions = make_pictures(count)
    stage = LandmarkModel(folder, cores=cores)
    bytes_of_model = prepare_model(WEIGHTS[size], folder)  # type: ignore[arg-type]
    bare = Network(bytes_of_model, cores=cores, outputs=OUTPUTS, largest_batch=LARGEST_BATCH)
    crops = np.random.default_rng(1).integers(0, 256, (count, 256, 256, 3), dtype=np.uint8)

    def run_bare() -> None:
        def handle(run: Run, batch: slice) -> None:
            run(crops[batch])

        bare.run_batches(count, handle)

    def run_stage() -> None:
        stage.detect_landmarks(pictures, regions, size)

    run_bare()
    run_stage()
    bare_s, stage_s = [], []
    for _ in range(rounds):
        bare_s.append(time_call(run_bare))
        stage_s.append(time_call(run_stage))
    bare_ms, stage_ms = (1e3 * min(clock for clock, _ in times) / count for times in (bare_s, stage_s))
    print(
        f"{WEIGHTS[size]}, {count} pictures, {cores} cores: network {bare_ms:.2f} ms, stage {stage_ms:.2f} ms"
        " a picture at the quickest"
    )
    print(describe_ratios("by the clock", [pair[0] for pair in bare_s], [pair[0] for pair in stage_s]))
    print(describe_ratios("of the cores", [pair[1] for pair in bare_s], [pair[1] for pair in stage_s]))


def main() -> None:
    """Read the command line and measure both sizes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--cores", type=int, default=2)
    parser.add_argument("--pictures", type=int, default=64)
    parser.add_argument("--rounds", type=int, default=5)
    chosen = parser.parse_args()
    print(f"{platform.machine()}, Python {platform.python_version()}, {time.strftime('%Y-%m-%d')}")
    measure(chosen.folder, "light", chosen.pictures, chosen.cores, chosen.rounds)
    measure(chosen.folder, "large", chosen.pictures, chosen.cores, chosen.rounds)


if __name__ == "__main__":
    main()
