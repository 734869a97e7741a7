"""The chain of the product run on one rendered visit, with what it needs and the truth beside it."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from benchmarks.remembered import open_remembered
from benchmarks.remembered_boards import RememberingFinder
from benchmarks.truth import VisitTruth, build_true_set_up, plan_visit, read_truth
from elbowroom.adapters.boards.board import BOARDS
from elbowroom.adapters.landmark_model.model import LandmarkModel
from elbowroom.bootstrap import build_tools
from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.core.chain.judging import judge_visit
from elbowroom.core.chain.types import ChainSetting, ClipThrows, MeasuredVisit
from elbowroom.core.chain.visit import measure_visit
from elbowroom.core.findings.types import Finding
from elbowroom.service.landmarking import Progress
from elbowroom.service.screening import (
    SEED,
    OpenedClip,
    ScreeningTools,
    build_setting,
    gather_clip,
    open_throws,
)
from elbowroom.service.visit_plan import VisitPlan
from elbowroom.settings import Settings

MEMORY_FOLDER = Path("rendered") / "landmarks"
"""Where landmarks are remembered; git ignores it."""
NO_LAYING_ERROR = 0.0


@dataclass(frozen=True, kw_only=True)
class Options:
    """How visits are measured in a benchmark."""

    models_folder: Path
    """Folder of the weights."""
    has_true_cameras: bool = False
    """Whether the true cameras are taken instead of those found from boards and marks."""
    laid_deg: float = NO_LAYING_ERROR
    """Standard deviation of the angle by which the marks lie off the line to the target; stated to the product."""
    are_rows_known: bool = True
    """Whether the product is told each phone's row time."""
    cores: int = 1
    """Cores for the networks."""


@dataclass(frozen=True, kw_only=True)
class BenchVisit:
    """One rendered visit, measured."""

    truth: VisitTruth
    """The truth."""
    laid_deg: float
    """The angle by which the marks of this visit lie off the line to the target."""
    plan: VisitPlan
    """What the product was told."""
    opened: tuple[OpenedClip, ...]
    """The clips with their throws."""
    clips: tuple[ClipThrows, ...]
    """What the chain took in."""
    set_up: FieldSetUp
    """The cameras."""
    setting: ChainSetting
    """What else the chain took in."""
    visit: MeasuredVisit
    """What the chain gave."""
    findings: tuple[Finding, ...]
    """The verdicts."""
    seconds: dict[str, float]
    """Time of each stage."""


class Stopwatch:
    """Times stages one after another."""

    def __init__(self) -> None:
        """Start."""
        self.seconds: dict[str, float] = {}
        self._last = time.perf_counter()

    def note(self, stage: str) -> None:
        """Note the time since the last stage."""
        now = time.perf_counter()
        self.seconds[stage], self._last = now - self._last, now


def draw_laid_deg(truth: VisitTruth, standard_deg: float) -> float:
    """Draw by how much the marks of a visit lie off the line to the target."""
    generator = np.random.default_rng([5, len(truth.name), *truth.name.encode()])
    return float(standard_deg * generator.standard_normal())


def measure_folder(folder: Path, options: Options, report: Progress = lambda what, done, total: None) -> BenchVisit:
    """Measure one rendered visit; raises a subclass of `ElbowroomError` where the product refuses it."""
    truth, watch = read_truth(folder), Stopwatch()
    plan = plan_visit(truth, options.laid_deg, are_rows_known=options.are_rows_known)
    tools = prepare_tools(plan, options)
    opened = open_clips(plan, tools, report)
    watch.note("landmarks")
    return measure_opened((truth, plan, opened), tools, options, watch)


def measure_opened(
    what: tuple[VisitTruth, VisitPlan, tuple[OpenedClip, ...]],
    tools: ScreeningTools,
    options: Options,
    watch: Stopwatch,
) -> BenchVisit:
    """Measure a visit whose clips are opened and whose throws have landmarks."""
    truth, plan, opened = what
    set_up = build_true_set_up(truth)
    if not options.has_true_cameras:
        set_up = tools.find_cameras.find_set_up(plan, [clip.source.clip for clip in opened])
    watch.note("cameras")
    clips = tuple(gather_clip(clip, set_up, number) for number, clip in enumerate(opened))
    watch.note("repeats and sound")
    setting = build_setting(plan, set_up, tools)
    visit = measure_visit(clips, set_up, setting, np.random.default_rng(SEED), lambda done, total: None)
    watch.note("clocks, reconstruction, instants, measures")
    findings = judge_visit(visit, plan.athlete, tools.judge_tables)
    watch.note("findings")
    return BenchVisit(
        truth=truth,
        laid_deg=draw_laid_deg(truth, options.laid_deg),
        plan=plan,
        opened=opened,
        clips=clips,
        set_up=set_up,
        setting=setting,
        visit=visit,
        findings=findings,
        seconds=watch.seconds,
    )


def prepare_tools(plan: VisitPlan, options: Options) -> ScreeningTools:
    """Prepare what the product uses, with a camera finder that remembers the corners of boards."""
    settings = Settings(models_folder=options.models_folder, core_count=options.cores)
    tools = build_tools(plan, settings, lambda line: None)
    return replace(tools, find_cameras=RememberingFinder(MEMORY_FOLDER, BOARDS[plan.board_size]))


def open_clips(plan: VisitPlan, tools: ScreeningTools, report: Progress) -> tuple[OpenedClip, ...]:
    """Open the clips of a visit with their throws, landmarks remembered."""
    assert isinstance(tools.detector, LandmarkModel)
    files = [open_remembered(clip.path, tools.detector, MEMORY_FOLDER, clip.stated_rate_hz) for clip in plan.clips]
    try:
        opened = open_throws(plan, files, report)
    finally:
        for _, detector in files:
            detector.memory.write()
    return tuple(replace(clip, source=source.real) for clip, (source, _) in zip(opened, files, strict=True))
