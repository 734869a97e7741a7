"""Cameras from the thrower alone, against rendered truth and beside the same throws with board and marks.

Run from the root: `python -m benchmarks.no_board rendered/test --out benchmarks/results/no_board`. Each visit is
measured twice: cameras from boards and marks, and from nothing but the thrower and the height (`--tape` adds a tape
towards the target whose ends a person points at). `benchmarks/README.md` says what each figure means.
"""

from __future__ import annotations

import argparse
import json
import os
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from threadpoolctl import threadpool_limits

from benchmarks.accuracy import shorten
from benchmarks.errors import compare_clocks, compare_throw, pair_with_truth
from benchmarks.machine import describe_machine
from benchmarks.truth import build_true_camera, find_visits, plan_visit, read_truth
from benchmarks.visits import BenchVisit, Options, Stopwatch, measure_opened, open_clips, prepare_tools
from elbowroom.core.cameras.project import project_points
from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.errors import ElbowroomError
from elbowroom.service.from_thrower import ThrowerVisit, assume_cameras, find_from_thrower
from elbowroom.service.screening import OpenedClip, ScreeningTools, build_setting, gather_clip
from elbowroom.service.visit_plan import ClipPlan, MarkedPoint, VisitPlan
from elbowroom.settings import read_settings

HEADLINES = {
    "elbow_to_shoulder_line_at_foot_contact": 4.0,
    "elbow_to_shoulder_line_at_layback": 4.0,
    "elbow_flexion_at_layback": 6.0,
    "trunk_opening_at_foot_contact": 4.0,
    "stride_offset": 0.013,
    "stride_length": 0.02,
}
"""Measures with a figure to reach with a board (mean absolute error); without one half more is allowed."""
TAPE_M = (0.0, 2.7)
"""Where the tape begins and ends ahead of the origin."""
SIDES = ("board", "bare")
"""Both ways in which a visit is measured."""
POINTING_PX = 1.5
"""How well a person points at the ends of the tape."""


@dataclass(frozen=True, kw_only=True)
class Given:
    """What the command line says."""

    folders: tuple[Path, ...]
    """Folders of sets or visits."""
    out: Path
    """Results without an ending."""
    has_tape: bool
    """Whether a tape is laid."""
    are_rows_known: bool
    """Whether row times are told."""


class Found:
    """A camera finder that gives what was found before."""

    def __init__(self, set_up: FieldSetUp) -> None:
        """Keep the set-up."""
        self._set_up = set_up

    def find_set_up(self, plan: VisitPlan, clips: object) -> FieldSetUp:
        """Give it."""
        return self._set_up


def strip_plan(plan: VisitPlan, folder: Path, *, has_tape: bool) -> VisitPlan:
    """Take boards and marks out of a plan; put the ends of a tape in where they are in the picture."""
    truth = read_truth(folder)
    generator = np.random.default_rng([31, len(truth.name), *truth.name.encode()])
    clips = []
    for item, phone in zip(plan.clips, truth.phones, strict=True):
        ends = np.array([[TAPE_M[0], 0.0, 0.0], [TAPE_M[1], 0.0, 0.0]])
        pixels = project_points(build_true_camera(phone), ends) + generator.normal(0.0, POINTING_PX, (2, 2))
        clips.append(strip_clip(item, pixels, (phone["width"], phone["height"]), has_tape=has_tape))
    return replace(plan, clips=tuple(clips), tape_m=TAPE_M[1] - TAPE_M[0] if has_tape else 0.0)


def strip_clip(item: ClipPlan, pixels: np.ndarray, size: tuple[int, int], *, has_tape: bool) -> ClipPlan:
    """Take board and marks out of a clip, and put the visible ends of a tape in."""
    marks = [
        MarkedPoint(name=name, pixel=(float(x), float(y)))
        for name, (x, y) in zip(("tape_start", "tape_end"), pixels, strict=True)
        if has_tape and 0 <= x < size[0] and 0 <= y < size[1]
    ]
    return replace(item, board_path=None, marks=tuple(marks))


def find_bare(plan: VisitPlan, opened: Sequence[OpenedClip], tools: ScreeningTools) -> FieldSetUp:
    """Find the cameras from the thrower."""
    blank = assume_cameras(plan, [clip.source.clip for clip in opened])
    clips = tuple(gather_clip(clip, blank, number) for number, clip in enumerate(opened))
    visit = ThrowerVisit(plan=plan, clips=clips, setting=build_setting(plan, blank, tools))
    return find_from_thrower(visit, np.random.default_rng(20))


