"""Use cases: the clinic's own limits, kept as versions of the whole table."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from elbowroom.core.findings.types import Tolerance
from elbowroom.errors import NotThereError, RecordError
from elbowroom.service.clinic_tools import ClinicTools
from elbowroom.service.clinic_types import ToleranceEntry
from elbowroom.service.record_tools import note_act
from elbowroom.service.record_types import Act
from elbowroom.service.record_values import Stamp

OWN_MARK = "chosen by this clinic"


@dataclass(frozen=True, kw_only=True)
class LimitChange:
    """What a person writes into one row of the table."""

    place: int
    """Place of the row in the table, from 0."""
    lower: str
    """Lowest accepted value as typed; empty for none."""
    upper: str
    """Highest accepted value as typed; empty for none."""
    aim: str
    """Value to work towards as typed; empty for none."""
    reason: str
    """Why, which becomes the source of the limits."""


@dataclass(frozen=True, kw_only=True)
class ToleranceSheet:
    """The limits that hold now."""

    version: int
    """Version of the clinic's copy; 0 for the packaged table."""
    rows: tuple[Tolerance, ...]
    """The rows in the order of the table."""
    own_places: frozenset[int]
    """Places of the rows that differ from the packaged table."""
    history: tuple[ToleranceEntry, ...]
    """Every version, oldest first."""


def see_tolerances(clinic: ClinicTools) -> ToleranceSheet:
    """Return the limits that hold, and how they came to be."""
    history = clinic.record.entries.find_entries(ToleranceEntry)
    packaged, text = clinic.tables.read_packaged_text(), find_table_text(clinic)
    pairs = zip(_read_cells(packaged)[1], _read_cells(text)[1], strict=True)
    return ToleranceSheet(
        version=history[-1].version if history else 0,
        rows=clinic.tables.read_rows(text),
        own_places=frozenset(place for place, (before, now) in enumerate(pairs) if before != now),
        history=history,
    )


def find_table_text(clinic: ClinicTools) -> str:
    """Return the text of the table that holds: the clinic's newest version, or the packaged one."""
    history = clinic.record.entries.find_entries(ToleranceEntry)
    return history[-1].table_text if history else clinic.tables.read_packaged_text()


def change_limits(clinic: ClinicTools, change: LimitChange, known_version: int, stamp: Stamp) -> int:
    """Change one row of the clinic's table on top of the version that the person saw; returns the new version.

    Raises `RecordError` without a reason, `TableError` for limits that cannot hold, `ConflictError` where somebody
    else changed the table since.
    """
    if not change.reason.strip():
        raise RecordError("Say why the limits change: the reason stands beside them as their source.")
    heading, rows = _read_cells(find_table_text(clinic))
    if not 0 <= change.place < len(rows):
        raise NotThereError("The table has no such row: open the limits again.")
    before = rows[change.place]
    after = {**before, **_write_change(change, known_version + 1, stamp.at.date())}
    text = _write_cells(heading, [*rows[: change.place], after, *rows[change.place + 1 :]])
    clinic.tables.read_rows(text)
    return _add_version(clinic, text, _describe_row(before, after), change.reason.strip(), known_version, stamp)


def restore_limits(clinic: ClinicTools, place: int, known_version: int, stamp: Stamp) -> int:
    """Put the packaged row back in its place, as a new version of the table; returns that version."""
    heading, rows = _read_cells(find_table_text(clinic))
    packaged = _read_cells(clinic.tables.read_packaged_text())[1]
    if not 0 <= place < min(len(rows), len(packaged)):
        raise NotThereError("The table has no such row: open the limits again.")
    text = _write_cells(heading, [*rows[:place], packaged[place], *rows[place + 1 :]])
    changed = _describe_row(rows[place], packaged[place])
    return _add_version(clinic, text, changed, "Put back to what elbowroom comes with.", known_version, stamp)


def _add_version(clinic: ClinicTools, text: str, changed: str, reason: str, known: int, stamp: Stamp) -> int:
    tools = clinic.record
    entry = ToleranceEntry(
        id=tools.make_id(),
        version=known + 1,
        table_text=text,
        changed=changed,
        reason=reason,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    act = note_act(tools, stamp, Act.CORRECTED, what=f"limits, version {entry.version}")
    tools.entries.add_entries([entry, act])
    return entry.version


def _write_change(change: LimitChange, version: int, day: date) -> dict[str, str]:
    said = {name: getattr(change, name).strip().replace(",", ".") for name in ("lower", "upper", "aim")}
    source = f"chosen by this clinic on {day}: {change.reason.strip()}"
    return {**said, "source": source, "mark": OWN_MARK, "judged": "yes", "version": f"clinic {version}"}


def _describe_row(before: Mapping[str, str], after: Mapping[str, str]) -> str:
    """Return in a sentence what changed in a row; an open side is written as a dash."""
    names = [name for name in ("lower", "upper", "aim") if before[name] != after[name]]
    parts = [f"{name} {before[name] or '-'} to {after[name] or '-'}" for name in names]
    who = f"{before['measure']}, {before['age_from']} to {before['age_to']} years"
    return f"{who}: {', '.join(parts) or 'the source alone'}, in {before['unit']}."


def _read_cells(text: str) -> tuple[Sequence[str], list[dict[str, str]]]:
    """Return the heading and the rows of a table's text."""
    heading = text.partition("\n")[0]
    delimiter = ";" if heading.count(";") > heading.count(",") else ","
    reader = csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter, restval="")
    rows = [{name: value or "" for name, value in row.items() if name} for row in reader]
    return tuple(reader.fieldnames or ()), rows


def _write_cells(heading: Sequence[str], rows: Sequence[Mapping[str, str]]) -> str:
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, heading, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()
