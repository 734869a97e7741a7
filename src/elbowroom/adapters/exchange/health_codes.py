"""Codes of the HL7 FHIR value sets that are used, and the check that nothing else is (the library checks shapes only).

Source: HL7 FHIR R4, value sets observation-status, observation-category, diagnostic-report-status,
data-absent-reason, provenance-agent-type, provenance-entity-role; HL7 v3 ObservationInterpretation.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from elbowroom.core.findings.types import VerdictWord
from elbowroom.errors import ResultError

TERMS = "http://terminology.hl7.org/CodeSystem/"
OWN_MEASURES = "urn:elbowroom:measures"
OWN_CODES = "urn:elbowroom:athlete-code"
UCUM_SYSTEM = "http://unitsofmeasure.org"
INTERPRETATIONS = {
    str(VerdictWord.WITHIN): ("N", "Normal"),
    str(VerdictWord.BEYOND): ("A", "Abnormal"),
    str(VerdictWord.TOO_CLOSE): ("IND", "Indeterminate"),
}
"""Verdict word -> code and display of v3 ObservationInterpretation; the verdict's own word stands as text."""
STATUSES = {
    "Observation": {"registered", "preliminary", "final", "amended", "corrected", "cancelled", "entered-in-error"}
    | {"unknown"},
    "DiagnosticReport": {"registered", "partial", "preliminary", "final", "amended", "corrected", "appended"}
    | {"cancelled", "entered-in-error", "unknown"},
}
"""Resource -> the codes that its status may have."""
BOUND = {
    f"{TERMS}observation-category": {"social-history", "vital-signs", "imaging", "laboratory", "procedure", "survey"}
    | {"exam", "therapy", "activity"},
    f"{TERMS}v3-ObservationInterpretation": {"N", "A", "IND", "H", "L"},
    f"{TERMS}data-absent-reason": {"unknown", "not-performed", "not-applicable", "error", "unsupported"},
    f"{TERMS}provenance-participant-type": {"enterer", "performer", "author", "assembler", "verifier"},
}
"""Code system -> codes that may be used from it."""
ENTITY_ROLES = {"derivation", "revision", "quotation", "source", "removal"}


def make_concept(system: str, code: str, words: str, text: str = "") -> dict[str, Any]:
    """Return a CodeableConcept."""
    return {"coding": [{"system": system, "code": code, "display": words}], "text": text or words}


def check_codes(bundle: Mapping[str, Any]) -> None:
    """Raise `ResultError`, naming every code that its value set does not hold."""
    strange = sorted({*_list_strange_statuses(bundle), *_list_strange_codings(bundle)})
    if strange:
        raise ResultError(f"The health record would hold unknown codes ({', '.join(strange)}): report this.")


def _list_strange_statuses(bundle: Mapping[str, Any]) -> Iterator[str]:
    for entry in bundle["entry"]:
        resource = entry["resource"]
        allowed = STATUSES.get(resource["resourceType"])
        if allowed is not None and resource["status"] not in allowed:
            yield f"status {resource['status']}"
        for entity in resource.get("entity", []):
            if entity["role"] not in ENTITY_ROLES:
                yield f"role {entity['role']}"


def _list_strange_codings(item: Any) -> Iterator[str]:
    if isinstance(item, Mapping):
        system = item.get("system")
        if system in BOUND and item.get("code") not in BOUND[system]:
            yield f"{item.get('code')} of {str(system).rsplit('/', 1)[-1]}"
        for part in item.values():
            yield from _list_strange_codings(part)
    elif isinstance(item, list):
        for part in item:
            yield from _list_strange_codings(part)