def compare_both(folder: Path, given: Given, options: Options) -> dict[str, Any]:
    """Measure one visit with the board and without."""
    truth = read_truth(folder)
    plan = plan_visit(truth, 0.0, are_rows_known=given.are_rows_known)
    tools = prepare_tools(plan, options)
    opened = open_clips(plan, tools, lambda what, done, total: None)
    row: dict[str, Any] = {"visit": truth.name, "views": " + ".join(phone["name"] for phone in truth.phones)}
    board = measure_opened((truth, plan, opened), tools, options, Stopwatch())
    row["board"] = compare(board)
    bare = strip_plan(plan, folder, has_tape=given.has_tape)
    stripped = tuple(replace(clip, plan=item) for clip, item in zip(opened, bare.clips, strict=True))
    begun = time.perf_counter()
    try:
        set_up = find_bare(bare, stripped, tools)
    except ElbowroomError as e:
        return {**row, "refused": str(e)}
    row["seconds"] = time.perf_counter() - begun
    found = replace(tools, find_cameras=Found(set_up))
    row["bare"] = compare(measure_opened((truth, bare, stripped), found, options, Stopwatch()))
    return row


def compare(bench: BenchVisit) -> dict[str, Any]:
    """Compare a measured visit with the truth."""
    rows = [row for number, throw in pair_with_truth(bench).items() for row in compare_throw(bench, number, throw)[0]]
    places = [
        float(np.linalg.norm(camera.place - build_true_camera(phone).place))
        for camera, phone in zip(bench.set_up.cameras, bench.truth.phones, strict=True)
    ]
    return {
        "how": bench.set_up.how,
        "measures": [{**asdict(row), "error": row.error} for row in rows],
        "clocks": [{**asdict(row), "error": row.error} for row in compare_clocks(bench)],
        "place_errors_m": places,
    }


def render(results: list[dict[str, Any]]) -> str:
    """Write the figures as Markdown."""
    measured = [row for row in results if "bare" in row]
    keys = sorted({item["key"] for row in measured for item in row["bare"]["measures"]} - set(HEADLINES))
    lines = [
        "| measure | board: mean abs. error | no board | ratio | 95 % hold: board | no board | n |",
        "|" + "---|" * 7,
    ]
    lines += [line for key in [*HEADLINES, *keys] if (line := render_measure(measured, key))]
    clocks = [1000 * abs(item["error"]) for row in measured for item in row["bare"]["clocks"]]
    if clocks:
        lines += ["", f"Clock, no board: mean absolute error {np.mean(clocks):.2f} ms, largest {np.max(clocks):.2f} ms"]
        lines += ["(0.2 pictures at 240 Hz: 0.83 ms)."]
        lines += [f"Cameras found in {np.mean([row['seconds'] for row in measured]):.0f} s a visit (three throws).", ""]
    return "\n".join([*lines, *(render_visit(row) for row in results)]) + "\n"


def render_measure(measured: list[dict[str, Any]], key: str) -> str:
    """Write one measure's line; empty where one side has no value."""
    rows = [[item for row in measured for item in row[kind]["measures"] if item["key"] == key] for kind in SIDES]
    if not all(rows):
        return ""
    errors = [np.mean([abs(item["error"]) for item in side]) for side in rows]
    hold = [100 * np.mean([abs(item["error"]) <= item["half_width"] for item in side]) for side in rows]
    unit = rows[0][0]["unit"]
    goal = f" (board {HEADLINES[key]:g}, so {1.5 * HEADLINES[key]:g})" if key in HEADLINES else ""
    return (
        f"| {key}{goal} | {errors[0]:.3g} {unit} | {errors[1]:.3g} {unit} | {errors[1] / errors[0]:.2f} "
        f"| {hold[0]:.0f} | {hold[1]:.0f} | {len(rows[1])} |"
    )


def render_visit(row: dict[str, Any]) -> str:
    """Write one visit's line."""
    if "refused" in row:
        return f"- {row['visit']} ({row['views']}): refused: {row['refused']}"
    places = ", ".join(f"{place:.2f}" for place in row["bare"]["place_errors_m"])
    return f"- {row['visit']} ({row['views']}): phones {places} m off; {row['bare']['how']}"


def read_line() -> Given:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.no_board", description=__doc__)
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--out", type=Path, default=Path("benchmarks/results/no_board"))
    parser.add_argument("--tape", action="store_true")
    parser.add_argument("--rows-unknown", action="store_true")
    given = parser.parse_args()
    return Given(
        folders=tuple(given.folders), out=given.out, has_tape=given.tape, are_rows_known=not given.rows_unknown
    )


def main() -> None:
    """Run all visits and write what came out."""
    given, results = read_line(), []
    options = Options(models_folder=read_settings(os.environ).models_folder, are_rows_known=given.are_rows_known)
    for folder in [visit for root in given.folders for visit in find_visits(root)]:
        with threadpool_limits(limits=1):
            results.append(compare_both(folder, given, options))
        print(folder.name, results[-1].get("refused", f"{results[-1].get('seconds', 0):.0f} s"), flush=True)
        given.out.parent.mkdir(parents=True, exist_ok=True)
        whole = {"machine": describe_machine(), "tape": given.has_tape, "rows": given.are_rows_known, "visits": results}
        given.out.with_suffix(".json").write_text(
            json.dumps(shorten(whole)).replace("}, {", "},\n{") + "\n", encoding="utf-8"
        )
        given.out.with_suffix(".md").write_text(render(results), encoding="utf-8")


if __name__ == "__main__":
    main()
