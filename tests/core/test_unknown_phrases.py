"""The sentence on what the set-up left unknown.

Sides: the share computed by hand; silence where no such source dominates; every source has its remedy.
"""

from __future__ import annotations

from elbowroom.core.findings.phrases import SETTLED_BY, phrase_unknown
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Source


def test_dominating_direction_is_named() -> None:
    # 4 of 5 in all: without it 3 would be left, so 40 % of the width goes.
    value = build_uncertain(10.0, "deg", {Source.TARGET: 4.0, Source.LANDMARKS: 3.0})
    said = phrase_unknown(value)
    assert "40 % of this interval comes from not knowing the direction to the target" in said
    assert "mark the direction to the target" in said


def test_small_or_other_sources_are_not() -> None:
    assert phrase_unknown(build_uncertain(1.0, "deg", {Source.TARGET: 3.0, Source.LANDMARKS: 2.9})) == ""
    assert phrase_unknown(build_uncertain(1.0, "deg", {Source.LANDMARKS: 3.0, Source.TARGET: 0.1})) == ""
    assert phrase_unknown(build_uncertain(1.0, "deg", {})) == ""


def test_every_source_has_a_remedy() -> None:
    assert set(SETTLED_BY) == set(Source)
