"""Reads a kept report back, and writes one whose findings were judged anew."""

from __future__ import annotations

import hashlib
import json
import re
from base64 import b64decode
from collections.abc import Mapping, Sequence
from datetime import date
from math import inf
from typing import Any

from elbowroom.adapters.report.json_file import write_tolerance
from elbowroom.core.findings.phrases import name_verdict
from elbowroom.core.findings.report import AthleteCard, MadeWith, MethodPart, Missing, ThrowingHand
from elbowroom.core.findings.types import (
    Beyond,
    DecisionRule,
    Finding,
    NotMeasured,
    Priority,
    PublishedBand,
    Tolerance,
    TooCloseToCall,
    Verdict,
    VerdictWord,
    Within,
)
from elbowroom.core.loads.types import BallKind, Sex
from elbowroom.core.measures.registry import MEASURES
from elbowroom.core.measures.types import MeasureDefinition, ThrowKind
from elbowroom.core.quantities.types import Absent, BudgetPart, Obtained, Source, Uncertain
from elbowroom.errors import DamageError
from elbowroom.service.report_values import (
    StoredClip,
    StoredPicture,
    StoredPriority,
    StoredReport,
    StoredThrow,
)

Raw = Mapping[str, Any]
"""An object of the file."""
JUDGED: dict[VerdictWord, type[Within | Beyond | TooCloseToCall]] = {
    VerdictWord.WITHIN: Within,
    VerdictWord.BEYOND: Beyond,
    VerdictWord.TOO_CLOSE: TooCloseToCall,
}
PICTURE = re.compile(rb"data:image/(?:jpeg|png);base64,([A-Za-z0-9+/=]+)")
UNITS = {measure.key: measure.unit for measure in MEASURES}


def read_stored_report(content: bytes) -> StoredReport:
    """Read a kept report's bytes back; raises `DamageError` where they are no report of this version.

    The schema was checked when the report was kept and the seal has held since, so it is not checked again: with 20
    visits that would take seconds.
    """
    try:
        return _build_report(json.loads(content))
    except (ValueError, KeyError, TypeError, AttributeError) as e:
        raise DamageError("The kept report is none of this elbowroom: screen the visit again.") from e


def write_judged_report(
    stored: StoredReport,
    findings: Sequence[Finding],
    priorities: Sequence[Priority],
    rule: DecisionRule,
    table: MadeWith,
) -> bytes:
    """Return a report file in which limits, verdicts and the order of work are new and all else is as it was."""
    judged = {finding.definition.key: finding for finding in findings}
    raw = {
        **stored.content,
        "rule": {"beyond_from": rule.beyond_from_probability, "within_to": rule.within_to_probability},
        "findings": [_write_judged(item, judged[item["measure"]]) for item in stored.content["findings"]],
        "priorities": [
            {"measure": item.finding.definition.key, "weight": item.weight, "reason": item.reason}
            for item in priorities
        ],
        "made_with": [_write_table(item, table) for item in stored.content["made_with"]],
    }
    return json.dumps(raw, ensure_ascii=False, allow_nan=False, indent=1).encode()


def find_picture(page: bytes, digest: str) -> bytes:
    """Return the picture of that SHA-256 in a report's page; raises `DamageError` where it is not there."""
    for found in PICTURE.finditer(page):
        try:
            picture = b64decode(found[1], validate=True)
        except ValueError:
            continue
        if hashlib.sha256(picture).hexdigest() == digest:
            return picture
    raise DamageError("The picture is not in the kept page of the report: screen the visit again.")


def _write_judged(item: Raw, finding: Finding) -> dict[str, Any]:
    verdict = finding.verdict
    judged = {} if isinstance(verdict, NotMeasured) else {"probability_beyond": verdict.probability_beyond}
    return {
        **item,
        "tolerance": write_tolerance(finding.tolerance),
        "verdict": {"word": str(name_verdict(verdict)), "reason": verdict.reason, **judged},
    }


def _write_table(item: Raw, table: MadeWith) -> Raw:
    return {"name": table.name, "version": table.version} if item["name"].startswith("tolerances") else item


def _build_report(raw: Raw) -> StoredReport:
    return StoredReport(
        made_on=date.fromisoformat(raw["made_on"]),
        athlete=_read_athlete(raw["athlete"]),
        how=raw["set_up"]["how"],
        clips=tuple(_read_clip(item) for item in raw["set_up"]["clips"]),
        throws=tuple(_read_throw(item) for item in raw["throws"]),
        findings=tuple(_read_finding(item) for item in raw["findings"]),
        bands=tuple(_read_band(item["measure"], band) for item in raw["findings"] for band in item["published"]),
        rule=DecisionRule(
            beyond_from_probability=raw["rule"]["beyond_from"], within_to_probability=raw["rule"]["within_to"]
        ),
        priorities=tuple(StoredPriority(**item) for item in raw["priorities"]),
        pictures=tuple(_read_picture(item) for item in raw["pictures"]),
        missing=tuple(Missing(what=item["what"], absent=read_absent(item)) for item in raw["missing"]),
        method=tuple(MethodPart(**item) for item in raw["method"]),
        made_with=tuple(MadeWith(**item) for item in raw["made_with"]),
        cautions=tuple(raw["cautions"]),
        content=raw,
    )


