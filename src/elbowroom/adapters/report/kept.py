"""Takes out of a report file what the record keeps beside it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
from jsonschema import Draft202012Validator
from jsonschema.exceptions import best_match

from elbowroom.adapters.report.json_file import read_report_schema
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import RecordError
from elbowroom.service.record_values import KeptFinding, KeptReport

ABSENT = Absent(reason="The record holds no value here.")
"""Stands for what an entry leaves out."""


def read_kept_report(path: Path) -> KeptReport:
    """Read a report file; raises `RecordError` where it is none of this version."""
    try:
        report = json.loads(path.read_text(encoding="utf-8"))
        check_report(report)
    except OSError as e:
        raise RecordError(f"{path} cannot be read ({e.strerror}): screen the visit first.") from e
    except (ValueError, jsonschema.ValidationError) as e:
        raise RecordError(f"{path.name} is no report of this elbowroom: screen the visit again.") from e
    return build_kept_report(report)


def check_report(report: Any) -> None:
    """Raise `jsonschema.ValidationError` where a report does not keep its schema."""
    error = best_match(find_validator().iter_errors(report))
    if error is not None:
        raise error


@cache
def find_validator() -> Draft202012Validator:
    """Return the checker of the report's schema, built once: building it takes as long as a check."""
    return Draft202012Validator(dict(read_report_schema()))


def build_kept_report(report: Mapping[str, Any]) -> KeptReport:
    """Return what the record takes out of a report that keeps its schema."""
    versions = {item["name"]: item["version"] for item in report["made_with"]}
    tables = [f"{name.split(', ')[1]} {version}" for name, version in versions.items() if name.startswith("tolerances")]
    return KeptReport(
        made_on=date.fromisoformat(report["made_on"]),
        tool_version=versions.get("elbowroom", ""),
        tolerances=", ".join(tables),
        clip_digests={clip["name"]: clip["sha256"] for clip in report["set_up"]["clips"]},
        throws={throw["number"]: tuple(throw["clips"]) for throw in report["throws"]},
        findings=tuple(_build_finding(item) for item in report["findings"]),
    )


def _build_finding(finding: Mapping[str, Any]) -> KeptFinding:
    typical, verdict, tolerance = finding["typical"], finding["verdict"], finding["tolerance"]
    return KeptFinding(
        measure=finding["measure"],
        value=typical.get("value", ABSENT),
        standard=typical.get("standard_uncertainty", ABSENT),
        unit=typical.get("unit", ""),
        verdict=verdict["word"],
        reason=verdict["reason"],
        probability_beyond=verdict.get("probability_beyond", ABSENT),
        tolerance_version=str(tolerance.get("version", "")),
    )
