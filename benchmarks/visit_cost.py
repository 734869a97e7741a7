"""Time of each stage of one visit, and memory against the number and the length of its clips.

Run from the root: `python -m benchmarks.visit_cost rendered/demo --out benchmarks/results/visit_cost`. Each visit is
measured in a process of its own, as the product does it, nothing remembered. More clips are the same files under
other names; longer clips are the same clip several times over, copied packet by packet.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
from threadpoolctl import threadpool_limits

from benchmarks.machine import describe_machine, render_machine, render_table
from benchmarks.truth import plan_visit, read_truth
from elbowroom.adapters.report.html import render_report_html
from elbowroom.adapters.report.json_file import render_report_json
from elbowroom.bootstrap import build_tools
from elbowroom.core.quantities.phrases import LengthUnit
from elbowroom.service.screening import ScreeningTools, screen_visit
from elbowroom.service.visit_plan import ClipPlan, VisitPlan
from elbowroom.settings import read_settings

KIBIBYTE = 1024.0
COUNTS = (2, 4, 8, 20)
"""Numbers of clips."""
LENGTHS = (1, 4)
"""How many times over a clip is shown."""


@dataclass(frozen=True, kw_only=True)
class Cost:
    """What one visit costs."""

    what: str
    """The visit in words."""
    clips: int
    """Number of clips."""
    pictures: int
    """Pictures of all clips."""
    throws: int
    """Throws in the report."""
    peak_mib: float
    """Peak resident memory of the process."""
    seconds: dict[str, float]
    """Time of each stage."""


class StageTimer:
    """Adds up the time of each stage from what the product reports as it goes."""

    def __init__(self) -> None:
        """Start."""
        self.seconds: dict[str, float] = {}
        self._last = time.perf_counter()

    def hear(self, what: str, done: int, total: int) -> None:
        """Add the time since the last report to the stage that reports."""
        if what.startswith("looking through"):
            self.add("light model over whole clips")
        elif what.startswith("measuring throws"):
            self.add("repeats, sound, clocks, reconstruction, instants, measures")
        else:
            self.add("large model on chosen pictures")

    def add(self, stage: str) -> None:
        """Add the time since the last report."""
        now = time.perf_counter()
        self.seconds[stage] = self.seconds.get(stage, 0.0) + now - self._last
        self._last = now


@dataclass(frozen=True)
class TimedFinder:
    """The product's camera finder, timed."""

    tools: ScreeningTools
    """What holds the real one."""
    timer: StageTimer
    """Where the time goes."""

    def find_set_up(self, plan: VisitPlan, clips: object) -> object:
        """Find the cameras."""
        self.timer.add("opening clips and networks")
        found = self.tools.find_cameras.find_set_up(plan, clips)  # type: ignore[arg-type]
        self.timer.add("cameras from boards and marks")
        return found


def screen_folder(folder: Path, count: int) -> dict[str, object]:
    """Screen a visit with a number of clips and tell what it cost; runs in a process of its own."""
    plan = plan_visit(read_truth(folder), 1.0, are_rows_known=True)
    clips = [plan.clips[number % len(plan.clips)] for number in range(count)]
    plan = replace(plan, clips=tuple(share_clip(clip.path, number, clip) for number, clip in enumerate(clips)))
    timer = StageTimer()
    with threadpool_limits(limits=1):
        tools = build_tools(plan, read_settings(os.environ), lambda line: None)
        tools = replace(tools, find_cameras=TimedFinder(tools, timer))  # type: ignore[arg-type]
        report = screen_visit(plan, tools, timer.hear)
        timer.add("findings, key pictures")
        render_report_html(report, LengthUnit.CENTIMETRES)
        render_report_json(report)
        timer.add("report")
    return {
        "throws": len(report.throws),
        "peak_mib": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / KIBIBYTE,
        "seconds": timer.seconds,
        "pictures": sum(card.picture_count for card in report.set_up.clips),
    }


def share_clip(path: Path, number: int, clip: ClipPlan) -> ClipPlan:
    """Give a clip another name beside the first."""
    other = path.with_name(f"again-{number}-{path.name}")
    if not other.exists():
        os.link(path, other)
    return replace(clip, path=other)


