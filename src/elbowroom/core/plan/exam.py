"""The exam of the body that makes the throw: what was read, and by whom, with what, how often."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from math import sqrt
from statistics import fmean, stdev

from elbowroom.core.plan.intake import BodySide, Problem
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Source, Uncertain

MOST_REPEATS = 10
"""Most repeats of one reading."""


class ReadingGroup(StrEnum):
    """Which instruments an item is read with."""

    MOTION = "motion"
    STRENGTH = "strength"


class TermKind(StrEnum):
    """How a quantity is made of readings."""

    SUM = "sum"
    RATIO = "ratio"


@dataclass(frozen=True, kw_only=True)
class ExamItem:
    """One thing that is read on each side."""

    key: str
    """Key of the item."""
    words: str
    """Name on forms."""
    unit: str
    """deg or N."""
    group: ReadingGroup
    """Which instruments it is read with."""
    how: str
    """Position and procedure, in a sentence."""
    limits: tuple[float, float]
    """Readings that are believed, in `unit`."""
    same_rater_standard: float
    """Standard uncertainty of a reading where both sides are read by one rater, in `unit`; in % where N."""
    other_rater_standard: float
    """The same where different raters read them."""
    source: str
    """Where both come from."""
    mark: str
    """How they are known."""


@dataclass(frozen=True, kw_only=True)
class Instrument:
    """What readings are taken with."""

    key: str
    """Key of the instrument."""
    words: str
    """Name on forms."""
    group: ReadingGroup
    """What it reads."""
    standard: float
    """Its own standard uncertainty; deg for motion, % of the reading for strength."""
    source: str
    """Where that comes from."""
    mark: str
    """How it is known."""


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One item on one side."""

    item: str
    """Key of the item."""
    side: BodySide
    """The side."""
    values: tuple[float, ...]
    """The repeats, in the unit of the item."""
    instrument: str
    """Key of the instrument."""
    rater: str
    """Who read it."""


@dataclass(frozen=True, kw_only=True)
class Exam:
    """Everything that was read at one exam."""

    examined_on: date
    """Day of the exam."""
    readings: tuple[Reading, ...]
    """The readings; an item that was not read is left out."""


@dataclass(frozen=True, kw_only=True)
class ExamQuantity:
    """A quantity that is held against thresholds, made of readings."""

    key: str
    """Key of the quantity."""
    words: str
    """Name on screens and paper."""
    unit: str
    """deg, N, % or 1."""
    kind: TermKind
    """Sum, or first over second in %."""
    terms: tuple[tuple[str, BodySide, float], ...]
    """Item, side and factor of each part."""
    sign: str
    """What plus and minus mean."""


@dataclass(frozen=True, kw_only=True)
class ExamTables:
    """What readings are understood with."""

    items: tuple[ExamItem, ...]
    """The items."""
    instruments: tuple[Instrument, ...]
    """The instruments."""


@dataclass(frozen=True, kw_only=True)
class MeasuredQuantity:
    """A quantity of one exam."""

    quantity: ExamQuantity
    """What it is."""
    value: Obtained
    """Its value, or why there is none."""
    rater: str
    """Who read its parts; several names joined by commas."""
    instrument: str
    """With what; several joined by commas."""


T, G = BodySide.THROWING, BodySide.GLOVE


def _side(key: str, words: str, item: str, sign: str, unit: str = "deg") -> tuple[ExamQuantity, ExamQuantity]:
    """Return a reading of each side as a quantity."""
    return (
        ExamQuantity(
            key=f"{key}_throwing", words=f"{words}, throwing side", unit=unit, kind=TermKind.SUM,
            terms=((item, T, 1.0),), sign=sign,
        ),
        ExamQuantity(
            key=f"{key}_glove", words=f"{words}, glove side", unit=unit, kind=TermKind.SUM,
            terms=((item, G, 1.0),), sign=sign,
        ),
    )  # fmt: skip


def _deficit(key: str, words: str, items: Sequence[str], factor: float = 1.0) -> ExamQuantity:
    """Return what the throwing side lacks against the glove side, summed over items."""
    terms = tuple(term for item in items for term in ((item, G, factor), (item, T, -factor)))
    more = "the throwing side has less" if factor > 0 else "the throwing side has more"
    return ExamQuantity(key=key, words=words, unit="deg", kind=TermKind.SUM, terms=terms, sign=f"+ {more}")


