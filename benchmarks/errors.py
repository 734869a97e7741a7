"""What one measured visit got wrong: measures, instants, typical throws, verdicts, clocks, cameras."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from statistics import fmean

import numpy as np

from benchmarks.truth import build_true_curves, convert_from_world, convert_to_world, find_true_instants, list_throws
from benchmarks.visits import BenchVisit
from elbowroom.core.chain.measuring import build_setting
from elbowroom.core.chain.timing import combine_timing
from elbowroom.core.chain.types import MeasuredThrow
from elbowroom.core.clocks.types import CheckedOffset
from elbowroom.core.findings.types import Finding, NotMeasured, Tolerance
from elbowroom.core.instants.types import InstantName
from elbowroom.core.measures.measure import measure_curves, measure_deviation
from elbowroom.core.measures.types import MeasureSetting
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.core.reconstruction.types import Curves

NEAREST_S = 0.25
"""A measured throw belongs to the true throw whose release is nearest, not further than this."""


@dataclass(frozen=True, kw_only=True)
class ErrorRow:
    """One value against its truth."""

    throw: int
    """Number of the motion in the truth; -1 for the typical throw."""
    key: str
    """Measure or instant."""
    unit: str
    """Its unit."""
    value: float
    """What the product said."""
    standard: float
    """Its standard uncertainty."""
    half_width: float
    """Half of its 95 % interval."""
    truth: float
    """The truth: true curves at true instants."""
    held: float
    """The product's curves at the true instants: not a number where that does not exist."""
    source: str
    """Largest part of the budget."""

    @property
    def error(self) -> float:
        """Value less truth."""
        return float(measure_deviation(np.array(self.value), self.truth, self.unit))


@dataclass(frozen=True, kw_only=True)
class AbsentRow:
    """One value that the product did not give though the truth has one."""

    throw: int
    """Number of the motion in the truth."""
    key: str
    """Measure or instant."""
    reason: str
    """Why."""


@dataclass(frozen=True, kw_only=True)
class VerdictRow:
    """One verdict against the truth's own."""

    key: str
    """Measure."""
    verdict: str
    """within, beyond, too close to call or not measured."""
    probability: float
    """Probability of being outside as the product gave it; not a number where not measured."""
    is_beyond: bool
    """Whether the true mean of the throws is outside the limits."""


Rows = tuple[list[ErrorRow], list[AbsentRow]]


def pair_with_truth(bench: BenchVisit) -> dict[int, MeasuredThrow]:
    """Pair the measured throws with the true ones, by the release; true ones that were not found are left out."""
    pairs: dict[int, MeasuredThrow] = {}
    for number in list_throws(bench.truth):
        release = find_true_instants(bench.truth, number)[InstantName.RELEASE]
        for throw in bench.visit.throws:
            middle = np.array([member.seen.window.release_guess_s for member in throw.tracked[:1]])
            phone = bench.truth.phones[throw.tracked[0].clip]
            if abs(float(convert_to_world(phone, middle)[0]) - release) < NEAREST_S:
                pairs[number] = throw
    return pairs


def find_measure_setting(bench: BenchVisit) -> MeasureSetting:
    """Find what the measures of this visit were measured with."""
    return build_setting(bench.set_up, bench.setting, combine_timing(bench.clips))


def measure_truth(bench: BenchVisit, number: int) -> dict[str, float]:
    """Measure a true throw at its true instants; measures that it has not are left out."""
    curves = build_true_curves(bench.truth, number, bench.laid_deg)
    times = {name: np.array([at]) for name, at in find_true_instants(bench.truth, number).items()}
    return keep_finite(curves, times, find_measure_setting(bench))


def measure_held(bench: BenchVisit, number: int, throw: MeasuredThrow) -> dict[str, float]:
    """Measure the product's curves of a throw at the true instants."""
    phone = bench.truth.phones[0]
    instants = find_true_instants(bench.truth, number).items()
    times = {name: convert_from_world(phone, np.array([at])) for name, at in instants}
    best = Curves(knots_s=throw.spread.knots_s, coefficients_m=throw.spread.coefficients_m[:1])
    return keep_finite(best, times, find_measure_setting(bench))


def keep_finite(curves: Curves, times: Mapping[InstantName, np.ndarray], setting: MeasureSetting) -> dict[str, float]:
    """Measure the curves and keep what has a value."""
    measured = measure_curves(curves, times, setting)
    values = {key: float(value[0]) for key, value in measured.items() if not isinstance(value, Absent)}
    return {key: value for key, value in values.items() if isfinite(value)}


