"""Reading the tables of warning signs and of growth."""

from __future__ import annotations

from itertools import groupby
from math import inf
from pathlib import Path

from elbowroom.adapters.tables.rows import TableRow, raise_problems, read_rows, read_table_text
from elbowroom.core.loads.types import Sex
from elbowroom.core.plan.growth import GrowthCare, GrowthEquation, GrowthTerm
from elbowroom.core.plan.intake import BodySide, PainMoment, PainPlace
from elbowroom.core.plan.warnings import Urgency, WarningSign

SIGNS, EQUATIONS, CARE = "warning_signs.csv", "growth_equations.csv", "growth_care.csv"
SIGN_COLUMNS = (
    *("key", "question", "places", "moments", "sides", "least_worst", "least_days", "age_from", "age_to"),
    *("urgency", "clinician", "family", "source", "mark", "version"),
)
EQUATION_COLUMNS = (
    *("equation", "sex", "term", "coefficient", "unit", "standard_years", "age_from", "age_to"),
    *("source", "mark", "note", "version"),
)
CARE_COLUMNS = ("key", "around_from", "velocity_from", "unit", "words", "reasoning", "source", "mark", "version")
MARKS = ("seen", "abstract", "second-hand", "from memory", "common practice", "chosen by this project")
"""How a row is known; a clinic's own rows say `chosen by this clinic`."""
CLINIC_MARK = "chosen by this clinic"


def read_warning_signs(path: Path | None = None) -> tuple[WarningSign, ...]:
    """Return the warning signs, the packaged ones where no path is given; raises `TableError` with all problems."""
    name = path.name if path else SIGNS
    rows = read_rows(read_table_text(path, SIGNS), name, SIGN_COLUMNS)
    signs = tuple(_read_sign(row) for row in rows)
    for row, sign in zip(rows, signs, strict=True):
        has_pattern = bool(sign.places or sign.moments or sign.sides or sign.least_worst)
        if bool(sign.question) == has_pattern:
            row.refuse("question", "and a pattern of pain: give one of the two")
    raise_problems(rows, name)
    return signs


def read_growth_equations() -> tuple[GrowthEquation, ...]:
    """Return the growth equations; raises `TableError`."""
    rows = read_rows(read_table_text(None, EQUATIONS), EQUATIONS, EQUATION_COLUMNS)
    grouped = groupby(rows, key=lambda row: (row.cells["equation"], row.cells["sex"]))
    equations = tuple(_read_equation(list(group)) for _, group in grouped)
    raise_problems(rows, EQUATIONS)
    return equations


def read_growth_care() -> tuple[GrowthCare, ...]:
    """Return what growth changes; raises `TableError`."""
    rows = read_rows(read_table_text(None, CARE), CARE, CARE_COLUMNS)
    care = tuple(_read_care(row) for row in rows)
    raise_problems(rows, CARE)
    return care


def read_mark(row: TableRow) -> str:
    """Return how a row is known."""
    mark = row.read_text("mark", f"give one of {', '.join(MARKS)}")
    if mark and mark not in (*MARKS, CLINIC_MARK):
        row.refuse("mark", f"holds {mark!r}: give one of {', '.join((*MARKS, CLINIC_MARK))}")
    return mark


def _read_sign(row: TableRow) -> WarningSign:
    return WarningSign(
        key=row.read_text("key", "name the sign"),
        question=row.read_text("question"),
        places=row.read_words("places", PainPlace),
        moments=row.read_words("moments", PainMoment),
        sides=row.read_words("sides", BodySide),
        least_worst=int(row.read_number("least_worst", 0)),
        least_days=int(row.read_number("least_days", 0)),
        ages_years=row.read_range("age_from", "age_to"),
        urgency=row.read_word("urgency", Urgency),
        clinician=row.read_text("clinician", "say what it may mean"),
        family=row.read_text("family", "say what the family is told"),
        source=row.read_text("source", "say where the sign comes from"),
        mark=read_mark(row),
        version=row.read_text("version", "give the version of the table"),
    )


def _read_equation(rows: list[TableRow]) -> GrowthEquation:
    first = rows[0]
    for row in rows:
        if row.read_text("unit", "write years") not in ("", "years"):
            row.refuse("unit", "is not years: convert the coefficient")
        row.read_text("source", "say where the coefficient comes from")
        read_mark(row)
    return GrowthEquation(
        name=first.read_text("equation", "name the equation"),
        sex=first.read_word("sex", Sex),
        coefficients=tuple((row.read_word("term", GrowthTerm), row.read_number("coefficient")) for row in rows),
        standard_years=first.read_number("standard_years"),
        ages_years=first.read_range("age_from", "age_to"),
        source=f"{first.cells['source']} ({first.cells['mark']})",
        note=first.read_text("note"),
    )


def _read_care(row: TableRow) -> GrowthCare:
    read_mark(row)
    row.read_text("unit", "write cm/year")
    return GrowthCare(
        key=row.read_text("key", "name the row"),
        least_around_probability=row.read_number("around_from", inf),
        velocity_limit=row.read_number("velocity_from", inf),
        words=row.read_text("words", "say what it changes"),
        reasoning=row.read_text("reasoning", "say why"),
        source=row.read_text("source", "say where it comes from"),
    )
