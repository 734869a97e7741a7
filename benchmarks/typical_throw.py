"""The typical throw of the filming guide: the first throw of the rendered demo athlete, in shares of the height.

Run from the root: `python -m benchmarks.typical_throw rendered/demo src/elbowroom/tables/typical_throw.csv`.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import numpy as np
from scipy.interpolate import CubicSpline

from benchmarks.truth import find_true_instants, read_truth
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import Joint

SLOW_S, FAST_S = 0.04, 0.01
"""Step of the rows before foot contact and after release, and between."""
BEFORE_LIFT_S = 0.3
"""Time before the lift."""
SOURCE = "rendered demo athlete (invented), first throw; made by benchmarks/typical_throw.py"


def main() -> None:
    """Write the table."""
    truth, out = read_truth(Path(sys.argv[1])), Path(sys.argv[2])
    at = find_true_instants(truth, 0)
    start, end = at[InstantName.LIFT] - BEFORE_LIFT_S, at[InstantName.FINISH]
    fast = at[InstantName.FOOT_CONTACT] - 0.06, at[InstantName.RELEASE] + 0.1
    times = np.concatenate(
        [np.arange(start, fast[0], SLOW_S), np.arange(*fast, FAST_S), np.arange(fast[1], end + SLOW_S, SLOW_S)]
    )
    times = times[np.diff(times, prepend=-1.0) > FAST_S / 2]
    names = [str(name) for name in truth.arrays["joint_names"]]
    order = [names.index(joint.name.lower()) for joint in Joint]
    path = CubicSpline(truth.arrays["joint_times_0"], truth.arrays["joints_0"][:, order])
    places = path(times) / truth.story["athlete"]["height_m"]
    joints = [f"{joint.name.lower()} {axis}" for joint in Joint for axis in "xyz"]
    named = {round(float(times[np.argmin(np.abs(times - second))]), 6): name.value for name, second in at.items()}
    with out.open("w", newline="", encoding="utf-8") as file:
        lines = csv.writer(file, lineterminator="\n")
        lines.writerow(["time_s", "near", *joints, "source"])
        for second, place in zip(times, places, strict=True):
            near = named.get(round(float(second), 6), "")
            lines.writerow([f"{second - start:.3f}", near, *(f"{value:.4f}" for value in place.ravel()), SOURCE])


if __name__ == "__main__":
    main()
