"""A kept report as the whole tree that papers are made of; only the pictures stay in its page."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from elbowroom.adapters.report.stored import read_absent, read_obtained, read_stored_report
from elbowroom.adapters.report.words import CAUTIONS, COMPARISON_CAUTION
from elbowroom.core.cameras.types import View
from elbowroom.core.findings.report import (
    ClipCard,
    Curve,
    CurveLine,
    LoadFinding,
    LoadsCard,
    MotionTrack,
    ScreeningReport,
    SetUpCard,
    ThrowCard,
)
from elbowroom.core.findings.types import Finding, Priority
from elbowroom.core.instants.types import InstantName, Instants
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.loads.types import LoadBand, LoadChange, LoadDefinition, MoveDefinition
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.errors import DamageError
from elbowroom.service.report_values import StoredReport

Raw = Mapping[str, Any]
Array = NDArray[np.float64]
NO_SPREAD = Absent(reason="The source gives a mean alone.")


def read_whole_report(content: bytes) -> ScreeningReport:
    """Return a kept report's bytes as the report that was written, without its pictures.

    Raises `DamageError` where they are no report of this version.
    """
    stored = read_stored_report(content)
    try:
        return _build_report(stored, json.loads(content))
    except (ValueError, KeyError, TypeError, AttributeError) as e:
        raise DamageError("The kept report is none of this elbowroom: screen the visit again.") from e


def _build_report(stored: StoredReport, raw: Raw) -> ScreeningReport:
    findings = {finding.definition.key: finding for finding in stored.findings}
    return ScreeningReport(
        athlete=stored.athlete,
        made_on=stored.made_on,
        set_up=_read_set_up(raw["set_up"]),
        throws=tuple(_read_throw(item) for item in raw["throws"]),
        findings=stored.findings,
        priorities=tuple(_read_priority(item, findings) for item in raw["priorities"]),
        curves=tuple(_read_curve(item) for item in raw["curves"]),
        pictures=(),
        missing=stored.missing,
        bands=stored.bands,
        rule=stored.rule,
        method=stored.method,
        made_with=stored.made_with,
        loads=_read_loads(raw["loads"]),
        motions=tuple(_read_motion(item) for item in raw.get("motions", ())),
        cautions=tuple(text for text in stored.cautions if text not in (*CAUTIONS, COMPARISON_CAUTION)),
    )


def _read_set_up(raw: Raw) -> SetUpCard:
    return SetUpCard(
        how=raw["how"],
        clips=tuple(_read_clip(item) for item in raw["clips"]),
        scale_share=read_obtained(raw["scale_error"]),
        target_error=read_obtained(raw["target_error"]),
        clock_error=read_obtained(raw["clock_error"]),
    )


def _read_clip(raw: Raw) -> ClipCard:
    return ClipCard(
        name=raw["name"],
        view=View(raw["view"]),
        rate_hz=raw["rate_hz"],
        picture_count=raw["picture_count"],
        residual_px=read_obtained(raw["residual"]),
        digest=raw["sha256"],
        notes=tuple(raw["notes"]),
    )


def _read_throw(raw: Raw) -> ThrowCard:
    times = {InstantName(name): read_obtained(item) for name, item in raw["instants"].items()}
    return ThrowCard(
        number=raw["number"], clips=tuple(raw["clips"]), instants=Instants(times=times), notes=tuple(raw["notes"])
    )


def _read_priority(raw: Raw, findings: Mapping[str, Finding]) -> Priority:
    return Priority(finding=findings[raw["measure"]], weight=raw["weight"], reason=raw["reason"])


def _read_curve(raw: Raw) -> Curve:
    return Curve(
        key=raw["measure"],
        words=raw["words"],
        unit=raw["unit"],
        sign=raw["sign"],
        lines=tuple(
            CurveLine(
                throw=line["throw"],
                times_s=_read_numbers(line["times_s"]),
                values=_read_numbers(line["values"]),
                half_widths=_read_numbers(line["half_widths_95"]),
            )
            for line in raw["lines"]
        ),
    )


def _read_numbers(numbers: list[float | None]) -> Array:
    """Return numbers with not-a-number where the file holds null."""
    return np.array([np.nan if number is None else number for number in numbers], dtype=float)


def _read_loads(raw: Raw) -> LoadsCard | Absent:
    if "absent" in raw:
        return read_absent(raw)
    return LoadsCard(
        body=raw["body"],
        findings=tuple(_read_load(item) for item in raw["findings"]),
        curves=tuple(_read_curve(item) for item in raw["curves"]),
        changes=tuple(_read_change(item) for item in raw["changes"]),
    )


def _read_load(raw: Raw) -> LoadFinding:
    values = [read_obtained(item) for item in (raw["typical"], *raw["throws"])]
    units = [value.unit for value in values if isinstance(value, Uncertain)]
    return LoadFinding(
        definition=LoadDefinition(
            key=raw["load"],
            words=raw["words"],
            unit=units[0] if units else "",
            definition=raw["definition"],
            sign=raw["sign"],
        ),
        typical=values[0],
        typical_share=read_obtained(raw["typical_share"]),
        throws=tuple(values[1:]),
        bands=tuple(_read_load_band(raw["load"], item) for item in raw["published"]),
    )


def _read_load_band(load: str, raw: Raw) -> LoadBand:
    return LoadBand(**{**raw, "sd": NO_SPREAD if raw["sd"] is None else raw["sd"]}, load=load, ages_years=(0.0, 200.0))


def _read_change(raw: Raw) -> LoadChange:
    move = MoveDefinition(key=raw["move"], words=raw["words"], step_deg=raw["step_deg"], held=raw["held"])
    return LoadChange(move=move, changes={key: read_obtained(item) for key, item in raw["changes"].items()})


def _read_motion(raw: Raw) -> MotionTrack:
    joints = [raw["joints"][joint.name.lower()] for joint in Joint]
    return MotionTrack(
        throw=raw["throw"],
        times_s=np.array(raw["times_s"]),
        joints_m=np.stack([np.array(item["places_m"]) for item in joints], axis=1),
        standards_m=np.stack([np.array(item["standard_uncertainties_m"]) for item in joints], axis=1),
    )