def compare_throw(bench: BenchVisit, number: int, throw: MeasuredThrow) -> Rows:
    """Compare all measures of one throw with the truth."""
    truth, held = measure_truth(bench, number), measure_held(bench, number, throw)
    rows: list[ErrorRow] = []
    absent: list[AbsentRow] = []
    for key, value in throw.measures.values.items():
        if key not in truth:
            continue
        if isinstance(value, Absent):
            absent.append(AbsentRow(throw=number, key=key, reason=value.reason))
        else:
            rows.append(build_row(number, key, value, truth[key], held.get(key, float("nan"))))
    return rows, absent


def compare_instants(bench: BenchVisit, number: int, throw: MeasuredThrow) -> Rows:
    """Compare the instants of one throw with the truth, on the world clock."""
    phone = bench.truth.phones[0]
    rows: list[ErrorRow] = []
    absent: list[AbsentRow] = []
    for name, at in find_true_instants(bench.truth, number).items():
        value = throw.instants.find(name)
        if isinstance(value, Absent):
            absent.append(AbsentRow(throw=number, key=name.value, reason=value.reason))
        else:
            true_s = float(convert_from_world(phone, np.array([at]))[0])
            rows.append(build_row(number, name.value, value, true_s, true_s))
    return rows, absent


def build_row(number: int, key: str, value: Uncertain, truth: float, held: float) -> ErrorRow:
    """Build a row."""
    largest = value.dominant
    return ErrorRow(
        throw=number,
        key=key,
        unit=value.unit,
        value=value.value,
        standard=value.standard,
        half_width=value.half_width,
        truth=truth,
        held=held,
        source="none" if isinstance(largest, Absent) else largest.source.value,
    )


def compare_typical(bench: BenchVisit, pairs: Mapping[int, MeasuredThrow]) -> tuple[list[ErrorRow], list[VerdictRow]]:
    """Compare typical throws and verdicts with the mean of the true throws that were measured."""
    truths = {number: measure_truth(bench, number) for number in pairs}
    rows, verdicts = [], []
    for finding in bench.findings:
        key = finding.definition.key
        values = [truth[key] for truth in truths.values() if key in truth]
        if len(values) < len(truths) or not values:
            continue
        mean = average(values, finding.definition.unit)
        if isinstance(finding.typical, Uncertain):
            rows.append(build_row(-1, key, finding.typical, mean, float("nan")))
        if isinstance(finding.tolerance, Tolerance) and finding.tolerance.judged:
            verdicts.append(build_verdict(finding, finding.tolerance, mean))
    return rows, verdicts


def average(values: list[float], unit: str) -> float:
    """Average values, angles by the shorter way around."""
    return values[0] + fmean(float(measure_deviation(np.array(value), values[0], unit)) for value in values)


def build_verdict(finding: Finding, tolerance: Tolerance, truth: float) -> VerdictRow:
    """Hold a verdict against the truth."""
    verdict = finding.verdict
    is_measured = not isinstance(verdict, NotMeasured)
    words = {
        "Within": "within",
        "Beyond": "beyond",
        "TooCloseToCall": "too close to call",
        "NotMeasured": "not measured",
    }
    return VerdictRow(
        key=finding.definition.key,
        verdict=words[type(verdict).__name__],
        probability=verdict.probability_beyond if is_measured else float("nan"),  # type: ignore[union-attr]
        is_beyond=not tolerance.lower <= truth <= tolerance.upper,
    )


def is_wrong(row: VerdictRow) -> bool:
    """Whether a confident verdict contradicts the truth."""
    return row.verdict == ("within" if row.is_beyond else "beyond")


def compare_clocks(bench: BenchVisit) -> list[ErrorRow]:
    """Compare the offsets of the clips against the first with the truth, at the middle of the first throw."""
    first = bench.truth.phones[0]
    rows = []
    for number, clock in enumerate(bench.visit.clocks, start=1):
        if not isinstance(clock, CheckedOffset):
            continue
        at = np.array([bench.opened[number].throws[0].window.release_guess_s])
        true_s = float(convert_from_world(first, convert_to_world(bench.truth.phones[number], at))[0] - at[0])
        value = float(clock.offset.convert_times(at)[0] - at[0])
        standard = clock.offset.find_standard_s(float(at[0]))
        rows.append(
            ErrorRow(
                throw=-1, key=f"clock {number + 1}", unit="s", value=value, standard=standard,
                half_width=1.96 * standard, truth=true_s, held=float("nan"), source=clock.offset.source.value,
            )
        )  # fmt: skip
    return rows
