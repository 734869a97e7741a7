"""The report as a JSON file for programs, after the published schema; strict: no NaN, no number without its unit."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from importlib.resources import files
from math import isfinite, isinf
from typing import Any

from elbowroom.adapters.report.loads_json import write_loads
from elbowroom.adapters.report.words import CAUTIONS, COMPARISON_CAUTION
from elbowroom.core.findings.phrases import name_verdict
from elbowroom.core.findings.report import (
    AthleteCard,
    ClipCard,
    Curve,
    KeyPicture,
    MotionTrack,
    ScreeningReport,
    ThrowCard,
)
from elbowroom.core.findings.types import Finding, NotMeasured, PublishedBand, Tolerance
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.quantities.types import Absent, Obtained
from elbowroom.errors import ScreeningError

FORMAT = "elbowroom screening report"
FORMAT_VERSION = "1"
SCHEMA_NAME = "report.schema.json"
MOTION_DIGITS = 4
"""Joint centres are written to a tenth of a millimetre, far below their uncertainty."""


def render_report_json(report: ScreeningReport) -> str:
    """Return the report as JSON text; lengths in metres, angles in degrees, times in seconds.

    Raises `ScreeningError` where a number is not finite, since such a file would not be readable everywhere.
    """
    try:
        return json.dumps(_write_report(report), ensure_ascii=False, allow_nan=False, indent=1)
    except ValueError as error:
        raise ScreeningError("A number of the report is not finite, so no file was written: report this.") from error


def read_report_schema() -> Mapping[str, Any]:
    """Return the JSON Schema that every written report keeps."""
    schema: Mapping[str, Any] = json.loads(files("elbowroom.tables").joinpath(SCHEMA_NAME).read_text(encoding="utf-8"))
    return schema


def _write_report(report: ScreeningReport) -> dict[str, Any]:
    set_up = report.set_up
    return {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "made_on": report.made_on.isoformat(),
        "athlete": {
            "name": report.athlete.name,
            "age_years": report.athlete.age_years,
            "height_m": report.athlete.height_m,
            "hand": str(report.athlete.hand),
            "kind": str(report.athlete.kind),
            **_write_size(report.athlete),
        },
        "set_up": {
            "how": set_up.how,
            "scale_error": _write_obtained(set_up.scale_share),
            "target_error": _write_obtained(set_up.target_error),
            "clock_error": _write_obtained(set_up.clock_error),
            "clips": [_write_clip(clip) for clip in set_up.clips],
        },
        "throws": [_write_throw(throw) for throw in report.throws],
        "rule": {"beyond_from": report.rule.beyond_from_probability, "within_to": report.rule.within_to_probability},
        "findings": [_write_finding(finding, report) for finding in report.findings],
        "priorities": [
            {"measure": item.finding.definition.key, "weight": item.weight, "reason": item.reason}
            for item in report.priorities
        ],
        "curves": [_write_curve(curve) for curve in report.curves],
        "loads": write_loads(report.loads, _write_obtained, _write_curve),
        "pictures": [_write_picture(picture) for picture in report.pictures],
        "motions": [_write_motion(motion) for motion in report.motions],
        "missing": [{"what": item.what, **_write_absent(item.absent)} for item in report.missing],
        "method": [{"title": part.title, "text": part.text} for part in report.method],
        "made_with": [{"name": item.name, "version": item.version} for item in report.made_with],
        "cautions": [*CAUTIONS, *report.cautions, COMPARISON_CAUTION],
    }


def _write_size(athlete: AthleteCard) -> dict[str, Any]:
    """Return sex, body mass and ball as far as the visit file says them."""
    said = {"sex": athlete.sex, "mass_kg": athlete.mass_kg, "ball": athlete.ball}
    return {name: value for name, value in said.items() if not isinstance(value, Absent)}


def _write_obtained(quantity: Obtained) -> dict[str, Any]:
    """Return a quantity with unit, interval and budget, or its absence with the reason."""
    if isinstance(quantity, Absent):
        return _write_absent(quantity)
    return {
        "value": quantity.value,
        "unit": quantity.unit,
        "standard_uncertainty": quantity.standard,
        "half_width_95": quantity.half_width,
        "degrees_of_freedom": None if isinf(quantity.degrees_of_freedom) else quantity.degrees_of_freedom,
        "budget": [{"source": str(part.source), "standard_uncertainty": part.standard} for part in quantity.parts],
    }


def _write_absent(absent: Absent) -> dict[str, Any]:
    return {"absent": absent.reason, "advice": absent.advice}


def _write_clip(clip: ClipCard) -> dict[str, Any]:
    return {
        "name": clip.name,
        "view": str(clip.view),
        "rate_hz": clip.rate_hz,
        "picture_count": clip.picture_count,
        "residual": _write_obtained(clip.residual_px),
        "sha256": clip.digest,
        "notes": list(clip.notes),
    }


def _write_throw(throw: ThrowCard) -> dict[str, Any]:
    return {
        "number": throw.number,
        "clips": list(throw.clips),
        "instants": {str(name): _write_obtained(time) for name, time in throw.instants.times.items()},
        "notes": list(throw.notes),
    }


def _write_finding(finding: Finding, report: ScreeningReport) -> dict[str, Any]:
    definition, verdict = finding.definition, finding.verdict
    judged = {} if isinstance(verdict, NotMeasured) else {"probability_beyond": verdict.probability_beyond}
    bands = [band for band in report.bands if band.measure == definition.key]
    return {
        "measure": definition.key,
        "words": definition.words,
        "definition": definition.definition,
        "sign": definition.sign,
        "definition_source": definition.source,
        "headline": definition.headline,
        "typical": _write_obtained(finding.typical),
        "throws": [_write_obtained(item) for item in finding.throws],
        "tolerance": write_tolerance(finding.tolerance),
        "verdict": {"word": str(name_verdict(verdict)), "reason": verdict.reason, **judged},
        "published": [_write_band(band) for band in bands],
    }


def write_tolerance(tolerance: Tolerance | Absent) -> dict[str, Any]:
    """Return the limits that judged a measure as plain values; an open side is None."""
    if isinstance(tolerance, Absent):
        return _write_absent(tolerance)
    return {
        "lower": None if isinf(tolerance.lower) else tolerance.lower,
        "upper": None if isinf(tolerance.upper) else tolerance.upper,
        "aim": tolerance.aim,
        "unit": tolerance.unit,
        "ages_years": list(tolerance.ages_years),
        "heights_m": list(tolerance.heights_m),
        "kinds": [str(kind) for kind in tolerance.kinds],
        "judged": tolerance.judged,
        "consequence": tolerance.consequence,
        "consequence_reason": tolerance.consequence_reason,
        "source": tolerance.source,
        "note": tolerance.note,
        "version": tolerance.version,
    }


def _write_band(band: PublishedBand) -> dict[str, Any]:
    return {
        "group": band.group,
        "mean": band.mean,
        "sd": band.sd,
        "unit": band.unit,
        "source": band.source,
        "is_seen": band.is_seen,
        "note": band.note,
    }


def _write_curve(curve: Curve) -> dict[str, Any]:
    return {
        "measure": curve.key,
        "words": curve.words,
        "unit": curve.unit,
        "sign": curve.sign,
        "lines": [
            {
                "throw": line.throw,
                "times_s": line.times_s.tolist(),
                "values": _write_numbers(line.values.tolist()),
                "half_widths_95": _write_numbers(line.half_widths.tolist()),
            }
            for line in curve.lines
        ],
    }


def _write_numbers(numbers: list[float]) -> list[float | None]:
    """Return numbers with null where the curve is not defined."""
    return [number if isfinite(number) else None for number in numbers]


def _write_picture(picture: KeyPicture) -> dict[str, Any]:
    return {
        "throw": picture.throw,
        "instant": str(picture.instant),
        "view": str(picture.view),
        "caption": picture.caption,
        "sha256": hashlib.sha256(picture.encoded).hexdigest(),
    }


def _write_motion(motion: MotionTrack) -> dict[str, Any]:
    """Return the joint centres of a throw, an object a joint, metres in the field frame."""
    return {
        "throw": motion.throw,
        "times_s": [round(time, 6) for time in motion.times_s.tolist()],
        "joints": {
            joint.name.lower(): {
                "places_m": motion.joints_m[:, joint].round(MOTION_DIGITS).tolist(),
                "standard_uncertainties_m": motion.standards_m[:, joint].round(MOTION_DIGITS).tolist(),
            }
            for joint in Joint
        },
    }
