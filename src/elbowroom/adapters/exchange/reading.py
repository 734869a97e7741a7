"""A kept report as what is handed out: everything but the name, under a code."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from datetime import date
from importlib.resources import files
from math import inf
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np

from elbowroom.core.findings.report import MotionTrack
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.quantities.types import Absent, BudgetPart, Obtained, Source, Uncertain
from elbowroom.errors import ResultError
from elbowroom.service.exchange_types import HandedInstant, HandedMeasure, HandedVisit

NO_LIMIT = Absent(reason="No limit is stated on this side.")
NOT_JUDGED = Absent(reason="It was not judged.")


def read_handed_visit(path: Path, code: str) -> HandedVisit:
    """Read report.json; raises `ResultError` where it is none of this version."""
    try:
        content = path.read_bytes()
    except OSError as e:
        raise ResultError(f"{path} cannot be read ({e.strerror}): name the report.json of a screening.") from e
    return build_handed_visit(content, code)


def build_handed_visit(content: bytes, code: str) -> HandedVisit:
    """Return what a report of bytes hands out under a code; raises `ResultError` where it is none of this version."""
    schema = json.loads(files("elbowroom.tables").joinpath("report.schema.json").read_text(encoding="utf-8"))
    try:
        report = json.loads(content)
        jsonschema.validate(report, schema)
    except (ValueError, jsonschema.ValidationError) as e:
        raise ResultError("This is no report of this elbowroom: screen the visit again.") from e
    athlete, clips = report["athlete"], report["set_up"]["clips"]
    return HandedVisit(
        code=code,
        made_on=date.fromisoformat(report["made_on"]),
        age_years=athlete["age_years"],
        height_m=athlete["height_m"],
        hand=athlete["hand"],
        kind=athlete["kind"],
        rate_hz=max((clip["rate_hz"] for clip in clips), default=0.0),
        measures=tuple(_build_measures(report)),
        instants=tuple(_build_instants(report)),
        motions=tuple(_build_motion(motion) for motion in report.get("motions", [])),
        method=tuple(f"{part['title']}: {part['text']}" for part in report["method"]),
        made_with=tuple((item["name"], item["version"]) for item in report["made_with"]),
        cautions=tuple(report["cautions"]),
        digest=hashlib.sha256(content).hexdigest(),
    )


def _build_measures(report: Mapping[str, Any]) -> Iterator[HandedMeasure]:
    numbers = [throw["number"] for throw in report["throws"]]
    for finding in report["findings"]:
        yield _build_measure(finding, 0, finding["typical"])
        for number, value in zip(numbers, finding["throws"], strict=True):
            yield _build_measure(finding, number, value)
    loads = report["loads"]
    shown = [line["throw"] for line in loads["curves"][0]["lines"]] if loads.get("curves") else []
    for load in loads.get("findings", []):
        named = load | {"measure": load["load"], "definition_source": ""}
        yield _build_measure(named, 0, load["typical"])
        if len(load["throws"]) == len(shown):
            for number, value in zip(shown, load["throws"], strict=True):
                yield _build_measure(named, number, value)


def _build_measure(finding: Mapping[str, Any], throw: int, value: Mapping[str, Any]) -> HandedMeasure:
    verdict = finding.get("verdict", {}) if throw == 0 else {}
    tolerance = finding.get("tolerance", {})
    lower, upper = tolerance.get("lower"), tolerance.get("upper")
    return HandedMeasure(
        throw=throw,
        key=finding["measure"],
        words=finding["words"],
        definition=finding["definition"],
        sign=finding["sign"],
        source=finding["definition_source"],
        quantity=_build_quantity(value),
        verdict=verdict.get("word", ""),
        reason=verdict.get("reason", ""),
        probability_beyond=verdict.get("probability_beyond", NOT_JUDGED),
        lower=NO_LIMIT if lower is None else lower,
        upper=NO_LIMIT if upper is None else upper,
        limit_source=tolerance.get("source", ""),
    )


def _build_quantity(item: Mapping[str, Any]) -> Obtained:
    if "absent" in item:
        return Absent(reason=item["absent"], advice=item["advice"])
    freedom = item["degrees_of_freedom"]
    parts = [
        BudgetPart(source=Source(part["source"]), standard=part["standard_uncertainty"]) for part in item["budget"]
    ]
    return Uncertain(
        value=item["value"],
        unit=item["unit"],
        parts=tuple(parts),
        degrees_of_freedom=inf if freedom is None else freedom,
    )


def _build_instants(report: Mapping[str, Any]) -> Iterator[HandedInstant]:
    for throw in report["throws"]:
        for name, time in throw["instants"].items():
            yield HandedInstant(throw=throw["number"], name=name, time=_build_quantity(time))


def _build_motion(motion: Mapping[str, Any]) -> MotionTrack:
    joints = [motion["joints"][joint.name.lower()] for joint in Joint]
    return MotionTrack(
        throw=motion["throw"],
        times_s=np.array(motion["times_s"]),
        joints_m=np.stack([np.array(joint["places_m"]) for joint in joints], axis=1),
        standards_m=np.stack([np.array(joint["standard_uncertainties_m"]) for joint in joints], axis=1),
    )
