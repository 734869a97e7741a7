"""Only the pictures that matter against all pictures: how many the large model sees, and whether the verdicts agree.

Run from the root: `python -m benchmarks.pictures rendered/test/test-01 ... --out benchmarks/results/pictures`.
"""

from __future__ import annotations

import argparse
import os
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from threadpoolctl import threadpool_limits

from benchmarks.machine import describe_machine, render_machine, render_table
from benchmarks.remembered import RememberingDetector, open_remembered
from benchmarks.truth import plan_visit, read_truth
from benchmarks.visits import (
    MEMORY_FOLDER,
    BenchVisit,
    Options,
    Stopwatch,
    measure_folder,
    measure_opened,
    prepare_tools,
)
from elbowroom.adapters.landmark_model.model import LandmarkModel
from elbowroom.core.findings.types import NotMeasured, Tolerance
from elbowroom.core.landmarks.layout import concatenate_pictures
from elbowroom.core.landmarks.people import interpolate_regions
from elbowroom.core.measures.measure import measure_deviation
from elbowroom.core.quantities.types import Uncertain
from elbowroom.core.throws.types import PictureChoice, SeenThrow, ThrowWindow
from elbowroom.service.landmarking import WatchedPerson, pick_watched, split_batches, watch_clip
from elbowroom.service.screening import OpenedClip
from elbowroom.settings import read_settings


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """One visit measured from chosen and from all pictures."""

    visit: str
    """Name of the visit."""
    seen: int
    """Pictures that the large model saw, all clips and throws."""
    in_windows: int
    """Pictures in the windows of the throws."""
    in_clips: int
    """Pictures of the clips."""
    judged: int
    """Verdicts compared."""
    different: tuple[str, ...]
    """Verdicts that differ, in words."""
    differences: tuple[float, ...]
    """Differences of typical values in units of the stated standard uncertainty of the chosen."""


def compare_pictures(folder: Path, options: Options) -> Comparison:
    """Measure a visit twice and compare."""
    chosen = measure_folder(folder, options)
    everything = measure_all_pictures(folder, chosen, options)
    seen = [throw.choice for clip in chosen.opened for throw in clip.throws]
    pairs = list(zip(chosen.findings, everything.findings, strict=True))
    judged = [(one, two) for one, two in pairs if isinstance(one.tolerance, Tolerance) and one.tolerance.judged]
    values = [(one.typical, two.typical) for one, two in pairs]
    return Comparison(
        visit=folder.name,
        seen=sum(len(choice.pictures) for choice in seen),
        in_windows=sum(choice.window_count for choice in seen),
        in_clips=sum(clip.source.clip.picture_count for clip in chosen.opened),
        judged=len(judged),
        different=tuple(
            f"{one.definition.words}: {describe_verdict(one.verdict)} against {describe_verdict(two.verdict)}"
            for one, two in judged
            if type(one.verdict) is not type(two.verdict)
        ),
        differences=tuple(
            float(measure_deviation(np.array(two.value), one.value, one.unit)) / one.standard
            for one, two in values
            if isinstance(one, Uncertain) and isinstance(two, Uncertain) and one.standard > 0
        ),
    )


def describe_verdict(verdict: object) -> str:
    """Describe a verdict and its probability."""
    if isinstance(verdict, NotMeasured):
        return "not measured"
    return f"{type(verdict).__name__} (p {verdict.probability_beyond:.2f})"  # type: ignore[attr-defined]


def measure_all_pictures(folder: Path, chosen: BenchVisit, options: Options) -> BenchVisit:
    """Measure a visit with the large model on every picture of the windows that were found."""
    truth = read_truth(folder)
    plan = plan_visit(truth, options.laid_deg, are_rows_known=options.are_rows_known)
    tools = prepare_tools(plan, options)
    assert isinstance(tools.detector, LandmarkModel)
    opened = tuple(look_at_all(clip, tools.detector) for clip in chosen.opened)
    return measure_opened((truth, plan, opened), tools, options, Stopwatch())


def look_at_all(opened: OpenedClip, model: LandmarkModel) -> OpenedClip:
    """Give every throw of a clip the large model's landmarks in all pictures of its window."""
    source, detector = open_remembered(opened.plan.path, model, MEMORY_FOLDER)
    thrower = pick_watched(source, watch_clip(source, detector, lambda what, done, total: None), opened.plan.thrower)
    throws = tuple(look_throughout(seen.window, thrower, detector) for seen in opened.throws)
    detector.memory.write()
    return replace(opened, throws=throws)


def look_throughout(window: ThrowWindow, thrower: WatchedPerson, detector: RememberingDetector) -> SeenThrow:
    """Look at every picture of a window with the large model."""
    times = detector.clip.times.times_s
    inside = np.flatnonzero((times >= window.start_s) & (times <= window.end_s))
    regions = interpolate_regions(thrower.track, inside)
    parts = [
        detector.detect_landmarks(
            [np.frombuffer(np.int64(number).tobytes(), np.uint8) for number, _ in batch],
            [region for _, region in batch],
            "large",
        )
        for batch in split_batches(zip(inside.tolist(), regions, strict=True))
    ]
    choice = PictureChoice(dense=inside, sparse=inside[:0], window_count=len(inside))
    return SeenThrow(window=window, choice=choice, landmarks=concatenate_pictures(parts))


def render_comparisons(found: list[Comparison]) -> str:
    """Render the comparisons in Markdown."""
    rows = [
        [
            item.visit,
            f"{item.seen} of {item.in_windows} ({item.seen / item.in_windows:.2f})",
            f"{item.seen} of {item.in_clips} ({item.seen / item.in_clips:.2f})",
            f"{item.judged - len(item.different)} of {item.judged}",
            f"{np.sqrt(np.mean(np.square(item.differences))):.2f}",
            f"{np.max(np.abs(item.differences)):.2f}",
        ]
        for item in found
    ]
    seen, windows, clips = (sum(getattr(item, part) for item in found) for part in ("seen", "in_windows", "in_clips"))
    different = [f"- {item.visit}, {words}" for item in found for words in item.different]
    head = ("visit", "pictures seen, of the windows", "of the whole clips", "equal verdicts")
    return "\n".join(
        [
            "# Only the pictures that matter\n",
            render_machine(describe_machine()) + "\n",
            f"The large model saw {seen / windows:.3f} of the pictures in the throws' windows and {seen / clips:.3f} "
            "of those of the whole clips (to reach: at most 0.40, with equal verdicts).\n",
            render_table((*head, "rms difference, in u", "largest, in u"), rows),
            "Verdicts that differ:\n" if different else "No verdict differs.\n",
            *different,
            "",
        ]
    )


def main() -> None:
    """Compare the visits of the command line."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.pictures", description=__doc__)
    parser.add_argument("folders", type=Path, nargs="+", help="folders of rendered visits")
    parser.add_argument("--out", type=Path, default=Path("benchmarks/results/pictures"), help="result, no ending")
    parser.add_argument("--cores", type=int, default=1)
    given = parser.parse_args()
    options = Options(models_folder=read_settings(os.environ).models_folder, cores=given.cores)
    found = []
    with threadpool_limits(limits=1):
        for folder in given.folders:
            found.append(compare_pictures(folder, options))
            print(f"{folder.name}: {len(found[-1].different)} verdicts differ", flush=True)
    given.out.parent.mkdir(parents=True, exist_ok=True)
    given.out.with_suffix(".md").write_text(render_comparisons(found), encoding="utf-8")


if __name__ == "__main__":
    main()