def measure_cost(folder: Path, count: int, what: str) -> Cost:
    """Measure what a visit costs, in a process of its own."""
    command = [sys.executable, "-m", "benchmarks.visit_cost", str(folder), "--child", str(count)]
    said = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout.splitlines()[-1])
    return Cost(what=what, clips=count, **said)


def copy_longer(folder: Path, target: Path, times: int) -> None:
    """Copy a visit with every clip shown several times over; the board clips stay as they are."""
    shutil.copytree(folder, target, ignore=shutil.ignore_patterns("*.pkl", "again-*"))
    for phone in read_truth(folder).phones:
        if times > 1:
            repeat_clip(folder / phone["clip"], target / phone["clip"], times)


def repeat_clip(source: Path, target: Path, times: int) -> None:
    """Write a clip that shows another several times over, packets copied."""
    with av.open(str(source)) as first, av.open(str(target), "w") as out:
        streams = {stream.index: out.add_stream_from_template(stream) for stream in first.streams}
        length = Fraction(first.duration, av.time_base) + Fraction(1, 60)
        for turn in range(times):
            first.seek(0)
            for packet in list_packets(first, turn * length):
                packet.stream = streams[packet.stream.index]
                out.mux(packet)


def list_packets(source: Any, shift_s: Fraction) -> Iterator[Any]:
    """Yield the packets of a clip, moved in time."""
    for packet in source.demux():
        if packet.dts is not None:
            shift = int(shift_s / packet.time_base)
            packet.pts, packet.dts = packet.pts + shift, packet.dts + shift
            yield packet


def render_costs(costs: list[Cost]) -> str:
    """Render the costs in Markdown."""
    stages = [[stage, f"{seconds:.1f}"] for stage, seconds in costs[0].seconds.items()]
    rows = [
        [
            item.what,
            *(f"{n:.0f}" for n in (item.clips, item.pictures, item.throws, item.peak_mib, sum(item.seconds.values()))),
        ]
        for item in costs
    ]
    last = max(costs, key=lambda item: item.clips)
    first = next(item for item in costs[1:] if item.what == last.what)
    return "\n".join(
        [
            "# What a visit costs\n",
            render_machine(describe_machine()) + "\n",
            f"Time of each stage, {costs[0].what} ({costs[0].clips} clips, {costs[0].throws} throws), all cores:\n",
            render_table(("stage", "s"), [*stages, ["together", f"{sum(costs[0].seconds.values()):.1f}"]]),
            f"Peak memory with {last.clips} clips over that with {first.clips}: "
            f"{last.peak_mib / first.peak_mib:.2f}; the most: {max(item.peak_mib for item in costs):.0f} MiB "
            "(to reach: flat, under 2 GB).\n",
            render_table(("visit", "clips", "pictures", "throws", "peak memory, MiB", "s"), rows),
        ]
    )


def main() -> None:
    """Measure and write, or be the child that screens."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.visit_cost", description=__doc__)
    parser.add_argument("folder", type=Path, help="folder of one rendered visit, for the times")
    parser.add_argument("--small", type=Path, help="folder of a short visit for the memory; the same where left out")
    parser.add_argument("--out", type=Path, default=Path("benchmarks/results/visit_cost"), help="result, no ending")
    parser.add_argument("--child", type=int, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.child:
        print(json.dumps(screen_folder(given.folder, given.child)))
        return
    small, costs = given.small or given.folder, []
    with tempfile.TemporaryDirectory() as place:
        works = [(given.folder, 1, 2)] + [(small, 1, n) for n in COUNTS] + [(small, times, 2) for times in LENGTHS[1:]]
        for number, (folder, times, count) in enumerate(works):
            copy_longer(folder, Path(place) / str(number), times)
            what = f"{folder.name}{f', shown {times} times over' if times > 1 else ''}"
            costs.append(measure_cost(Path(place) / str(number), count, what))
            print(f"{what}, {count} clips: {costs[-1].peak_mib:.0f} MiB", flush=True)
    given.out.parent.mkdir(parents=True, exist_ok=True)
    given.out.with_suffix(".md").write_text(render_costs(costs), encoding="utf-8")


if __name__ == "__main__":
    main()
