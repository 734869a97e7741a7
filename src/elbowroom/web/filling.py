"""Forms of intake and exam: from the fields of a form to plain values and back, so that nothing typed is lost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from starlette.datastructures import FormData

LISTS = ("positions", "when")
"""Fields that may be ticked several times."""
ROWS = {"pain": 2, "past": 1, "count": 3}
"""Empty rows that a form offers beyond those that are filled."""
MOST_ROWS = 30


@dataclass(frozen=True, kw_only=True)
class Filled:
    """A form with what was typed and what is wrong with it."""

    plain: Mapping[str, Any]
    """What was typed, as plain values."""
    problems: Sequence[tuple[str, str, str]]
    """Each problem: id of its field, place, words."""
    rows: Mapping[str, int]
    """How many rows of each kind the form shows."""

    def find_value(self, *path: str | int) -> Any:
        """Return what was typed in a field, an empty text where nothing was."""
        value: Any = self.plain
        for part in path:
            value = _step(value, part)
        return "" if value is None else value

    def find_problem(self, field: str) -> str:
        """Return what is wrong with a field; empty where nothing is."""
        return "; ".join(words for found, _, words in self.problems if found == field)


def build_plain(form: FormData) -> dict[str, Any]:
    """Return the plain values of a form whose fields are named `height_cm`, `answers.pop` and `pain.1.place`.

    Rows of which nothing was filled in are left out, and the others move up.
    """
    plain: dict[str, Any] = {}
    for name in dict.fromkeys(form):
        if name in ("token", "more"):
            continue
        parts = name.split(".")
        values = [value for value in form.getlist(name) if isinstance(value, str)]
        _put(plain, parts, values if parts[-1] in LISTS else values[-1].strip())
    for key in ROWS:
        rows = plain.get(key, {})
        numbers = sorted((number for number in rows if number.isdigit()), key=int)
        plain[key] = [rows[number] for number in numbers if any(rows[number].values())]
    return {key: value for key, value in plain.items() if value not in ("", [], None)}


def fill_form(plain: Mapping[str, Any], problems: Sequence[Any] = (), more: str = "") -> Filled:
    """Return a form with what was typed; `more` names the kind of row of which another one is wanted."""
    return Filled(
        plain=plain,
        problems=[(find_field(problem.where), problem.where, problem.words) for problem in problems],
        rows={key: min(MOST_ROWS, len(plain.get(key, ())) + spare + (key == more)) for key, spare in ROWS.items()},
    )


def find_field(where: str) -> str:
    """Return the id of the field that a problem is about."""
    field = where.replace(", ", " ").replace(" side", "").replace(" ", "-")
    known = {
        "height": "height_cm",
        "sitting_height": "sitting_height_cm",
        "mass": "mass_kg",
        "grown": "grown_cm",
        "sleep": "sleep_hours",
        "counts": "count-1-day",
    }
    if field in known:
        return known[field]
    kind, _, rest = field.partition("-")
    firsts = {"pain": "place", "past": "kind", "count": "day"}
    return f"{field}-{firsts[kind]}" if kind in firsts and rest.isdigit() else field


def _put(plain: dict[str, Any], parts: Sequence[str], value: Any) -> None:
    inner = plain
    for part in parts[:-1]:
        inner = inner.setdefault(part, {})
    inner[parts[-1]] = value


def _step(value: Any, part: str | int) -> Any:
    if isinstance(value, Mapping):
        return value.get(part)
    if isinstance(value, Sequence) and not isinstance(value, str) and isinstance(part, int):
        return value[part - 1] if part <= len(value) else None
    return None
