"""The ground of a visit file: how far the target is and how large the marks are."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches

from elbowroom.adapters.visit_files.lengths import find_length_m
from elbowroom.adapters.visit_files.sections import Section, normalise_word, show_value
from elbowroom.core.cameras.types import FieldSize
from elbowroom.core.quantities.types import NORMAL_95
from elbowroom.service.visit_plan import MarkSizes

TARGET_LIMITS_M = (3.0, 120.0)
"""Distances to the target that are believed, metres."""
PLATE_LIMITS_M = (0.05, 1.0)
"""Sizes of a pitcher's plate that are believed, metres."""
ARM_LIMITS_M = (0.1, 10.0)
"""Arms of a tape cross that are believed, metres."""
TAPE_LIMITS_M = (0.5, 30.0)
"""Lengths of a tape towards the target that are believed, metres."""
USUAL_ARM_M = 0.5
"""Arm of a tape cross where the file states none, metres; chosen by this project."""
ARMS = ("front", "back", "left", "right")
"""Arms of the tape cross in the order of `MarkSizes.cross_m`."""
USUAL_TARGET_DEG = 2.0
"""Give or take (95 %) of the direction to the target where the file states none; chosen by this project."""
PLATE, DISTANCE, STANDARD = "pitcher's plate", "pitching distance", "standard"
"""Words of the table of field sizes."""
YOUTH_LEVEL = "9 to 12 years"
"""The level whose pitcher's plate is the youth one."""


def read_ground(section: Section, sizes: Sequence[FieldSize]) -> tuple[MarkSizes | None, float]:
    """Return the sizes of the marks, or None where something is missing, and the target's standard uncertainty, deg.

    `sizes` is the table of field sizes, from which `level` takes the usual distance and plate.
    """
    level = _find_level(section, sizes)
    distance = find_length_m(section, "target", TARGET_LIMITS_M)
    usual_m = _find_usual(sizes, DISTANCE, level, "plate front to home apex")
    if distance is None and not usual_m and not section.list_given(("target_m", "target_ft", "level")):
        section.add_problem(
            "has no distance to the target: add target_m = 14.0 (or target_ft = 46), or level = one of "
            + ", ".join(f'"{name}"' for name in _list_levels(sizes))
        )
    plate_level = "youth" if level == YOUTH_LEVEL else STANDARD
    plate = [
        find_length_m(section, f"plate_{side}", PLATE_LIMITS_M) or _find_usual(sizes, PLATE, plate_level, side)
        for side in ("width", "depth")
    ]
    cross = [find_length_m(section, f"cross_{arm}", ARM_LIMITS_M) or USUAL_ARM_M for arm in ARMS]
    within = section.find_number("target_give_or_take_deg", 0.05, 45.0) or USUAL_TARGET_DEG
    section.check_keys()
    if not (distance or usual_m):
        return None, within / NORMAL_95
    found = MarkSizes(
        plate_m=(plate[0], plate[1]),
        target_distance_m=distance or usual_m,
        cross_m=(cross[0], cross[1], cross[2], cross[3]),
    )
    return found, within / NORMAL_95


def _find_level(section: Section, sizes: Sequence[FieldSize]) -> str:
    text = section.find_text("level")
    levels = {normalise_word(name): name for name in _list_levels(sizes)}
    if text is None or normalise_word(text) in levels:
        return levels[normalise_word(text)] if text else ""
    close = get_close_matches(normalise_word(text), list(levels), n=1)
    hint = f" (did you mean {levels[close[0]]}?)" if close else ""
    section.add_problem(f"has level = {show_value(text)}{hint}: use one of {', '.join(levels.values())}")
    return ""


def _list_levels(sizes: Sequence[FieldSize]) -> list[str]:
    return [size.level for size in sizes if size.thing == DISTANCE]


def _find_usual(sizes: Sequence[FieldSize], thing: str, level: str, dimension: str) -> float:
    """Return a size of the table, or 0 where it has none."""
    wanted = (thing, level, dimension)
    return next((size.size_m for size in sizes if (size.thing, size.level, size.dimension) == wanted), 0.0)