def _ratio(key: str, words: str, first: tuple[str, BodySide], second: tuple[str, BodySide]) -> ExamQuantity:
    return ExamQuantity(
        key=key, words=words, unit="%", kind=TermKind.RATIO, terms=((*first, 1.0), (*second, 1.0)), sign="100 = equal"
    )


ER, IR = "shoulder_external_rotation", "shoulder_internal_rotation"
QUANTITIES: tuple[ExamQuantity, ...] = (
    *_side("external_rotation", "shoulder external rotation at 90 degrees", ER, "larger = more motion"),
    *_side("internal_rotation", "shoulder internal rotation at 90 degrees", IR, "larger = more motion"),
    _deficit("internal_rotation_deficit", "internal rotation that the throwing shoulder lacks", [IR]),
    _deficit("external_rotation_gain", "external rotation that the throwing shoulder has more", [ER], -1.0),
    _deficit("total_arc_deficit", "total arc that the throwing shoulder lacks", [ER, IR]),
    _deficit("shoulder_flexion_deficit", "flexion that the throwing shoulder lacks", ["shoulder_flexion"]),
    _deficit(
        "horizontal_adduction_deficit", "horizontal adduction that the throwing shoulder lacks",
        ["shoulder_horizontal_adduction"],
    ),
    _deficit("elbow_flexion_deficit", "flexion that the throwing elbow lacks", ["elbow_flexion"]),
    _deficit("elbow_extension_deficit", "extension that the throwing elbow lacks", ["elbow_extension"]),
    _deficit("elbow_arc_deficit", "arc that the throwing elbow lacks", ["elbow_flexion", "elbow_extension"]),
    *_side("hip_internal_rotation", "hip internal rotation at 90 degrees", "hip_internal_rotation", "larger = more"),
    *_side("hip_external_rotation", "hip external rotation", "hip_external_rotation", "larger = more"),
    *_side("trunk_rotation", "trunk rotation seated", "trunk_rotation", "larger = turns further to that side"),
    _ratio(
        "rotation_strength_ratio", "external over internal rotation strength, throwing side",
        ("external_rotation_strength", T), ("internal_rotation_strength", T),
    ),
    _ratio(
        "external_rotation_strength_sides", "external rotation strength, throwing over glove side",
        ("external_rotation_strength", T), ("external_rotation_strength", G),
    ),
    _ratio(
        "scaption_strength_sides", "strength of raising the arm, throwing over glove side",
        ("scaption_strength", T), ("scaption_strength", G),
    ),
    _ratio("grip_sides", "grip, throwing over glove side", ("grip_strength", T), ("grip_strength", G)),
)  # fmt: skip
"""Every quantity, in the order in which tables show them."""


def measure_exam(exam: Exam, tables: ExamTables) -> tuple[MeasuredQuantity, ...]:
    """Return every quantity of an exam; one whose readings are missing is absent with its reason."""
    return tuple(measure_quantity(quantity, exam, tables) for quantity in QUANTITIES)


def measure_quantity(quantity: ExamQuantity, exam: Exam, tables: ExamTables) -> MeasuredQuantity:
    """Return one quantity with the parts of its uncertainty: rater, instrument, repeats."""
    found = [_find_reading(exam, item, side) for item, side, _ in quantity.terms]
    readings = [reading for reading in found if reading is not None]
    missing = [term for term, reading in zip(quantity.terms, found, strict=True) if reading is None]
    value = _refuse_missing(missing, tables) if missing else _combine(quantity, readings, tables)
    return MeasuredQuantity(
        quantity=quantity,
        value=value,
        rater=", ".join(dict.fromkeys(reading.rater for reading in readings)),
        instrument=", ".join(dict.fromkeys(_name_instrument(reading, tables) for reading in readings)),
    )


