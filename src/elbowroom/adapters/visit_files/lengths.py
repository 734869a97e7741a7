"""Lengths in a visit file: the unit stands in the key, or behind the number in a text."""

from __future__ import annotations

import re

from elbowroom.adapters.visit_files.sections import Section, convert_number, show_value

METRES = {"m": 1.0, "cm": 0.01, "mm": 0.001, "ft": 0.3048, "in": 0.0254}
"""Metres in a unit (international foot and inch, exact)."""

WORDS = {"metres": "m", "meters": "m", "feet": "ft", "foot": "ft", "inches": "in", "inch": "in", "'": "ft", '"': "in"}
"""Other ways to write a unit."""

PART = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(metres|meters|feet|foot|inches|inch|mm|cm|ft|in|m|'|\")\.?\s*(?:and|,)?")


def convert_length_m(text: str) -> float | None:
    """Return metres for `5 ft 4 in`, `1.62 m` or `162 cm`, or None where the text is no such length."""
    total, start = 0.0, 0
    text = text.lower().strip().replace("’", "'").replace("”", '"')
    while start < len(text):
        part = PART.match(text, start)
        if part is None:
            return None
        total += float(part[1]) * METRES[WORDS.get(part[2], part[2])]
        start = part.end()
    return total if text else None


def find_length_m(section: Section, name: str, limits_m: tuple[float, float], example: str = "") -> float | None:
    """Return a length in metres from `name_m`, `name_cm`, `name_ft`, `name_in`, `name_ft_in` or `name` with a unit.

    None where it is not given or wrong, which is noted; with an `example` it has to be given.
    """
    keys = [name, *(f"{name}_{unit}" for unit in METRES), f"{name}_ft_in"]
    given = section.list_given(keys)
    if not given:
        if example:
            section.add_problem(f"has no {name.replace('_', ' ')}: add {example}")
        return None
    if len(given) > 1:
        section.add_problem(f"gives {name.replace('_', ' ')} more than once ({', '.join(given)}): keep one")
        return None
    return _convert_given(section, name, given[0], limits_m)


def _convert_given(section: Section, name: str, key: str, limits_m: tuple[float, float]) -> float | None:
    value, unit = section.find_value(key), key.removeprefix(name).strip("_")
    number = convert_number(value)
    if unit in METRES and number is not None:
        length = number * METRES[unit]
    else:
        parsed = convert_length_m(value) if isinstance(value, str) else None
        if parsed is None:
            section.add_problem(
                f"has {key} = {show_value(value)}: write it as {name}_cm = 162, {name}_m = 1.62 "
                f'or {name}_ft_in = "5 ft 4 in"'
            )
            return None
        length = parsed
    if not limits_m[0] <= length <= limits_m[1]:
        section.add_problem(
            f"has {key} = {show_value(value)}, which is {length:.4g} m: "
            f"it has to lie between {limits_m[0]:g} and {limits_m[1]:g} m, so check number and unit"
        )
        return None
    return length
