"""Time from a correction to the first and to the full answer, and the size of the workings.

Run from the root: `python -m benchmarks.corrections --out benchmarks/results/corrections`; `--workings FILE` takes the
`workings.npz` of a screening instead of the invented visit. Processor time is given beside the clock's, since it stands
for a quiet machine.
"""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from threadpoolctl import threadpool_limits

from benchmarks.machine import describe_machine, render_machine, render_table
from elbowroom.adapters.workings.files import read_workings, render_workings
from elbowroom.core.cameras.project import project_points
from elbowroom.core.chain.types import Change, DroppedThrow, MovedInstant, MovedLandmark
from elbowroom.core.chain.workings import ThrowResult, Workings
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import Joint
from elbowroom.service.correcting import Remembered, compare_reports, measure_changes
from tests.makers.kept_visit import make_tools, screen_invented

ROUNDS = 3


def choose_changes(workings: Workings) -> dict[str, Change]:
    """Return one change of each kind on the first throw."""
    throw = next(throw for throw in workings.throws if isinstance(throw.result, ThrowResult))
    assert isinstance(throw.result, ThrowResult)
    layback_s = throw.result.instants.find(InstantName.LAYBACK).value
    member, clip = throw.members[0], workings.clips[throw.members[0].clip]
    picture = int(np.argmin(np.abs(clip.times.times_s - layback_s)))
    place = int(np.argmin(np.abs(throw.result.motion.times_s - layback_s)))
    x, y = project_points(clip.camera, throw.result.motion.joints_m[place])[Joint.RIGHT_ELBOW]
    moved = float(x) + 25.0, float(y)
    return {
        "landmark moved 25 px": MovedLandmark(
            throw=throw.number, clip=member.clip, picture=picture, joint=Joint.RIGHT_ELBOW, place_px=moved
        ),
        "instant moved 20 ms": MovedInstant(
            throw=throw.number, instant=InstantName.FOOT_CONTACT,
            time_s=throw.result.instants.find(InstantName.FOOT_CONTACT).value + 0.02,
        ),
        "throw dropped": DroppedThrow(throw=throw.number),
    }  # fmt: skip


def measure_s(act: Callable[[], object]) -> tuple[float, float]:
    """Return the least processor time and the least time by the clock of a few rounds, seconds."""
    found = []
    for _ in range(ROUNDS):
        cpu, clock = time.process_time(), time.perf_counter()
        act()
        found.append((time.process_time() - cpu, time.perf_counter() - clock))
    return min(item[0] for item in found), min(item[1] for item in found)


def run(workings: Workings) -> list[list[str]]:
    """Return a row for each kind of change and answer."""
    tools, rows = make_tools(), []
    before = measure_changes(workings, (), tools, Remembered())
    for name, change in choose_changes(workings).items():
        for is_first, words in ((True, "first"), (False, "full")):
            warm = Remembered()
            # The draws of the throw as it was are there once somebody reviews it.
            if isinstance(change, MovedInstant):
                measure_changes(workings, (MovedInstant(throw=change.throw, instant=change.instant, time_s=change.time_s + 0.01),), tools, warm, is_first=is_first)  # fmt: skip  # noqa: E501

            def act(change: Change = change, is_first: bool = is_first, warm: Remembered = warm) -> None:
                warm.results.clear()
                if not isinstance(change, MovedInstant):
                    warm.drawn.clear()
                after = measure_changes(workings, (change,), tools, warm, is_first=is_first)
                compare_reports(before.report, after.report, draws=0, is_first=is_first)

            cpu, clock = measure_s(act)
            rows.append([name, words, f"{cpu:.2f}", f"{clock:.2f}"])
    return rows


def main() -> None:
    """Run and print, or write the result."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--workings", type=Path)
    parser.add_argument("--out", type=Path)
    options = parser.parse_args()
    with threadpool_limits(limits=1):
        workings = read_workings(options.workings.read_bytes()) if options.workings else screen_invented(150)[1]
        rows = run(workings)
    size = len(render_workings(workings)) / 1e6
    load = ", ".join(f"{item:.1f}" for item in os.getloadavg())
    views = sum(len(throw.members) for throw in workings.throws)
    text = "\n\n".join(
        (
            "# Corrections",
            render_table(["correction", "answer", "processor, s", "clock, s"], rows),
            f"Workings: {size:.1f} MB for {len(workings.throws)} throws in {views} views.",
            f"Load of the machine (1, 5, 15 minutes): {load}; both times grow with it.",
            render_machine(describe_machine()),
        )
    )
    print(text)
    if options.out:
        options.out.with_suffix(".md").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
