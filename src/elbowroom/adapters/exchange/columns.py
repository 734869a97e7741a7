"""The tables that are handed out, row by row, and what each column means."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isinf

from elbowroom.core.landmarks.names import Joint
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.service.exchange_types import HandedMeasure, HandedVisit

Cell = str | float | int | None
"""A value in a table; nothing where there is none."""


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column of a table."""

    name: str
    """Its heading."""
    kind: str
    """`text`, `number`, `whole number` or `day`."""
    unit: str
    """Unit of its numbers; `beside` where a column `unit` gives it row by row, empty for none."""
    meaning: str
    """What it holds, and when it is empty."""


CODE = Column(name="code", kind="text", unit="", meaning="Stands for the athlete; never a name.")
DAY = Column(name="day", kind="day", unit="", meaning="Day of the screening.")
THROW = Column(name="throw", kind="whole number", unit="", meaning="Number of the throw; 0 is the typical throw.")
ABSENT = Column(name="absent", kind="text", unit="", meaning="Why there is no value; empty where there is one.")
COLUMNS: dict[str, tuple[Column, ...]] = {
    "measures": (
        CODE,
        DAY,
        THROW,
        Column(name="measure", kind="text", unit="", meaning="Key of the measure or load; see the table definitions."),
        Column(name="value", kind="number", unit="beside", meaning="Best estimate."),
        Column(name="unit", kind="text", unit="", meaning="Unit of value, uncertainties and limits."),
        Column(name="unit_ucum", kind="text", unit="", meaning="The same unit as a UCUM code."),
        Column(name="standard_uncertainty", kind="number", unit="beside", meaning="Combined standard uncertainty."),
        Column(name="half_width_95", kind="number", unit="beside", meaning="Half of the 95 % interval."),
        Column(name="degrees_of_freedom", kind="number", unit="", meaning="Effective; empty where taken as infinite."),
        Column(name="lower_limit", kind="number", unit="beside", meaning="Lowest accepted value; empty for none."),
        Column(name="upper_limit", kind="number", unit="beside", meaning="Highest accepted value; empty for none."),
        Column(name="probability_beyond", kind="number", unit="1", meaning="Of lying beyond the limits (JCGM 106)."),
        Column(name="verdict", kind="text", unit="", meaning="Word of the verdict; for the typical throw only."),
        ABSENT,
    ),
    "budgets": (
        CODE,
        DAY,
        THROW,
        Column(name="measure", kind="text", unit="", meaning="Key of the measure or load."),
        Column(name="source", kind="text", unit="", meaning="Where this part of the uncertainty comes from."),
        Column(name="standard_uncertainty", kind="number", unit="beside", meaning="Standard uncertainty from it."),
        Column(name="unit", kind="text", unit="", meaning="Unit of the standard uncertainty."),
    ),
    "instants": (
        CODE,
        DAY,
        THROW,
        Column(name="instant", kind="text", unit="", meaning="Name of the instant."),
        Column(name="time_s", kind="number", unit="s", meaning="On the clock of the visit."),
        Column(name="standard_uncertainty_s", kind="number", unit="s", meaning="Standard uncertainty of the time."),
        ABSENT,
    ),
    "joints": (
        CODE,
        THROW,
        Column(name="time_s", kind="number", unit="s", meaning="On the clock of the visit."),
        Column(name="joint", kind="text", unit="", meaning="Joint centre, the athlete's own side."),
        Column(name="x_m", kind="number", unit="m", meaning="To the target, from the middle of the pivot foot."),
        Column(name="y_m", kind="number", unit="m", meaning="To the left of somebody who looks to the target."),
        Column(name="z_m", kind="number", unit="m", meaning="Up."),
        Column(name="standard_uncertainty_m", kind="number", unit="m", meaning="Of each axis, root mean square."),
    ),
    "definitions": (
        Column(name="measure", kind="text", unit="", meaning="Key of the measure or load."),
        Column(name="words", kind="text", unit="", meaning="Its name on paper."),
        Column(name="definition", kind="text", unit="", meaning="What is measured between what, in which frame."),
        Column(name="sign", kind="text", unit="", meaning="What plus and minus mean; left-handers are mirrored."),
        Column(name="source", kind="text", unit="", meaning="Where the definition comes from."),
        Column(name="limit_source", kind="text", unit="", meaning="Where its limits come from; empty for none."),
    ),
}
"""Tables by name, each with its columns in order."""
DICTIONARY = (
    Column(name="table", kind="text", unit="", meaning="Name of the table."),
    Column(name="column", kind="text", unit="", meaning="Name of the column."),
    Column(name="kind", kind="text", unit="", meaning="Text, number, whole number or day."),
    Column(name="unit", kind="text", unit="", meaning="Unit, or `beside`: the column unit gives it row by row."),
    Column(name="meaning", kind="text", unit="", meaning="What it holds."),
)


