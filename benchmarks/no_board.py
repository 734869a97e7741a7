"""Cameras from the thrower alone, against rendered truth and beside the same throws with board and marks.

Run from the root: `python -m benchmarks.no_board rendered/test --out benchmarks/results/no_board`. Cameras are found
from nothing but the thrower and the height; `--tape` adds a tape towards the target whose ends a person points at,
`--board` measures the same visits with board and marks beside. `benchmarks/README.md` says what each figure means.
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
from benchmarks.errors import (
    compare_clocks,
    compare_instants,
    compare_throw,
    compare_typical,
    is_wrong,
    pair_with_truth,
)
from benchmarks.machine import describe_machine
from benchmarks.truth import build_true_camera, find_visits, plan_visit, read_truth
from benchmarks.visits import BenchVisit, Options, Stopwatch, measure_opened, open_clips, prepare_tools
from elbowroom.core.cameras.project import project_points
from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.core.findings.report import NOT_ASKED
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
TAPE_M = (0.0, 1.6)
"""Where the tape begins and ends ahead of the origin: short enough for both phones to show both ends."""
PICTURES_HZ = 240.0
"""Pictures a second of the rendered clips."""
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
    has_board: bool
    """Whether the same visits are measured with board and marks beside."""


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
    """Measure one visit without board and marks, and with them where that is asked."""
    truth = read_truth(folder)
    plan = plan_visit(truth, 0.0, are_rows_known=given.are_rows_known)
    tools = prepare_tools(plan, options)
    opened = open_clips(plan, tools, lambda what, done, total: None)
    # Loads are not compared here, and cost most of the time.
    tools = replace(tools, load_tables=NOT_ASKED)  # type: ignore[arg-type]
    row: dict[str, Any] = {"visit": truth.name, "views": " + ".join(phone["name"] for phone in truth.phones)}
    if given.has_board:
        row["board"] = compare(measure_opened((truth, plan, opened), tools, options, Stopwatch()))
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
    pairs = pair_with_truth(bench)
    rows = [row for number, throw in pairs.items() for row in compare_throw(bench, number, throw)[0]]
    instants = [row for number, throw in pairs.items() for row in compare_instants(bench, number, throw)[0]]
    verdicts = compare_typical(bench, pairs)[1]
    places = [
        float(np.linalg.norm(camera.place - build_true_camera(phone).place))
        for camera, phone in zip(bench.set_up.cameras, bench.truth.phones, strict=True)
    ]
    return {
        "how": bench.set_up.how,
        "measures": [{**asdict(row), "error": row.error} for row in rows],
        "instants": [{**asdict(row), "error": row.error} for row in instants],
        "verdicts": [{**asdict(row), "wrong": is_wrong(row)} for row in verdicts],
        "clocks": [{**asdict(row), "error": row.error} for row in compare_clocks(bench)],
        "place_errors_m": places,
    }


def render(results: list[dict[str, Any]]) -> str:
    """Write the figures as Markdown."""
    measured = [row for row in results if "bare" in row]
    keys = sorted({item["key"] for row in measured for item in row["bare"]["measures"]} - set(HEADLINES))
    lines = [
        "| measure | to reach | no board: mean abs. error | with board | rms z | 95 % hold | n |",
        "|" + "---|" * 7,
    ]
    lines += [render_measure(measured, key) for key in [*HEADLINES, *keys]]
    return "\n".join([*lines, "", *render_whole(measured), *(render_visit(row) for row in results)]) + "\n"


def render_whole(measured: list[dict[str, Any]]) -> list[str]:
    """Write instants, coverage, verdicts, clocks and times over all visits."""
    bare = [row["bare"] for row in measured]
    every = [item for side in bare for item in side["measures"]]
    held = [abs(item["error"]) <= item["half_width"] for item in every]
    verdicts = [item for side in bare for item in side["verdicts"]]
    sure = [item for item in verdicts if item["verdict"] in ("within", "beyond")]
    clocks = [
        (1000 * abs(item["error"]), abs(item["error"]) / item["standard"]) for side in bare for item in side["clocks"]
    ]
    lines = [f"{100 * np.mean(held):.1f} % of {len(held)} intervals (95 %) hold the truth."]
    for name in ("foot contact", "release"):
        off = [PICTURES_HZ * abs(item["error"]) for side in bare for item in side["instants"] if item["key"] == name]
        lines.append(f"{name.capitalize()}: mean absolute error {np.mean(off):.1f} pictures (to reach: 3).")
    lines.append(
        f"Verdicts: {len(sure)} of {len(verdicts)} confident, {sum(item['wrong'] for item in sure)} of them wrong."
    )
    if clocks:
        off_ms, z = np.array(clocks).T
        lines.append(
            f"Clock: mean absolute error {off_ms.mean():.2f} ms, largest {off_ms.max():.2f} ms, "
            f"{np.mean(off_ms < 0.83):.0%} within 0.2 pictures (0.83 ms); rms z {np.sqrt(np.mean(z**2)):.2f}."
        )
    lines.append(f"Cameras found in {np.mean([row['seconds'] for row in measured]):.0f} s a visit (three throws).")
    return [*lines, ""]


def render_measure(measured: list[dict[str, Any]], key: str) -> str:
    """Write one measure's line; nothing under board where it was not measured with one."""
    bare, board = (
        [item for row in measured if kind in row for item in row[kind]["measures"] if item["key"] == key]
        for kind in ("bare", "board")
    )
    errors = [abs(item["error"]) for item in bare]
    hold = 100 * np.mean([error <= item["half_width"] for error, item in zip(errors, bare, strict=True)])
    z = np.sqrt(np.mean([(item["error"] / item["standard"]) ** 2 for item in bare if item["standard"] > 0]))
    beside = f"{np.mean([abs(item['error']) for item in board]):.3g}" if board else ""
    goal = f"{1.5 * HEADLINES[key]:.3g}" if key in HEADLINES else ""
    return (
        f"| {key} | {goal} | {np.mean(errors):.3g} {bare[0]['unit']} | {beside} | {z:.2f} | {hold:.0f} | {len(bare)} |"
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
    parser.add_argument("--board", action="store_true", help="measure with board and marks beside")
    given = parser.parse_args()
    return Given(
        folders=tuple(given.folders),
        out=given.out,
        has_tape=given.tape,
        are_rows_known=not given.rows_unknown,
        has_board=given.board,
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
