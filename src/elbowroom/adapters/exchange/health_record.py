"""A screening as an HL7 FHIR bundle (R4, the resources that R4B shares with it)."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from elbowroom.adapters.exchange.health_codes import (
    INTERPRETATIONS,
    OWN_CODES,
    OWN_MEASURES,
    TERMS,
    UCUM_SYSTEM,
    check_codes,
    make_concept,
)
from elbowroom.adapters.exchange.motion_file import open_library
from elbowroom.adapters.exchange.units import UCUM
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.errors import ResultError
from elbowroom.service.exchange_types import HandedMeasure, HandedVisit

NO_NUMBER = "unknown"


@dataclass(frozen=True, kw_only=True)
class HealthLink:
    """Whom the bundle is about, and when it is made."""

    patient: str
    """Reference such as `Patient/123` in the receiving system; empty for a bundle without one."""
    made_at: datetime
    """When the bundle is made, with its time zone."""


def render_health_record(visit: HandedVisit, link: HealthLink) -> bytes:
    """Return the bundle as JSON: an Observation a measure, a DiagnosticReport, the Device and the Provenance.

    Raises `ResultError` where the optional part is not installed or a code is outside its value set.
    """
    observations = [_build_observation(item, visit, link) for item in _group_measures(visit)]
    device = _build_device(visit)
    report = _build_report(visit, link, [item["id"] for item in observations])
    provenance = _build_provenance(visit, link, [report["id"], *(item["id"] for item in observations)])
    bundle = {
        "resourceType": "Bundle",
        "type": "collection",
        "timestamp": link.made_at.isoformat(timespec="seconds"),
        "entry": [
            {"fullUrl": f"urn:uuid:{resource['id']}", "resource": resource}
            for resource in (report, *observations, device, provenance)
        ],
    }
    check_codes(bundle)
    check_shapes(bundle)
    return json.dumps(bundle, ensure_ascii=False, allow_nan=False, indent=1).encode("utf-8")


def check_shapes(bundle: dict[str, Any]) -> None:
    """Raise `ResultError` where the bundle does not keep the shapes of the standard, as the library knows them."""
    library = open_library("fhir.resources.R4B.bundle")
    try:
        library.Bundle.model_validate(bundle)
    except ValueError as e:
        raise ResultError(f"The health record would not keep the standard ({e}): report this.") from e


def _make_id(visit: HandedVisit, what: str) -> str:
    """Return an id that is the same whenever the same report is handed out."""
    return str(uuid5(NAMESPACE_URL, f"urn:elbowroom:{visit.digest}:{what}"))


def _group_measures(visit: HandedVisit) -> list[tuple[HandedMeasure, list[HandedMeasure]]]:
    typical = [item for item in visit.measures if item.throw == 0]
    return [(first, [item for item in visit.measures if item.key == first.key and item.throw > 0]) for first in typical]


def _build_observation(
    group: tuple[HandedMeasure, list[HandedMeasure]], visit: HandedVisit, link: HealthLink
) -> dict[str, Any]:
    typical, throws = group
    observation: dict[str, Any] = {
        "resourceType": "Observation",
        "id": _make_id(visit, typical.key),
        "status": "final",
        "category": [make_concept(f"{TERMS}observation-category", "exam", "Exam")],
        "code": make_concept(OWN_MEASURES, typical.key, typical.words),
        "effectiveDateTime": visit.made_on.isoformat(),
        "device": {"reference": f"urn:uuid:{_make_id(visit, 'device')}"},
        "method": {"text": typical.definition},
        **_build_subject(visit, link),
        **_build_value(typical.quantity),
        **_build_judgement(typical),
    }
    components = [*_build_spread(typical.quantity), *(_build_throw(item) for item in throws)]
    return observation | ({"component": components} if components else {})


def _build_subject(visit: HandedVisit, link: HealthLink) -> dict[str, Any]:
    code = {"system": OWN_CODES, "value": visit.code}
    return {"subject": {"type": "Patient", "identifier": code, **_build_reference(link)}}


def _build_reference(link: HealthLink) -> dict[str, str]:
    return {"reference": link.patient} if link.patient else {}


def _build_value(quantity: Uncertain | Absent) -> dict[str, Any]:
    if isinstance(quantity, Absent):
        return {"dataAbsentReason": make_concept(f"{TERMS}data-absent-reason", NO_NUMBER, "Unknown", quantity.reason)}
    return {"valueQuantity": _build_amount(quantity.value, quantity.unit)}


def _build_amount(number: float, unit: str) -> dict[str, Any]:
    return {"value": number, "unit": unit, "system": UCUM_SYSTEM, "code": UCUM[unit]}


def _build_spread(quantity: Uncertain | Absent) -> list[dict[str, Any]]:
    if isinstance(quantity, Absent):
        return []
    named = {"standard uncertainty": quantity.standard, "half of the 95 % interval": quantity.half_width}
    return [
        {"code": {"text": words}, "valueQuantity": _build_amount(number, quantity.unit)}
        for words, number in named.items()
    ]


def _build_throw(item: HandedMeasure) -> dict[str, Any]:
    return {"code": {"text": f"throw {item.throw}"}, **_build_value(item.quantity)}


def _build_judgement(typical: HandedMeasure) -> dict[str, Any]:
    """Return interpretation, limits and reason; nothing where no limit judged the measure."""
    if typical.verdict not in INTERPRETATIONS or isinstance(typical.quantity, Absent):
        return {"note": [{"text": typical.reason}]} if typical.reason else {}
    code, words = INTERPRETATIONS[typical.verdict]
    concept = make_concept(f"{TERMS}v3-ObservationInterpretation", code, words, typical.verdict)
    sides = {"low": typical.lower, "high": typical.upper}
    limits = {
        side: _build_amount(number, typical.quantity.unit)
        for side, number in sides.items()
        if not isinstance(number, Absent)
    }
    return {
        "interpretation": [concept],
        "referenceRange": [{**limits, "text": f"Limits: {typical.limit_source}"}],
        "note": [{"text": f"{typical.reason} {typical.sign}".strip()}],
    }


def _build_device(visit: HandedVisit) -> dict[str, Any]:
    return {
        "resourceType": "Device",
        "id": _make_id(visit, "device"),
        "deviceName": [{"name": "elbowroom", "type": "manufacturer-name"}],
        "version": [{"type": {"text": name}, "value": version} for name, version in visit.made_with],
    }


def _build_report(visit: HandedVisit, link: HealthLink, results: Sequence[str]) -> dict[str, Any]:
    return {
        "resourceType": "DiagnosticReport",
        "id": _make_id(visit, "report"),
        "status": "final",
        "code": {"text": f"Screening of overhead throws ({visit.kind})"},
        "effectiveDateTime": visit.made_on.isoformat(),
        "issued": link.made_at.isoformat(timespec="seconds"),
        "result": [{"reference": f"urn:uuid:{name}"} for name in results],
        "conclusion": " ".join(visit.cautions),
        **_build_subject(visit, link),
    }


def _build_provenance(visit: HandedVisit, link: HealthLink, targets: Sequence[str]) -> dict[str, Any]:
    agent = make_concept(f"{TERMS}provenance-participant-type", "assembler", "Assembler")
    source = {"system": "urn:ietf:rfc:3986", "value": f"urn:elbowroom:sha256:{visit.digest}"}
    return {
        "resourceType": "Provenance",
        "id": _make_id(visit, "provenance"),
        "target": [{"reference": f"urn:uuid:{name}"} for name in targets],
        "recorded": link.made_at.isoformat(timespec="seconds"),
        "agent": [{"type": agent, "who": {"reference": f"urn:uuid:{_make_id(visit, 'device')}"}}],
        "entity": [{"role": "source", "what": {"identifier": source, "display": "report of the screening"}}],
    }
