"""The JSON report.

Sides: the published schema under an independent validator, round trip of the numbers, a table of broken documents
that the schema must refuse, strictness (no NaN).
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from math import isinf, nan
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from elbowroom.adapters.report.json_file import read_report_schema, render_report_json
from elbowroom.core.findings.types import Tolerance
from elbowroom.core.quantities.types import Uncertain
from elbowroom.errors import ScreeningError
from tests.makers.reports import make_report


@cache
def _make_text() -> str:
    return render_report_json(make_report())


def _load() -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(_make_text(), parse_constant=lambda name: pytest.fail(name))
    return loaded


def _find_errors(document: Any) -> list[Any]:
    return list(Draft202012Validator(read_report_schema()).iter_errors(document))


def test_the_schema_is_a_schema_and_the_report_keeps_it() -> None:
    Draft202012Validator.check_schema(dict(read_report_schema()))
    assert _find_errors(_load()) == []


def test_numbers_come_back() -> None:
    report, document = make_report(), _load()
    assert [item["measure"] for item in document["findings"]] == [item.definition.key for item in report.findings]
    for finding, item in zip(report.findings, document["findings"], strict=True):
        if isinstance(finding.typical, Uncertain):
            assert item["typical"]["value"] == finding.typical.value
            assert item["typical"]["half_width_95"] == pytest.approx(finding.typical.half_width)
            budget = sum(part["standard_uncertainty"] ** 2 for part in item["typical"]["budget"])
            assert budget == pytest.approx(item["typical"]["standard_uncertainty"] ** 2)
        else:
            assert item["typical"]["absent"] == finding.typical.reason
        if isinstance(finding.tolerance, Tolerance):
            lower = None if isinf(finding.tolerance.lower) else finding.tolerance.lower
            assert item["tolerance"]["lower"] == lower
            assert item["tolerance"]["source"]


def test_undefined_stretches_of_curves_are_null() -> None:
    line = _load()["curves"][0]["lines"][1]
    assert None in line["values"]
    assert [value is None for value in line["values"]] == [value is None for value in line["half_widths_95"]]
    assert None not in line["times_s"]


def _walk(node: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    yield path, node
    children = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for name, child in children:
        yield from _walk(child, f"{path}/{name}")


def test_every_value_has_unit_and_uncertainty() -> None:
    for path, node in _walk(_load()):
        if isinstance(node, dict) and "value" in node:
            assert {"unit", "standard_uncertainty", "half_width_95"} <= set(node), path


def _drop(*keys: str) -> Callable[[dict[str, Any]], None]:
    def change(document: dict[str, Any]) -> None:
        node: Any = document
        for key in keys[:-1]:
            node = node[int(key)] if key.isdigit() else node[key]
        del node[keys[-1]]

    return change


def _set(value: Any, *keys: str) -> Callable[[dict[str, Any]], None]:
    def change(document: dict[str, Any]) -> None:
        node: Any = document
        for key in keys[:-1]:
            node = node[int(key)] if key.isdigit() else node[key]
        node[keys[-1]] = value

    return change


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(_drop("findings", "0", "typical", "unit"), id="value without unit"),
        pytest.param(_drop("findings", "0", "typical", "half_width_95"), id="value without interval"),
        pytest.param(_drop("findings", "0", "tolerance", "source"), id="limits without source"),
        pytest.param(_set("fine", "findings", "0", "verdict", "word"), id="verdict outside the glossary"),
        pytest.param(_drop("findings", "0", "verdict", "probability_beyond"), id="verdict without probability"),
        pytest.param(_set(7, "findings", "0", "typical"), id="bare number"),
        pytest.param(_set(1.5, "findings", "0", "verdict", "probability_beyond"), id="probability above one"),
        pytest.param(_set({"absent": "", "advice": ""}, "findings", "0", "typical"), id="absence without reason"),
        pytest.param(_set([], "cautions"), id="no cautions"),
        pytest.param(_set("16 May", "made_on"), id="date in words"),
        pytest.param(_set(1, "more"), id="unknown key"),
    ],
)
def test_the_schema_refuses(change: Callable[[dict[str, Any]], None]) -> None:
    document = copy.deepcopy(_load())
    change(document)
    assert _find_errors(document)


def test_a_number_that_is_not_finite_is_refused() -> None:
    report = make_report()
    typical = replace(report.findings[0].typical, value=nan)
    findings = (replace(report.findings[0], typical=typical), *report.findings[1:])
    with pytest.raises(ScreeningError, match="not finite"):
        render_report_json(replace(report, findings=findings))
