"""Numbers that cannot be parted from their units at the end of a line."""

from __future__ import annotations

import re
from typing import Any

from markupsafe import Markup

NUMBER_AND_UNIT = re.compile(r"(\d) (%|°/s|cm|in|m|m/s|s|px|N m|N)(?![\w])")


def join_units(shown: Any) -> Any:
    """Return a text whose numbers cannot be parted from their units at the end of a line."""
    if not isinstance(shown, str) or isinstance(shown, Markup):
        return shown
    return NUMBER_AND_UNIT.sub("\\1\N{NO-BREAK SPACE}\\2", shown)
