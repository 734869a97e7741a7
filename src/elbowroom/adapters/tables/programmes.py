"""Reading the graded programmes of a return to throwing, and the soreness rules."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from elbowroom.adapters.tables.rows import TableRow, raise_problems, read_rows, read_table_text
from elbowroom.core.plan.programme import Programme, ProgrammeStep, SorenessRule, StepKind

PACKAGED_PROGRAMMES, PACKAGED_SORENESS = "throwing_programmes.csv", "soreness_rules.csv"
COLUMNS = (
    *("programme", "words", "age_from", "age_to", "gap_days", "step", "step_words", "kind", "throws", "distances_ft"),
    *("intensity", "repeat", "rescreen", "mark", "source", "note"),
)
"""Columns of a table of programmes; throws, distances, intensity and note may be empty."""
SORENESS_COLUMNS = ("answer", "answer_words", "days_off", "step_change", "hold", "action", "mark", "source")
MARKS = ("seen", "second-hand copy", "from memory", "chosen by this clinic")
"""How a row may be known; `from memory` is said beside the step."""


def read_programmes(path: Path | None = None) -> tuple[Programme, ...]:
    """Return the programmes, the packaged ones where no path is given.

    Raises one `TableError` that names line and column of everything that is wrong, a row without source included.
    """
    name = path.name if path else PACKAGED_PROGRAMMES
    rows = read_rows(read_table_text(path, PACKAGED_PROGRAMMES), name, COLUMNS)
    steps = [(row, _read_step(row)) for row in rows]
    keys = list(dict.fromkeys(row.read_text("programme", "name the programme") for row in rows))
    for key in keys:
        _check_numbers([(row, step) for row, step in steps if row.cells["programme"] == key])
    raise_problems(rows, name)
    return tuple(_build_programme(key, [item for item in steps if item[0].cells["programme"] == key]) for key in keys)


def read_soreness_rules(path: Path | None = None) -> tuple[SorenessRule, ...]:
    """Return the soreness rules, the packaged ones where no path is given; raises `TableError` with all problems."""
    name = path.name if path else PACKAGED_SORENESS
    rows = read_rows(read_table_text(path, PACKAGED_SORENESS), name, SORENESS_COLUMNS)
    rules = tuple(_read_rule(row) for row in rows)
    raise_problems(rows, name)
    return rules


def _read_step(row: TableRow) -> ProgrammeStep:
    kinds = {str(kind): kind for kind in StepKind}
    kind = row.read_text("kind", f"give one of {', '.join(kinds)}")
    if kind and kind not in kinds:
        row.refuse("kind", f"holds {kind!r}: give one of {', '.join(kinds)}")
    throws, distances_ft = _read_list(row, "throws"), _read_list(row, "distances_ft")
    if len(throws) != len(distances_ft):
        row.refuse("distances_ft", f"holds {len(distances_ft)} distances for {len(throws)} sets: give one a set")
    if not throws and kind != str(StepKind.GAME):
        row.refuse("throws", "is empty: give the throws of each set with | between them")
    return ProgrammeStep(
        number=_read_count(row, "step"),
        words=row.read_text("step_words", "name the step"),
        kind=kinds.get(kind, StepKind.FLAT),
        throws=tuple(int(count) for count in throws),
        distances_ft=tuple(distances_ft),
        intensity=row.read_text("intensity"),
        repeat_count=max(1, _read_count(row, "repeat")),
        must_rescreen=row.read_flag("rescreen"),
        mark=_read_mark(row),
        source=row.read_text("source", "say where the row comes from"),
        note=row.read_text("note"),
    )


def _read_rule(row: TableRow) -> SorenessRule:
    change = row.read_number("step_change")
    if change not in (-1, 0, 1):
        row.refuse("step_change", f"holds {change:g}: give 1, 0 or -1")
    return SorenessRule(
        key=row.read_text("answer", "name the answer"),
        words=row.read_text("answer_words", "say what the athlete says"),
        days_off=_read_count(row, "days_off"),
        step_change=int(change),
        is_hold=row.read_flag("hold"),
        action=row.read_text("action", "say what to do"),
        mark=_read_mark(row),
        source=row.read_text("source", "say where the rule comes from"),
    )


def _build_programme(key: str, steps: Sequence[tuple[TableRow, ProgrammeStep]]) -> Programme:
    first = steps[0][0]
    ages = first.read_range("age_from", "age_to")
    return Programme(
        key=key,
        words=first.read_text("words", "name the programme in words"),
        ages_years=(int(ages[0]), int(ages[1])),
        gap_days=_read_count(first, "gap_days"),
        steps=tuple(step for _, step in steps),
    )


def _check_numbers(steps: Sequence[tuple[TableRow, ProgrammeStep]]) -> None:
    for wanted, (row, step) in enumerate(steps, 1):
        if step.number != wanted:
            row.refuse("step", f"holds {step.number} where {wanted} belongs: number the steps from 1 without a gap")


def _read_list(row: TableRow, column: str) -> list[float]:
    try:
        numbers = [float(part) for part in row.cells.get(column, "").split("|") if part.strip()]
    except ValueError:
        row.refuse(column, f"holds {row.cells[column]!r}: give numbers with | between them")
        return []
    if any(number <= 0 for number in numbers):
        row.refuse(column, "holds a number that is not above 0: correct it")
    return numbers


def _read_count(row: TableRow, column: str) -> int:
    number = row.read_number(column)
    if number < 0 or number != int(number):
        row.refuse(column, f"holds {number:g}: give a whole number, 0 or more")
    return int(number)


def _read_mark(row: TableRow) -> str:
    mark = row.read_text("mark", f"give one of {', '.join(MARKS)}")
    if mark and mark not in MARKS:
        row.refuse("mark", f"holds {mark!r}: give one of {', '.join(MARKS)}")
    return mark
