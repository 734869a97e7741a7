"""Wiring of intake, exam and drills: the tables, the figures, and files of plain values."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from elbowroom.adapters.figures.drill import render_drill_figure
from elbowroom.adapters.results.folders import write_whole_file
from elbowroom.adapters.tables.drill_tables import read_drill_rules, read_drills, read_poses, read_rules_text
from elbowroom.adapters.tables.exam_tables import read_exam_bands, read_exam_tables, read_links, read_thresholds
from elbowroom.adapters.tables.intake_tables import read_growth_care, read_growth_equations, read_warning_signs
from elbowroom.adapters.tables.rows import read_packaged_text, read_table_text
from elbowroom.core.measures.registry import MEASURES
from elbowroom.errors import IntakeError
from elbowroom.service import demo_plans
from elbowroom.service.plan_tables import PlanTables
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_values import Stamp

SCHEMAS = {
    "intake": "intake.schema.json",
    "exam": "exam.schema.json",
    "drills": "drills.schema.json",
    "standing": "standing.schema.json",
    "findings": "exam_findings.schema.json",
}
"""JSON Schemas of what goes in and comes out."""
LARGEST_BYTES = 1_000_000
"""An intake is a page of text; anything larger is another file."""


def build_plan_tables() -> PlanTables:
    """Return the tables of intake, exam and drills; raises `TableError`."""
    measures = frozenset(measure.key for measure in MEASURES)
    drills, poses = read_drills(measures), read_poses()
    return PlanTables(
        signs=read_warning_signs(),
        equations=read_growth_equations(),
        care=read_growth_care(),
        exam=read_exam_tables(),
        thresholds=read_thresholds(),
        links=read_links(measures),
        drills=drills,
        rules_text=read_rules_text(),
        read_rules=lambda text: read_drill_rules(drills, measures, text),
        draw_figure=lambda drill: render_drill_figure(drill, poses),
        draw_mirrored=lambda drill: render_drill_figure(drill, poses, is_mirrored=True),
        bands=read_exam_bands(),
    )


def add_demo_plans(record: RecordTools, athlete_ids: Sequence[str], stamp: Stamp) -> int:
    """Add intakes, exams and drills for the first athletes of the invented club; returns for how many."""
    return demo_plans.add_demo_plans(record, build_plan_tables(), athlete_ids, stamp)


def read_plain_file(path: Path) -> Mapping[str, Any]:
    """Return the values of a TOML or JSON file; raises `IntakeError` with what to do."""
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise IntakeError(f"{path.name} is far too large for this: name another file.")
        text = path.read_text(encoding="utf-8-sig")
    except OSError as e:
        raise IntakeError(f"{path} cannot be read ({e.strerror}): check its name.") from e
    except UnicodeDecodeError as e:
        raise IntakeError(f"{path.name} is no text: save it as UTF-8.") from e
    return _parse_plain(text, path.name)


def read_rules_file(path: Path) -> str:
    """Return the text of a file of drill rules; raises `TableError`."""
    return read_table_text(path, "")


def write_text_file(path: Path, text: str, *, may_replace: bool = False) -> None:
    """Write a text to a file, whole or not at all; raises `ResultError`."""
    write_whole_file(path, text.encode("utf-8"), may_replace)


def render_plan_schema(name: str) -> str:
    """Return the JSON Schema of intakes, exams or drills as text."""
    return read_packaged_text(SCHEMAS[name])


def _parse_plain(text: str, name: str) -> Mapping[str, Any]:
    try:
        values = json.loads(text) if text.lstrip().startswith("{") else tomllib.loads(text)
    except (ValueError, RecursionError) as e:
        raise IntakeError(f"{name} cannot be read as TOML or JSON ({e}): correct that place.") from e
    if not isinstance(values, Mapping):
        raise IntakeError(f"{name} holds no table: write it as the page on intakes shows.")
    return values
