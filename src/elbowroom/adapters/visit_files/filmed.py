"""The visit file of a visit that was filmed here, from what the record holds of it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date

from elbowroom.service.filming_values import VisitText


def render_visit_file(visit: VisitText) -> str:
    """Return the text of a visit file (TOML)."""
    lines = [f"made_on = {visit.made_on.isoformat()}", "", "[athlete]", *_list_pairs(visit.athlete)]
    lines += ["", "[ground]", *_list_pairs(visit.ground)]
    for clip, marks in visit.clips:
        lines += ["", "[[clip]]", *_list_pairs(clip)]
        if marks:
            lines += ["", "[clip.marks]", *_list_pairs(marks)]
    return "\n".join(lines) + "\n"


def _list_pairs(values: Mapping[str, object]) -> list[str]:
    return [f"{_write(name)} = {_write(value)}" for name, value in values.items()]


def _write(value: object) -> str:
    if isinstance(value, date):
        return value.isoformat()
    # A JSON text is a TOML text too, but for one letter that TOML wants escaped.
    return json.dumps(value if isinstance(value, int | float | list) else str(value), ensure_ascii=False).replace(
        "\x7f", "\\u007f"
    )