def list_rows(table: str, visit: HandedVisit, ucum: dict[str, str]) -> Iterator[tuple[Cell, ...]]:
    """Give the rows of a table in the order of its columns; `ucum` turns our units into UCUM codes."""
    match table:
        case "measures":
            yield from (_list_measure(item, visit, ucum) for item in visit.measures)
        case "budgets":
            yield from _list_budgets(visit)
        case "instants":
            yield from _list_instants(visit)
        case "joints":
            yield from _list_joints(visit)
        case _:
            yield from _list_definitions(visit)


def list_dictionary() -> Iterator[tuple[Cell, ...]]:
    """Give the rows of the data dictionary: every column of every table."""
    for table, columns in COLUMNS.items():
        for column in columns:
            yield (table, column.name, column.kind, column.unit, column.meaning)


def _list_measure(item: HandedMeasure, visit: HandedVisit, ucum: dict[str, str]) -> tuple[Cell, ...]:
    start: tuple[Cell, ...] = (visit.code, visit.made_on.isoformat(), item.throw, item.key)
    end = (*(_clear(limit) for limit in (item.lower, item.upper, item.probability_beyond)), item.verdict)
    quantity = item.quantity
    if isinstance(quantity, Absent):
        return (*start, None, "", "", None, None, None, *end, quantity.reason)
    freedom = None if isinf(quantity.degrees_of_freedom) else quantity.degrees_of_freedom
    numbers = (quantity.standard, quantity.half_width, freedom)
    return (*start, quantity.value, quantity.unit, ucum[quantity.unit], *numbers, *end, "")


def _clear(limit: float | Absent) -> float | None:
    return None if isinstance(limit, Absent) else limit


def _list_budgets(visit: HandedVisit) -> Iterator[tuple[Cell, ...]]:
    for item in visit.measures:
        if isinstance(item.quantity, Uncertain):
            for part in item.quantity.parts:
                start = (visit.code, visit.made_on.isoformat(), item.throw, item.key)
                yield (*start, str(part.source), part.standard, item.quantity.unit)


def _list_instants(visit: HandedVisit) -> Iterator[tuple[Cell, ...]]:
    for item in visit.instants:
        start = (visit.code, visit.made_on.isoformat(), item.throw, item.name)
        if isinstance(item.time, Absent):
            yield (*start, None, None, item.time.reason)
        else:
            yield (*start, item.time.value, item.time.standard, "")


def _list_joints(visit: HandedVisit) -> Iterator[tuple[Cell, ...]]:
    for motion in visit.motions:
        places, standards = motion.joints_m.tolist(), motion.standards_m.tolist()
        for row, time in enumerate(motion.times_s.tolist()):
            for joint in Joint:
                place = places[row][joint]
                yield (visit.code, motion.throw, time, joint.name.lower(), *place, standards[row][joint])


def _list_definitions(visit: HandedVisit) -> Iterator[tuple[Cell, ...]]:
    for item in visit.measures:
        if item.throw == 0:
            yield (item.key, item.words, item.definition, item.sign, item.source, item.limit_source)
