"""Taking every text of a paper through the reader's language, in one place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from elbowroom.adapters.report.spacing import join_units
from elbowroom.service.wording_ports import Wording
from elbowroom.service.wording_types import Verbatim


def say_all(data: Mapping[str, Any], wording: Wording) -> dict[str, Any]:
    """Return a tree of texts and numbers with every text said in the reader's language, but for `Verbatim` ones."""
    return {key: _say(value, wording) for key, value in data.items()}


def _say(value: Any, wording: Wording) -> Any:
    if isinstance(value, Verbatim):
        return str(value)
    if isinstance(value, str):
        return join_units(wording.translate_text(value))
    if isinstance(value, Mapping):
        return say_all(value, wording)
    if isinstance(value, Sequence):
        return [_say(item, wording) for item in value]
    return value
