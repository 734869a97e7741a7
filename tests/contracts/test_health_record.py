"""The health record (HL7 FHIR R4).

Sides: the JSON Schema that HL7 publishes with R4, as a package carries it, resource by resource; the models of
fhir.resources (R4B); numbers against the report; codes outside their value set are refused by our own check.
"""

from __future__ import annotations

import copy
import json
from functools import cache
from typing import Any

import jsonschema
import pytest
from fhir.resources.R4B.bundle import Bundle

from elbowroom.adapters.exchange.health_codes import check_codes
from elbowroom.adapters.exchange.health_record import HealthLink, check_shapes, render_health_record
from elbowroom.adapters.exchange.units import UCUM
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.errors import ResultError
from tests.makers.handed import LINK, make_handed_visit
from tests.makers.npm_files import HEALTH_SCHEMA, provide_file
from tests.makers.reports import ATHLETE, make_report


@cache
def make_bundle(patient: str = "") -> dict[str, Any]:
    link = HealthLink(patient=patient, made_at=LINK.made_at)
    bundle: dict[str, Any] = json.loads(render_health_record(make_handed_visit(), link))
    return bundle


def list_resources(kind: str) -> list[dict[str, Any]]:
    resources = [entry["resource"] for entry in make_bundle()["entry"]]
    return [resource for resource in resources if resource["resourceType"] == kind]


@pytest.fixture(name="schema", scope="module")
def read_schema() -> dict[str, Any]:
    schema: dict[str, Any] = json.loads(provide_file(HEALTH_SCHEMA))
    return schema


def find_faults(resource: dict[str, Any], schema: dict[str, Any]) -> list[str]:
    part = {"$ref": f"#/definitions/{resource['resourceType']}", "definitions": schema["definitions"]}
    return [error.message for error in jsonschema.Draft6Validator(part).iter_errors(resource)]


@pytest.mark.parametrize("kind", ["Observation", "DiagnosticReport", "Device", "Provenance"])
def test_resources_keep_the_schema_of_the_standard(kind: str, schema: dict[str, Any]) -> None:
    resources = list_resources(kind)
    assert resources
    assert [fault for resource in resources[:25] for fault in find_faults(resource, schema)] == []


def test_the_schema_refuses_what_is_wrong(schema: dict[str, Any]) -> None:
    resource = copy.deepcopy(list_resources("Observation")[0])
    del resource["code"]
    resource["valueQuantity"] = {"value": "12 cm"}
    assert len(find_faults(resource, schema)) >= 2


@pytest.mark.parametrize("patient", ["", "Patient/123"])
def test_the_library_takes_the_bundle(patient: str) -> None:
    bundle = Bundle.model_validate(make_bundle(patient))
    subjects = {entry.resource.subject.reference for entry in bundle.entry if hasattr(entry.resource, "subject")}
    assert subjects == {patient or None}


def test_numbers_are_those_of_the_report() -> None:
    observations = {item["code"]["coding"][0]["code"]: item for item in list_resources("Observation")}
    for finding in make_report().findings:
        item = observations[finding.definition.key]
        if isinstance(finding.typical, Uncertain):
            assert item["valueQuantity"]["value"] == finding.typical.value
            assert item["valueQuantity"]["code"] == UCUM[finding.typical.unit]
            spread = {part["code"]["text"]: part.get("valueQuantity", {}).get("value") for part in item["component"]}
            assert spread["half of the 95 % interval"] == pytest.approx(finding.typical.half_width)
            assert len(item["component"]) == 2 + len(finding.throws)
        else:
            assert "valueQuantity" not in item
            assert item["dataAbsentReason"]["text"] == finding.typical.reason


def test_verdicts_are_told_in_our_words_and_theirs() -> None:
    observations = list_resources("Observation")
    told = {
        (item["interpretation"][0]["text"], item["interpretation"][0]["coding"][0]["code"])
        for item in observations
        if "interpretation" in item
    }
    assert told <= {("within", "N"), ("beyond", "A"), ("too close to call", "IND")}
    assert len(told) >= 2


def test_references_lead_to_entries_and_ids_stay() -> None:
    bundle = make_bundle()
    addresses = [entry["fullUrl"] for entry in bundle["entry"]]
    assert len(set(addresses)) == len(addresses)
    (report,) = list_resources("DiagnosticReport")
    (provenance,) = list_resources("Provenance")
    named = [*report["result"], *provenance["target"], *(agent["who"] for agent in provenance["agent"])]
    assert {item["reference"] for item in named} <= set(addresses)
    assert json.loads(render_health_record(make_handed_visit(), LINK)) == bundle


def test_nobody_is_named() -> None:
    assert ATHLETE.name not in json.dumps(make_bundle())


@pytest.mark.parametrize("place", ["status", "category", "interpretation", "role"])
def test_a_code_outside_its_value_set_is_refused(place: str) -> None:
    bundle = copy.deepcopy(make_bundle())
    resources = [entry["resource"] for entry in bundle["entry"]]
    judged = next(item for item in resources if "interpretation" in item)
    match place:
        case "status":
            judged["status"] = "nope"
        case "role":
            next(item for item in resources if "entity" in item)["entity"][0]["role"] = "nope"
        case "category":
            judged["category"][0]["coding"][0]["code"] = "nope"
        case _:
            judged["interpretation"][0]["coding"][0]["code"] = "nope"
    # The library lets a wrong code pass in all of these, which is why there is a check of our own.
    check_shapes(bundle)
    with pytest.raises(ResultError, match="nope"):
        check_codes(bundle)


def test_a_wrong_shape_is_refused() -> None:
    bundle = copy.deepcopy(make_bundle())
    bundle["entry"][0]["resource"]["issued"] = "yesterday"
    with pytest.raises(ResultError, match="standard"):
        check_shapes(bundle)


def test_a_measure_without_a_value_says_why() -> None:
    absent = [item for item in make_report().findings if isinstance(item.typical, Absent)]
    assert absent