def list_exam_problems(exam: Exam, tables: ExamTables, today: date) -> Iterator[Problem]:
    """Yield everything in an exam that cannot be used."""
    if exam.examined_on > today:
        yield Problem(where="examined_on", words=f"{exam.examined_on} is yet to come, so give the day of the exam")
    if not exam.readings:
        yield Problem(where="readings", words="nothing was read, so give at least one reading")
    known = {item.key: item for item in tables.items}
    for reading in exam.readings:
        yield from _list_reading_problems(reading, known.get(reading.item), tables)
    seen = [(reading.item, reading.side) for reading in exam.readings]
    for item, side in sorted({pair for pair in seen if seen.count(pair) > 1}):
        yield Problem(where=item, words=f"is given twice for the {side}, so put the repeats together")


def _list_reading_problems(reading: Reading, item: ExamItem | None, tables: ExamTables) -> Iterator[Problem]:
    where = f"{reading.item}, {reading.side}"
    if item is None:
        allowed = ", ".join(known.key for known in tables.items)
        yield Problem(where=where, words=f"is no item of the exam; known are {allowed}")
        return
    groups = {known.key: known.group for known in tables.instruments}
    if groups.get(reading.instrument) is not item.group:
        allowed = ", ".join(key for key, group in groups.items() if group is item.group)
        yield Problem(where=where, words=f"was read with {reading.instrument or 'nothing named'}; name {allowed}")
    if not reading.rater.strip():
        yield Problem(where=where, words="has no rater, so say who read it")
    if not 1 <= len(reading.values) <= MOST_REPEATS:
        yield Problem(where=where, words=f"has {len(reading.values)} repeats; give 1 to {MOST_REPEATS}")
    low, high = item.limits
    strange = [value for value in reading.values if not low <= value <= high]
    if strange:
        yield Problem(where=where, words=f"holds {strange[0]:g} {item.unit}, outside of {low:g} to {high:g}: check it")


def _find_reading(exam: Exam, item: str, side: BodySide) -> Reading | None:
    return next((reading for reading in exam.readings if (reading.item, reading.side) == (item, side)), None)


def _refuse_missing(missing: Sequence[tuple[str, BodySide, float]], tables: ExamTables) -> Absent:
    words = {item.key: item.words for item in tables.items}
    names = ", ".join(f"{words.get(item, item)} of the {side}" for item, side, _ in missing)
    return Absent(reason=f"Not read: {names}.", advice="Read both sides at the next exam.")


def _name_instrument(reading: Reading, tables: ExamTables) -> str:
    return next((item.words for item in tables.instruments if item.key == reading.instrument), reading.instrument)


def _combine(quantity: ExamQuantity, readings: Sequence[Reading], tables: ExamTables) -> Uncertain:
    means = [fmean(reading.values) for reading in readings]
    factors = [factor for _, _, factor in quantity.terms]
    if quantity.kind is TermKind.RATIO:
        value = 100 * means[0] / means[1]
        slopes = [value / means[0], -value / means[1]]
    else:
        value, slopes = sum(f * mean for f, mean in zip(factors, means, strict=True)), factors
    has_one_rater = len({reading.rater.casefold().strip() for reading in readings}) == 1
    budgets = [_find_standards(reading, tables, has_one_rater) for reading in readings]
    standards = {
        source: sqrt(sum((slope * budget[source]) ** 2 for slope, budget in zip(slopes, budgets, strict=True)))
        for source in (Source.RATER, Source.INSTRUMENT, Source.REPEATS)
    }
    return build_uncertain(value, quantity.unit, standards)


def _find_standards(reading: Reading, tables: ExamTables, has_one_rater: bool) -> dict[Source, float]:
    """Return the standard uncertainties of one reading, in its unit."""
    item = next(known for known in tables.items if known.key == reading.item)
    instrument = next(known for known in tables.instruments if known.key == reading.instrument)
    rater = item.same_rater_standard if has_one_rater else item.other_rater_standard
    mean, count = fmean(reading.values), len(reading.values)
    share = mean / 100 if item.group is ReadingGroup.STRENGTH else 1.0
    scatter = stdev(reading.values) / sqrt(count) if count > 1 else 0.0
    return {
        Source.RATER: share * rater,
        Source.INSTRUMENT: share * instrument.standard,
        Source.REPEATS: scatter,
    }
