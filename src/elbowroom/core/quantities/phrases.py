"""Uncertain values in words: "12 cm, give or take 2 (95 %)"."""

from __future__ import annotations

from enum import StrEnum
from math import floor, isfinite, log10

from elbowroom.core.quantities.types import Uncertain

METRES_A_CENTIMETRE = 0.01
METRES_AN_INCH = 0.0254


class LengthUnit(StrEnum):
    """How the clinic reads lengths."""

    CENTIMETRES = "cm"
    INCHES = "in"


UNIT_WORDS = {"deg": "°", "m": "m", "s": "s", "deg/s": "°/s", "m/s": "m/s", "%": "%", "1": "", "px": "px"}
"""How units are written; lengths are turned into the clinic's unit first."""

PLAIN_DECIMALS = {"1": 2, "s": 3}
"""Decimals of plain numbers by unit, 1 for all others."""


def convert_shown_value(value: float, unit: str, lengths: LengthUnit) -> float:
    """Return a number in the unit in which it is shown."""
    if unit != "m":
        return value
    return value / (METRES_AN_INCH if lengths is LengthUnit.INCHES else METRES_A_CENTIMETRE)


def phrase_unit(unit: str, lengths: LengthUnit) -> str:
    """Return a unit as it is written after a number."""
    return str(lengths) if unit == "m" else UNIT_WORDS.get(unit, unit)


def choose_decimals(half_width: float) -> int:
    """Return the decimals that give the half width one or two figures (from 2 up to 19 in its last place)."""
    if not isfinite(half_width) or half_width <= 0:
        return 0
    return max(0, -floor(log10(half_width / 2)))


def phrase_number(number: float, unit: str, lengths: LengthUnit, decimals: int | None = None) -> str:
    """Return a plain number with its unit, such as a limit: `-10°`, `5.1 cm`; trailing zeros left out by
    default."""
    shown = convert_shown_value(number, unit, lengths)
    text = _format(shown, PLAIN_DECIMALS.get(unit, 1) if decimals is None else decimals)
    if decimals is None and "." in text:
        text = text.rstrip("0").rstrip(".")
    return _join(text, phrase_unit(unit, lengths))


def phrase_uncertain(quantity: Uncertain, lengths: LengthUnit = LengthUnit.CENTIMETRES) -> str:
    """Return a value with its 95 % half width in words; both are rounded to the same place."""
    half_width = convert_shown_value(quantity.half_width, quantity.unit, lengths)
    decimals = choose_decimals(half_width)
    value = phrase_number(quantity.value, quantity.unit, lengths, decimals)
    return f"{value}, give or take {_format(half_width, decimals)} (95 %)"


def phrase_share(probability: float) -> str:
    """Return a probability in whole per cent, never rounded to certainty: `3 %`, `less than 1 %`, `more
    than 99 %`."""
    percent = 100 * probability
    if percent < 1:
        return "less than 1 %"
    if percent > 99:
        return "more than 99 %"
    return f"{percent:.0f} %"


def _format(number: float, decimals: int) -> str:
    """Format with a true minus sign and without a negative zero."""
    text = f"{number:.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "\N{MINUS SIGN}")


def _join(text: str, unit: str) -> str:
    return text + unit if unit in ("°", "") else f"{text} {unit}"
