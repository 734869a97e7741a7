"""The clips of a visit file: which video is which view, and what is known of its camera."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from pathlib import Path

from elbowroom.adapters.visit_files.sections import Section, convert_number, normalise_word, show_value
from elbowroom.core.cameras.hints import HINT_MARKS
from elbowroom.core.cameras.marks import locate_cross_marks, locate_home_marks, locate_plate_marks
from elbowroom.core.cameras.types import View
from elbowroom.core.landmarks.names import Side
from elbowroom.service.visit_plan import ClipPlan, MarkedPoint

MARKS = (
    *locate_plate_marks(1, 1),
    *locate_home_marks(1, 0, 1, 1, 1),
    *locate_cross_marks(1, 1, 1, 1),
    *HINT_MARKS,
)
"""Names of the marks; a visit file writes them with spaces."""
VIEWS = {
    "chest_side": View.OPEN_SIDE,
    "open": View.OPEN_SIDE,
    "back": View.BEHIND,
    "rear": View.BEHIND,
    "glove": View.GLOVE_SIDE,
}
"""Other ways to write the view."""
RATES_HZ = (1.0, 2000.0)
"""Capture rates that are believed, pictures a second."""
FEWEST_BARE = 2
"""Fewest clips whose cameras the thrower alone can tell."""
LARGEST_ROW_US = 100.0
"""Longest time from row to row that is believed, microseconds."""
LARGEST_PX = 10_000.0
"""Largest pixel coordinate that is believed."""


def read_clips(tables: object, folder: Path, problems: list[str]) -> tuple[ClipPlan, ...]:
    """Return the clips of the file in their order; what is wrong is noted. Paths are relative to `folder`."""
    if not isinstance(tables, list) or not tables:
        problems.append("there is no clip: add a [[clip]] table with file, view and board for each phone")
        return ()
    sections = [Section(f"clip {number}", table, problems) for number, table in enumerate(tables, 1)]
    plans = [_read_clip(section, folder) for section in sections]
    check_cameras(sections)
    check_duplicates(sections, folder)
    return tuple(plan for plan in plans if plan is not None)


def _read_clip(section: Section, folder: Path) -> ClipPlan | None:
    path = find_file(section, "file", folder, '"behind.mp4"')
    view = section.find_word("view", View, VIEWS, '"open side", "behind", "front", "glove side" or "oblique"')
    rate = section.find_number("rate_hz", *RATES_HZ)
    board = find_file(section, "board", folder)
    marks = read_marks(section)
    thrower = section.find_word("thrower", Side, {})
    row_us = section.find_number("row_time_us", 0.0, LARGEST_ROW_US)
    section.check_keys()
    if path is None or view is None:
        return None
    return ClipPlan(
        path=path,
        view=view,
        stated_rate_hz=rate,
        board_path=board,
        marks=marks,
        thrower=thrower,
        row_time_s=(row_us or 0.0) * 1e-6,
    )


def find_file(section: Section, key: str, folder: Path, example: str = "") -> Path | None:
    """Return the path of a file that is there, or None; a missing one is noted with the nearest name in its folder."""
    text = section.find_text(key, example)
    if text is None:
        return None
    path = folder / text
    try:
        if path.is_file():
            return path
        names = [item.name for item in path.parent.iterdir()] if path.parent.is_dir() else []
    except OSError:
        names = []
    close = get_close_matches(path.name, names, n=1)
    hint = f" (did you mean {close[0]}?)" if close else ""
    section.add_problem(
        f"names {key} = {show_value(text)}, which is not there{hint}: correct the name or copy the file"
    )
    return None


def read_marks(section: Section) -> tuple[MarkedPoint, ...]:
    """Return the ground marks of a clip under the names of `core/cameras/marks.py`; wrong ones are noted."""
    table = section.find_value("marks")
    if table is None:
        return ()
    if not isinstance(table, dict):
        section.add_problem(f'has marks = {show_value(table)}: write [clip.marks] and "plate front left" = [612, 840]')
        return ()
    points = [_read_mark(section, str(name), value) for name, value in table.items()]
    return tuple(point for point in points if point is not None)


def _read_mark(section: Section, name: str, value: object) -> MarkedPoint | None:
    key = normalise_word(name)
    if key not in MARKS:
        close = get_close_matches(key, MARKS, n=1)
        hint = f"did you mean {_space(close[0])}?" if close else f"known are {', '.join(map(_space, MARKS))}"
        section.add_problem(f"has the mark {show_value(name)}, which is not known: {hint}")
        return None
    numbers = [convert_number(item) for item in value] if isinstance(value, list) else []
    x, y = numbers if len(numbers) == 2 else (None, None)
    if x is None or y is None or not (0 <= x <= LARGEST_PX and 0 <= y <= LARGEST_PX):
        section.add_problem(f"has {_space(key)} = {show_value(value)}: give its pixel as in [612, 840]")
        return None
    return MarkedPoint(name=key, pixel=(x, y))


def _space(name: str) -> str:
    return name.replace("_", " ")


def check_cameras(sections: Sequence[Section]) -> None:
    """Note a clip without board and ground marks where it is alone: of two or more the thrower tells the cameras."""
    if len(sections) >= FEWEST_BARE:
        return
    for section in sections:
        if is_bare(section):
            section.add_problem(
                'has neither board nor marks: add board = "behind-board.mp4", or a [clip.marks] table'
                " (only a visit of two clips or more may leave them out)"
            )


def is_bare(section: Section) -> bool:
    """Whether a clip has no board, and no marks but those of target and tape."""
    marks = section.find_value("marks")
    names = [normalise_word(str(name)) for name in marks] if isinstance(marks, dict) else []
    has_marks = section.has_key("marks") and (not names or any(name not in HINT_MARKS for name in names))
    return not has_marks and not section.has_key("board")


def check_duplicates(sections: Sequence[Section], folder: Path) -> None:
    """Note every file that is named twice."""
    seen: dict[Path, str] = {}
    for section in sections:
        for key in ("file", "board"):
            text = section.find_value(key)
            if not isinstance(text, str):
                continue
            path = (folder / text).absolute()
            if path in seen:
                section.add_problem(
                    f"names {key} = {show_value(text)}, which is already {seen[path]}: "
                    "each phone has a clip and a board clip of its own"
                )
            seen.setdefault(path, f"the {key} of {section.place}")
