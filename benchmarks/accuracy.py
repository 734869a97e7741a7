"""Accuracy, coverage and verdicts of the whole chain against rendered truth.

Run from the root: `python -m benchmarks.accuracy rendered/test --out benchmarks/results/accuracy`. Writes the figures
as Markdown and all rows as JSON. `benchmarks/README.md` says what each figure means.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import traceback
from dataclasses import asdict, dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
from threadpoolctl import threadpool_limits

from benchmarks.accuracy_tables import render_accuracy
from benchmarks.errors import (
    compare_clocks,
    compare_instants,
    compare_throw,
    compare_typical,
    pair_with_truth,
)
from benchmarks.joint_errors import compare_joints, measure_camera_errors
from benchmarks.machine import describe_machine
from benchmarks.truth import find_visits, list_throws, read_truth
from benchmarks.visits import BenchVisit, Options, measure_folder
from elbowroom.errors import ElbowroomError
from elbowroom.settings import read_settings


@dataclass(frozen=True, kw_only=True)
class Given:
    """What the command line says."""

    folder: Path
    """Folder of the set."""
    out: Path
    """Path of the results without an ending."""
    jobs: int
    """Visits at a time."""
    options: Options
    """How visits are measured."""


def compare_visit(bench: BenchVisit) -> dict[str, Any]:
    """Compare one measured visit with its truth, ready for JSON."""
    pairs = pair_with_truth(bench)
    measures = [compare_throw(bench, number, throw) for number, throw in pairs.items()]
    instants = [compare_instants(bench, number, throw) for number, throw in pairs.items()]
    typical, verdicts = compare_typical(bench, pairs)
    joints = [row for number, throw in pairs.items() for row in compare_joints(bench, number, throw)]
    return {
        **describe_visit(bench.truth.folder),
        "measured": sorted(pairs),
        "failed": [f"{failed.absent.reason} {failed.absent.advice}".strip() for failed in bench.visit.failed],
        "seconds": bench.seconds,
        "camera_errors_m": measure_camera_errors(bench),
        "camera_residuals_px": [camera.residual_px for camera in bench.set_up.cameras],
        "clocks": [asdict(row) for row in compare_clocks(bench)],
        "measures": [asdict(row) for rows, _ in measures for row in rows],
        "absent": [asdict(row) for _, rows in [*measures, *instants] for row in rows],
        "instants": [asdict(row) for rows, _ in instants for row in rows],
        "typical": [asdict(row) for row in typical],
        "verdicts": [asdict(row) for row in verdicts],
        "joints": [asdict(row) for row in joints],
    }


def describe_visit(folder: Path) -> dict[str, Any]:
    """Describe a visit: who, hand, views, throws."""
    truth = read_truth(folder)
    athlete = truth.story["athlete"]
    return {
        "visit": truth.name,
        "age_years": athlete["age_years"],
        "height_m": athlete["height_m"],
        "hand": "left" if truth.is_left else "right",
        "views": " + ".join(phone["name"] for phone in truth.phones),
        "rate_hz": truth.phones[0]["fps"],
        "throws": list_throws(truth),
    }


def do_visit(work: tuple[Path, Options]) -> dict[str, Any]:
    """Measure and compare one visit in a process of its own; what the product refuses is a result too."""
    folder, options = work
    os.nice(5)
    try:
        with threadpool_limits(limits=1):
            return compare_visit(measure_folder(folder, options))
    except ElbowroomError as e:
        return {**describe_visit(folder), "measured": [], "refused": str(e)}
    except (ArithmeticError, LookupError, ValueError, np.linalg.LinAlgError) as e:
        said = f"**the product broke** ({type(e).__name__}: {e})"
        return {**describe_visit(folder), "measured": [], "refused": said, "trace": traceback.format_exc()}


def run_visits(given: Given) -> list[dict[str, Any]]:
    """Run all visits of the set, some at a time."""
    work = [(folder, given.options) for folder in find_visits(given.folder)]
    if not work:
        sys.exit(f"No whole visit with truth.json is in {given.folder}: render a set first (rendering/README.md).")
    results = []
    with get_context("spawn").Pool(given.jobs, maxtasksperchild=1) as pool:
        for result in pool.imap(do_visit, work, chunksize=1):
            results.append(result)
            said = result.get("refused") or f"{len(result['measured'])} of {len(result['throws'])} throws"
            print(f"{len(results)}/{len(work)} {result['visit']}: {said}", flush=True)
    return results


def write_results(given: Given, results: list[dict[str, Any]]) -> None:
    """Write the rows as JSON and the figures as Markdown."""
    how = {
        "set": given.folder.name,
        "cameras": "true" if given.options.has_true_cameras else "found from board clips and ground marks",
        "marks off the line, standard deviation": f"{given.options.laid_deg:g} deg",
        "row times": "known" if given.options.are_rows_known else "not known",
    }
    whole = {"machine": describe_machine(), "how": how, "visits": results}
    given.out.parent.mkdir(parents=True, exist_ok=True)
    text = json.dumps(shorten(whole), ensure_ascii=False, separators=(",", ":"))
    given.out.with_suffix(".json").write_text(
        text.replace("],[", "],\n[").replace("},{", "},\n{") + "\n", encoding="utf-8"
    )
    given.out.with_suffix(".md").write_text(render_accuracy(whole), encoding="utf-8")


def shorten(value: Any) -> Any:
    """Round numbers to six digits, write not-a-number as null and rows as a table, so that the file stays small."""
    if isinstance(value, float):
        return None if value != value else float(f"{value:.6g}")
    if isinstance(value, dict):
        return {key: shorten(item) for key, item in value.items()}
    if is_table(value):
        columns = list(value[0])
        return {"columns": columns, "rows": [[shorten(row[column]) for column in columns] for row in value]}
    return [shorten(item) for item in value] if isinstance(value, list | tuple) else value


def is_table(value: Any) -> bool:
    """Whether something is a list of rows with the same names and no row within a row."""
    if not (isinstance(value, list) and value and all(isinstance(row, dict) for row in value)):
        return False
    return all(list(row) == list(value[0]) for row in value) and not any(
        isinstance(item, list | dict) for item in value[0].values()
    )


def read_line() -> Given:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.accuracy", description=__doc__)
    parser.add_argument("folder", type=Path, help="folder of a rendered set, or of one visit")
    parser.add_argument("--out", type=Path, default=Path("benchmarks/results/accuracy"), help="results, no ending")
    parser.add_argument("--jobs", type=int, default=1, help="visits at a time")
    parser.add_argument("--true-cameras", action="store_true", help="take the true cameras")
    parser.add_argument("--laid-deg", type=float, default=0.0, help="standard deviation of how the marks are laid")
    parser.add_argument("--rows-unknown", action="store_true", help="do not tell the product the row times")
    given = parser.parse_args()
    options = Options(
        models_folder=read_settings(os.environ).models_folder,
        has_true_cameras=given.true_cameras,
        laid_deg=given.laid_deg,
        are_rows_known=not given.rows_unknown,
    )
    return Given(folder=given.folder, out=given.out.with_suffix(""), jobs=given.jobs, options=options)


def main() -> None:
    """Run and write."""
    given = read_line()
    write_results(given, run_visits(given))


if __name__ == "__main__":
    main()