def _read_athlete(raw: Raw) -> AthleteCard:
    absent = Absent(reason="The visit file does not say it.")
    return AthleteCard(
        name=raw["name"],
        age_years=raw["age_years"],
        height_m=raw["height_m"],
        hand=ThrowingHand(raw["hand"]),
        kind=ThrowKind(raw["kind"]),
        sex=Sex(raw["sex"]) if "sex" in raw else absent,
        mass_kg=raw.get("mass_kg", absent),
        ball=BallKind(raw["ball"]) if "ball" in raw else absent,
    )


def _read_clip(raw: Raw) -> StoredClip:
    return StoredClip(
        name=raw["name"],
        view=raw["view"],
        rate_hz=raw["rate_hz"],
        picture_count=raw["picture_count"],
        digest=raw["sha256"],
        notes=tuple(raw["notes"]),
    )


def _read_throw(raw: Raw) -> StoredThrow:
    return StoredThrow(
        number=raw["number"],
        clips=tuple(raw["clips"]),
        instants={name: read_obtained(item) for name, item in raw["instants"].items()},
        notes=tuple(raw["notes"]),
    )


def _read_picture(raw: Raw) -> StoredPicture:
    return StoredPicture(
        throw=raw["throw"], instant=raw["instant"], view=raw["view"], caption=raw["caption"], digest=raw["sha256"]
    )


def _read_finding(raw: Raw) -> Finding:
    return Finding(
        definition=MeasureDefinition(
            key=raw["measure"],
            words=raw["words"],
            unit=_find_unit(raw),
            definition=raw["definition"],
            sign=raw["sign"],
            source=raw["definition_source"],
            headline=raw["headline"],
        ),
        typical=read_obtained(raw["typical"]),
        throws=tuple(read_obtained(item) for item in raw["throws"]),
        tolerance=_read_tolerance(raw["measure"], raw["tolerance"]),
        verdict=_read_verdict(raw["verdict"]),
    )


def _find_unit(raw: Raw) -> str:
    """Return the unit of a measure: the report's own, or today's where nothing was measured or judged."""
    named = [item["unit"] for item in (raw["typical"], raw["tolerance"]) if "unit" in item]
    return str(named[0]) if named else UNITS.get(raw["measure"], "")


def read_obtained(raw: Raw) -> Obtained:
    """Return a quantity with its budget, or its absence."""
    if "absent" in raw:
        return read_absent(raw)
    freedom = raw["degrees_of_freedom"]
    return Uncertain(
        value=raw["value"],
        unit=raw["unit"],
        parts=tuple(
            BudgetPart(source=Source(part["source"]), standard=part["standard_uncertainty"]) for part in raw["budget"]
        ),
        degrees_of_freedom=inf if freedom is None else freedom,
    )


def read_absent(raw: Raw) -> Absent:
    """Return what is absent with its reason and advice."""
    return Absent(reason=raw["absent"], advice=raw["advice"])


def _read_tolerance(measure: str, raw: Raw) -> Tolerance | Absent:
    if "absent" in raw:
        return read_absent(raw)
    return Tolerance(
        measure=measure,
        lower=-inf if raw["lower"] is None else raw["lower"],
        upper=inf if raw["upper"] is None else raw["upper"],
        unit=raw["unit"],
        aim=raw["aim"],
        ages_years=(raw["ages_years"][0], raw["ages_years"][1]),
        heights_m=(raw["heights_m"][0], raw["heights_m"][1]),
        kinds=tuple(ThrowKind(kind) for kind in raw["kinds"]),
        source=raw["source"],
        judged=raw["judged"],
        version=raw["version"],
        consequence=raw["consequence"],
        consequence_reason=raw["consequence_reason"],
        note=raw["note"],
    )


def _read_verdict(raw: Raw) -> Verdict:
    word = VerdictWord(raw["word"])
    if word is VerdictWord.NOT_MEASURED:
        return NotMeasured(absent=Absent(reason=raw["reason"]))
    return JUDGED[word](probability_beyond=raw["probability_beyond"], reason=raw["reason"])


def _read_band(measure: str, raw: Raw) -> PublishedBand:
    """Read a published band; the file holds only those that are shown at the athlete's age."""
    return PublishedBand(measure=measure, ages_years=(0.0, inf), **raw)
