"""The reference tables of intake, exam and drills, as the use cases take them in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from elbowroom.core.plan.choose_drills import DrillRule
from elbowroom.core.plan.drills import Drill
from elbowroom.core.plan.exam import ExamTables
from elbowroom.core.plan.growth import GrowthCare, GrowthEquation
from elbowroom.core.plan.links import EvidenceLink
from elbowroom.core.plan.thresholds import ExamBand, Threshold
from elbowroom.core.plan.warnings import WarningSign


@dataclass(frozen=True, kw_only=True)
class PlanTables:
    """Everything that intakes, exams and drills are understood with."""

    signs: tuple[WarningSign, ...]
    """Warning signs."""
    equations: tuple[GrowthEquation, ...]
    """Growth equations."""
    care: tuple[GrowthCare, ...]
    """What growth changes."""
    exam: ExamTables
    """Items and instruments of the exam."""
    thresholds: tuple[Threshold, ...]
    """Published limits of the exam's quantities."""
    links: tuple[EvidenceLink, ...]
    """From the exam to the throw."""
    drills: tuple[Drill, ...]
    """The library of drills."""
    rules_text: str
    """The packaged rules that choose drills, as CSV."""
    read_rules: Callable[[str], tuple[DrillRule, ...]]
    """Reads rules from CSV; raises `TableError` with all problems."""
    draw_figure: Callable[[Drill], str]
    """Draws the figure of a drill as SVG, for a right-hander."""
    draw_mirrored: Callable[[Drill], str]
    """The same for a left-hander."""
    bands: tuple[ExamBand, ...]
    """What studies found of the exam's quantities, shown beside the values."""
