"""Reading a visit file."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from elbowroom.adapters.visit_files.athlete import read_athlete
from elbowroom.adapters.visit_files.clips import find_file, read_clips
from elbowroom.adapters.visit_files.ground import TAPE_LIMITS_M, read_ground
from elbowroom.adapters.visit_files.lengths import find_length_m
from elbowroom.adapters.visit_files.sections import Section
from elbowroom.core.cameras.types import FieldSize
from elbowroom.errors import VisitError
from elbowroom.service.visit_plan import BoardSize, VisitPlan

VISIT_NAME = "visit.toml"
"""Name of the visit file in a folder."""
LARGEST_BYTES = 1_000_000
"""A visit file is a page of text; anything larger is another file."""
DEEPEST = 200
"""Most opening brackets of a visit file; the reader below would run out of stack on thousands."""


def find_visit_file(path: Path) -> Path:
    """Return the visit file that a path names: the file itself, or `visit.toml` in a folder.

    Raises VisitError where it is not there.
    """
    if path.is_dir():
        if (path / VISIT_NAME).is_file():
            return path / VISIT_NAME
        raise VisitError(f"There is no {VISIT_NAME} in {path}: write one with `elbowroom begin {path}` and fill it in.")
    if path.is_file():
        return path
    raise VisitError(f"{path} is not there: name a folder with a {VISIT_NAME}, or the visit file itself.")


def read_visit(path: Path, sizes: Sequence[FieldSize]) -> VisitPlan:
    """Return the visit that a file or the `visit.toml` of a folder describes.

    `sizes` is the table of field sizes. Raises one VisitError that names everything that is missing or wrong.
    """
    file = find_visit_file(path)
    return convert_visit(read_tables(_read_text(file), file.name), file.parent, sizes, file.name)


def read_tables(text: str, name: str) -> dict[str, object]:
    """Return the tables of a visit file's text; raises VisitError with the line where it is no TOML."""
    if text.count("[") + text.count("{") > DEEPEST:
        raise VisitError(f"{name} holds too many brackets for a visit file: write it as docs/visit-file.md shows.")
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, ValueError, RecursionError) as e:
        raise VisitError(f"{name} cannot be read as TOML ({e}): correct that place.") from e


def convert_visit(tables: dict[str, object], folder: Path, sizes: Sequence[FieldSize], name: str) -> VisitPlan:
    """Return the visit that the tables of a file describe; raises one VisitError that names every problem.

    Files are looked for relative to `folder`; `name` is the name of the file for the message.
    """
    problems: list[str] = []
    top = Section("the file", tables, problems)
    made_on = _find_day(top)
    tolerances = find_file(top, "tolerances", folder)
    athlete = read_athlete(_find_table(top, "athlete", problems), made_on)
    ground = _find_table(top, "ground", problems)
    board_size = ground.find_word("board_size", BoardSize, {})
    tape_m = find_length_m(ground, "tape", TAPE_LIMITS_M)
    found, target_standard_deg = read_ground(ground, sizes)
    clips = read_clips(top.find_value("clip"), folder, problems)
    top.check_keys()
    if problems or made_on is None or athlete is None or found is None:
        raise VisitError(f"{name} cannot be used: {'; '.join(problems)}.")
    return VisitPlan(
        athlete=athlete,
        made_on=made_on,
        clips=clips,
        sizes=found,
        target_standard_deg=target_standard_deg,
        tolerances_path=tolerances,
        board_size=board_size or BoardSize.LARGE,
        tape_m=tape_m or 0.0,
    )


def _find_day(top: Section) -> date | None:
    day = top.find_date("made_on")
    if not top.has_key("made_on"):
        top.add_problem("has no day of filming: add made_on = 2026-05-16 as its first line")
    return day


def _find_table(top: Section, name: str, problems: list[str]) -> Section:
    table = top.find_value(name)
    return Section(f"[{name}]", {} if table is None else table, problems)


def _read_text(file: Path) -> str:
    try:
        if file.stat().st_size > LARGEST_BYTES:
            raise VisitError(f"{file.name} is far too large for a visit file: name the {VISIT_NAME} of the visit.")
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as e:
        raise VisitError(f"{file.name} is no text: name the {VISIT_NAME} of the visit, saved as UTF-8.") from e
    except OSError as e:
        raise VisitError(f"{file.name} cannot be read ({e.strerror}): check its permissions.") from e
