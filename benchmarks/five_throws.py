"""Time in which the cameras of a visit of five throws from two bare phones are found.

Run from the root: `python -m benchmarks.five_throws rendered/test/test-08`. The rendered visits have three throws: the
first two are taken once more, later on the clock, so that there are five. One thread; both the time by the clock and
the time of the processor are told, since the machine may have other work.
"""

from __future__ import annotations

import os
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from threadpoolctl import threadpool_limits

from benchmarks.camera_gains import Watched, open_case, patch
from benchmarks.machine import describe_machine
from benchmarks.visits import Options
from elbowroom.core.chain import calibrating
from elbowroom.core.chain.types import ClipThrows
from elbowroom.core.throws.types import SeenThrow
from elbowroom.service.from_thrower import ThrowerVisit, find_from_thrower
from elbowroom.settings import read_settings

AGAIN = 2
"""Throws that are taken once more."""
LATER_S = 60.0
"""How much later on every phone's clock: the same for all, or the clocks would disagree."""


def repeat_throws(clip: ClipThrows) -> ClipThrows:
    """Take the first throws once more at the end of the clip."""
    times = clip.times.times_s
    later_s, count = LATER_S, len(times)
    longer = replace(
        clip.times,
        times_s=np.concatenate([times, times + later_s]),
        repeated=np.concatenate([clip.times.repeated, clip.times.repeated]),
    )
    again = tuple(move_throw(seen, later_s, count) for seen in clip.throws[:AGAIN])
    return replace(clip, times=longer, throws=(*clip.throws, *again))


def move_throw(seen: SeenThrow, later_s: float, count: int) -> SeenThrow:
    """Take a throw as one that comes later in the clip."""
    window, choice = seen.window, seen.choice
    moved = replace(
        window,
        start_s=window.start_s + later_s,
        contact_guess_s=window.contact_guess_s + later_s,
        release_guess_s=window.release_guess_s + later_s,
        end_s=window.end_s + later_s,
    )
    return replace(seen, window=moved, choice=replace(choice, dense=choice.dense + count, sparse=choice.sparse + count))


def main() -> None:
    """Time one visit and write what came out."""
    folder = Path(sys.argv[1])
    case = open_case(folder, Options(models_folder=read_settings(os.environ).models_folder))
    visit = ThrowerVisit(plan=case.plan, clips=tuple(repeat_throws(clip) for clip in case.clips), setting=case.setting)
    watched = Watched()
    with threadpool_limits(limits=1), patch(calibrating, "solve_visit", watched):
        wall, processor = time.perf_counter(), time.process_time()
        set_up = find_from_thrower(visit, np.random.default_rng(20))
        wall, processor = time.perf_counter() - wall, time.process_time() - processor
    count = len(watched.given[0])
    print(
        f"{folder.name}, {count} throws by {len(set_up.cameras)} phones: cameras found in {wall:.0f} s by the clock, "
        f"{processor:.0f} s of the processor, one thread; {watched.seconds:.0f} s by the clock in "
        f"{watched.adjusted.steps} steps of the adjustment.\nTo reach: a minute on two cores.\n{describe_machine()}"
    )


if __name__ == "__main__":
    main()
