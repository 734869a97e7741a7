"""Invented definitions, tolerances and values for tests of findings."""

from __future__ import annotations

from math import inf
from typing import Any

from elbowroom.core.findings.types import Tolerance
from elbowroom.core.measures.types import MeasureDefinition, ThrowKind
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Source, Uncertain


def make_definition(key: str = "trunk_opening_at_foot_contact", unit: str = "deg", **changes: Any) -> MeasureDefinition:
    """Return a definition whose words are its key with spaces."""
    fields = {
        "key": key,
        "words": key.replace("_", " "),
        "unit": unit,
        "definition": f"Invented definition of {key.replace('_', ' ')}.",
        "sign": "plus is more",
        "source": "invented",
    }
    return MeasureDefinition(**{**fields, **changes})


def make_tolerance(lower: float = -inf, upper: float = 45.0, **changes: Any) -> Tolerance:
    """Return a judged row that holds for every athlete."""
    fields: dict[str, Any] = {
        "measure": "trunk_opening_at_foot_contact",
        "lower": lower,
        "upper": upper,
        "unit": "deg",
        "aim": 30.0,
        "ages_years": (0.0, 120.0),
        "heights_m": (0.0, 3.0),
        "kinds": tuple(ThrowKind),
        "source": "invented",
        "judged": True,
        "version": "1",
        "consequence": 0.5,
        "consequence_reason": "it is invented",
    }
    return Tolerance(**{**fields, **changes})


def make_value(value: float, standard: float = 2.0, unit: str = "deg", shared: float = 0.0) -> Uncertain:
    """Return a value with landmark noise and, where wanted, a part shared by all throws."""
    return build_uncertain(value, unit, {Source.LANDMARKS: standard, Source.CAMERAS: shared})
