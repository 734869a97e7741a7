"""The loads in the JSON file."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from elbowroom.core.findings.report import Curve, LoadFinding, LoadsCard
from elbowroom.core.loads.types import LoadBand, LoadChange
from elbowroom.core.quantities.types import Absent, Obtained

WriteObtained = Callable[[Obtained], dict[str, Any]]
WriteCurve = Callable[[Curve], dict[str, Any]]


def write_loads(loads: LoadsCard | Absent, write_obtained: WriteObtained, write_curve: WriteCurve) -> dict[str, Any]:
    """Return the loads with their budgets, curves, changes and published bands, or their absence with the reason."""
    if isinstance(loads, Absent):
        return write_obtained(loads)
    return {
        "body": loads.body,
        "findings": [write_load(finding, write_obtained) for finding in loads.findings],
        "curves": [write_curve(curve) for curve in loads.curves],
        "changes": [write_load_change(change, write_obtained) for change in loads.changes],
    }


def write_load(finding: LoadFinding, write_obtained: WriteObtained) -> dict[str, Any]:
    """Return one load."""
    return {
        "load": finding.definition.key,
        "words": finding.definition.words,
        "definition": finding.definition.definition,
        "sign": finding.definition.sign,
        "typical": write_obtained(finding.typical),
        "typical_share": write_obtained(finding.typical_share),
        "throws": [write_obtained(value) for value in finding.throws],
        "published": [write_load_band(band) for band in finding.bands],
    }


def write_load_band(band: LoadBand) -> dict[str, Any]:
    """Return one published band; a spread that the source does not give is null."""
    return {
        "group": band.group,
        "mean": band.mean,
        "sd": None if isinstance(band.sd, Absent) else band.sd,
        "unit": band.unit,
        "method": band.method,
        "source": band.source,
        "is_seen": band.is_seen,
    }


def write_load_change(change: LoadChange, write_obtained: WriteObtained) -> dict[str, Any]:
    """Return what the model answers to one move."""
    return {
        "move": change.move.key,
        "words": change.move.words,
        "step_deg": change.move.step_deg,
        "held": change.move.held,
        "changes": {key: write_obtained(value) for key, value in change.changes.items()},
    }
