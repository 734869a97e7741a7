"""All measures, in the order in which tables show them."""

from __future__ import annotations

from elbowroom.core.measures.arm import ARM_MEASURES
from elbowroom.core.measures.rates import RATE_MEASURES
from elbowroom.core.measures.rules import MeasureRule
from elbowroom.core.measures.stride import STRIDE_MEASURES
from elbowroom.core.measures.timing import TIMING_MEASURES
from elbowroom.core.measures.trunk import TRUNK_MEASURES
from elbowroom.core.measures.types import MeasureDefinition

RULES: tuple[MeasureRule, ...] = (
    *ARM_MEASURES,
    *STRIDE_MEASURES,
    *TRUNK_MEASURES,
    *RATE_MEASURES,
    *TIMING_MEASURES,
)
"""The rules of all measures."""

MEASURES: tuple[MeasureDefinition, ...] = tuple(rule.definition for rule in RULES)
"""The definitions of all measures."""

HEADLINES: tuple[str, ...] = (
    "elbow_to_shoulder_line_at_foot_contact",
    "ball_distance_share_at_layback",
    "stride_offset",
    "trunk_opening_at_foot_contact",
)
"""Keys of the four headline measures, in the order in which a report shows them."""


def get_rule(key: str) -> MeasureRule:
    """Return the rule of a measure; raises `KeyError` with the key where there is none."""
    return {rule.definition.key: rule for rule in RULES}[key]


def get_definition(key: str) -> MeasureDefinition:
    """Return the definition of a measure; raises `KeyError` with the key where there is none."""
    return get_rule(key).definition
