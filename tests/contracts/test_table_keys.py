"""Every measure that a table names is one that the registry defines, in the same unit.

Sides: the tables against the registry of measures.
"""

from __future__ import annotations

from importlib import import_module

import pytest

from elbowroom.adapters.tables.bands import read_published_bands
from elbowroom.adapters.tables.tolerances import read_tolerances


def _find_units() -> dict[str, str]:
    registry = import_module("elbowroom.core.measures.registry").MEASURES
    definitions = registry.values() if hasattr(registry, "values") else registry
    return {definition.key: definition.unit for definition in definitions}


@pytest.mark.parametrize("read", [read_tolerances, read_published_bands], ids=["tolerances", "bands"])
def test_table_keys_are_measures(read) -> None:  # type: ignore[no-untyped-def]
    units = _find_units()
    wrong = {row.measure: row.unit for row in read() if units.get(row.measure) != row.unit}
    assert not wrong
