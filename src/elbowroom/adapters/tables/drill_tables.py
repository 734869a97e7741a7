"""Reading the library of drills, the poses of its figures, and the rules that choose from it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from enum import StrEnum
from pathlib import Path
from typing import Any, TypeVar

from elbowroom.adapters.tables.rows import TableRow, raise_problems, read_packaged_text, read_rows, read_table_text
from elbowroom.core.plan.choose_drills import DrillRule, RuleTopic
from elbowroom.core.plan.drills import (
    Caution,
    Dose,
    Drill,
    DrillLoad,
    FigureStep,
    Pose,
    Segment,
    TrainingStage,
    list_library_problems,
)
from elbowroom.core.plan.exam import QUANTITIES
from elbowroom.core.plan.links import FaultSide
from elbowroom.errors import TableError

DRILLS, POSES, RULES = "drills.toml", "poses.toml", "drill_rules.csv"
RULE_COLUMNS = ("topic", "keys", "side", "too_close_is_enough", "drill", "rank", "why", "source", "version")
LENGTHS = {"trunk": 0.29, "head": 0.10, "arm": (0.17, 0.17), "leg": (0.245, 0.246, 0.07)}
"""Lengths of the segments of a figure as shares of its height; a figure, not a body table."""
FOOT_DEG = 90.0
Word = TypeVar("Word", bound=StrEnum)


def read_drills(measures: frozenset[str]) -> tuple[Drill, ...]:
    """Return the library; `measures` are the keys of measures of the throw. Raises `TableError` with all problems."""
    text = read_packaged_text(DRILLS)
    try:
        drills = tuple(_read_drill(item) for item in tomllib.loads(text)["drill"])
    except (ValueError, KeyError, TypeError, tomllib.TOMLDecodeError) as e:
        raise TableError(f"The table {DRILLS} cannot be used: {e}.") from e
    known = set(measures) | {quantity.key for quantity in QUANTITIES}
    problems = list(list_library_problems(drills, read_poses(), known))
    if problems:
        raise TableError(f"The table {DRILLS} cannot be used: {'; '.join(problems)}.")
    return drills


def read_poses() -> tuple[Pose, ...]:
    """Return the poses of the figures; raises `TableError`."""
    try:
        return tuple(_read_pose(key, item) for key, item in tomllib.loads(read_packaged_text(POSES)).items())
    except (ValueError, KeyError, TypeError, tomllib.TOMLDecodeError) as e:
        raise TableError(f"The table {POSES} cannot be used: {e}.") from e


def read_drill_rules(
    drills: Sequence[Drill], measures: frozenset[str], text: str = "", path: Path | None = None
) -> tuple[DrillRule, ...]:
    """Return the rules: those of a text, of a file, or the packaged ones; raises `TableError` with all problems."""
    name = path.name if path else RULES
    rows = read_rows(text or read_table_text(path, RULES), name, RULE_COLUMNS)
    keys = {RuleTopic.THROW: set(measures), RuleTopic.EXAM: {quantity.key for quantity in QUANTITIES}}
    known = {drill.key for drill in drills}
    rules = tuple(rule for row in rows for rule in _read_rules(row, keys, known))
    raise_problems(rows, name)
    return rules


def read_rules_text(path: Path | None = None) -> str:
    """Return the text of a rules file, or of the packaged rules."""
    return read_table_text(path, RULES)


def _read_rules(row: TableRow, keys: Mapping[RuleTopic, set[str]], drills: set[str]) -> list[DrillRule]:
    topic, drill = row.read_word("topic", RuleTopic), row.read_text("drill", "name a drill")
    found = row.read_parts("keys", "name measures or quantities, with | between them")
    strange = [key for key in found if key not in keys[topic]]
    if strange:
        row.refuse("keys", f"holds {', '.join(strange)}, which the {topic} does not have: correct the name")
    if drill and drill not in drills:
        row.refuse("drill", f"holds {drill!r}, which is not in the library: correct the name")
    row.read_text("version", "give the version of the rules")
    side, rank = row.read_word("side", FaultSide), int(row.read_number("rank"))
    is_enough = row.read_flag("too_close_is_enough")
    why, source = row.read_text("why", "say why it answers that"), row.read_text("source", "say where it comes from")
    return [
        DrillRule(
            topic=topic, key=key, side=side, also_too_close=is_enough, drill=drill, rank=rank, why=why, source=source
        )
        for key in found
    ]


def _read_drill(item: Mapping[str, Any]) -> Drill:
    key = item["key"]
    return Drill(
        key=key,
        name=item["name"],
        purpose=item["purpose"],
        measures=tuple(item["measures"]),
        set_up=item["set_up"],
        cues=tuple(item["cues"]),
        doses=tuple(_read_dose(dose) for dose in item["doses"]),
        progress=item["progress"],
        stop=item["stop"],
        not_with=tuple(_find_word(Caution, word, key) for word in item["not_with"]),
        load=_find_word(DrillLoad, item["load"], key),
        equipment=tuple(item["equipment"]),
        evidence=item["evidence"],
        mark=item["mark"],
        figure=tuple(FigureStep(pose=pose, caption=caption) for pose, caption in item["figure"]),
    )


def _read_dose(item: Sequence[Any]) -> Dose:
    youngest, oldest, stages, sets, repeats, days, note = item
    return Dose(
        ages_years=(youngest, oldest),
        stages=tuple(TrainingStage(word) for word in stages.split("|")),
        sets=sets,
        repeats=repeats,
        days_a_week=days,
        note=note,
    )


def _find_word(words: type[Word], text: str, key: str) -> Word:
    if text not in set(words):
        raise ValueError(f"{key} holds {text!r}: write one of {', '.join(words)}")
    return words(text)


def _read_pose(key: str, item: Mapping[str, Any]) -> Pose:
    trunk = _read_segment(item["trunk"], LENGTHS["trunk"])
    return Pose(
        key=key,
        view=item["view"],
        trunk=trunk,
        head=_read_segment(item.get("head", trunk.angle_deg), LENGTHS["head"]),
        throwing_arm=_read_limb(item["throwing"], LENGTHS["arm"]),
        glove_arm=_read_limb(item["glove"], LENGTHS["arm"]),
        lead_leg=_read_limb([*item["lead"], FOOT_DEG][:3], LENGTHS["leg"]),
        pivot_leg=_read_limb([*item["pivot"], FOOT_DEG][:3], LENGTHS["leg"]),
        shoulder_share=item["shoulders"],
        hip_share=item["hips"],
        raised_share=float(item.get("raised", 0.0)),
        things=tuple(item["things"]),
    )


def _read_limb(items: Sequence[Any], lengths: Any) -> Any:
    return tuple(_read_segment(item, length) for item, length in zip(items, lengths, strict=True))


def _read_segment(item: Any, length: Any) -> Segment:
    angle, factor = item if isinstance(item, list) else (item, 1.0)
    return Segment(angle_deg=float(angle), length_share=float(length) * float(factor))
