"""Uncertain values in words.

Sides: fixed sentences of the glossary, round trip (the number read back lies within half a last place).
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.phrases import (
    LengthUnit,
    phrase_number,
    phrase_share,
    phrase_uncertain,
)
from elbowroom.core.quantities.types import NORMAL_95, Source

CM, INCH = LengthUnit.CENTIMETRES, LengthUnit.INCHES


@pytest.mark.parametrize(
    ("value", "half", "unit", "lengths", "words"),
    [
        (0.12, 0.02, "m", CM, "12 cm, give or take 2 (95 %)"),
        (0.127, 0.0254, "m", INCH, "5.0 in, give or take 1.0 (95 %)"),
        (-9.6, 2.4, "deg", CM, "−10°, give or take 2 (95 %)"),
        (-0.2, 3.0, "deg", CM, "0°, give or take 3 (95 %)"),
        (0.1452, 0.0043, "s", CM, "0.145 s, give or take 0.004 (95 %)"),
        (84.6, 1.2, "%", CM, "84.6 %, give or take 1.2 (95 %)"),
        (1.041, 0.06, "1", CM, "1.04, give or take 0.06 (95 %)"),
    ],
)
def test_values_in_words(value: float, half: float, unit: str, lengths: LengthUnit, words: str) -> None:
    quantity = build_uncertain(value, unit, {Source.LANDMARKS: half / NORMAL_95})
    assert phrase_uncertain(quantity, lengths) == words


@pytest.mark.parametrize(
    ("number", "unit", "lengths", "words"),
    [(-10.0, "deg", CM, "−10°"), (0.051, "m", CM, "5.1 cm"), (0.0508, "m", INCH, "2 in"), (100.0, "%", CM, "100 %")],
)
def test_limits_in_words(number: float, unit: str, lengths: LengthUnit, words: str) -> None:
    assert phrase_number(number, unit, lengths) == words


def test_shares_never_claim_certainty() -> None:
    assert [phrase_share(p) for p in (0.0, 0.03, 0.5, 1.0)] == [
        "less than 1 %",
        "3 %",
        "50 %",
        "more than 99 %",
    ]


@given(st.floats(-500, 500), st.floats(0.001, 100))
def test_words_read_back_to_the_value(value: float, half: float) -> None:
    words = phrase_uncertain(build_uncertain(value, "deg", {Source.LANDMARKS: half / NORMAL_95}))
    found = re.fullmatch(r"(−?[\d.]+)°, give or take ([\d.]+) \(95 %\)", words)
    assert found
    decimals = len(found[2].partition(".")[2])
    assert abs(float(found[1].replace("−", "-")) - value) <= 0.5000001 * 10**-decimals
    assert float(found[2]) > 0 or half < 0.5
