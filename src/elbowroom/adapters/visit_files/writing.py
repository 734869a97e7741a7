"""Writing a first visit file for the clips in a folder, to be filled in by hand."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from elbowroom.adapters.visit_files.reading import VISIT_NAME
from elbowroom.core.cameras.types import View
from elbowroom.errors import VisitError

CLIP_ENDINGS = (".mp4", ".mov", ".m4v", ".mkv", ".3gp")
"""Endings of the files that count as clips."""
BOARD_WORD = "board"
"""A clip whose name holds this word shows the board."""

HEAD = """\
# A visit for elbowroom: fill in every line that is marked with <-, then run `elbowroom screen` on this folder.
# What each line means: docs/visit-file.md

made_on = {day}             # <- day of filming

[athlete]
name = ""                        # <- a name or a code, as it should stand on the report
# age_years = 12.5               # <- take the # away and fill in, or: born_on = 2013-11-20
# height_cm = 152                # <- or: height_ft_in = "5 ft 0 in"
# hand = "right"                 # <- the hand that throws: "right" or "left"
# kind = "pitch from a mound"    # <- or "flat-ground pitch", "position throw", "long toss", "other overhand throw"
# sex = "male"                   # for loads, with the mass: "female" or "male", which body tables hold
# mass_kg = 45                   # for loads: body mass (or mass_lb)
# ball = "baseball"              # or "softball 12 in", "softball 11 in"

[ground]
# target_m = 14.0                # <- from the front of the pitcher's plate to where the ball is caught (or target_ft)
"""
CLIP = """
[[clip]]
file = {file}
view = {view}{view_note}
{board}
# rate_hz = 240                  # only where the phone plays slow motion slowly: pictures a second while filming
"""
NO_BOARD = '# board = "..."                  # <- the clip of the board by this phone, or a [clip.marks] table'


def write_first_visit(folder: Path, day: date) -> tuple[Path, int]:
    """Write `visit.toml` for the clips in a folder and return its path and the number of clips.

    A clip with `board` in its name is paired with the clip whose name is nearest; a view is taken from the
    name where it says one. Raises VisitError where there is no clip, or a visit file already.
    """
    clips, boards = list_clips(folder)
    text = HEAD.format(day=day.isoformat()) + "".join(
        describe_clip(name, board) for name, board in zip(clips, pair_boards(clips, boards), strict=True)
    )
    path = folder / VISIT_NAME
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as e:
        raise VisitError(f"There is a {VISIT_NAME} in {folder} already: edit it, or move it away first.") from e
    except OSError as e:
        raise VisitError(f"{VISIT_NAME} cannot be written in {folder} ({e.strerror}): check its permissions.") from e
    return path, len(clips)


def list_clips(folder: Path) -> tuple[list[str], list[str]]:
    """Return the names of the clips of throws and of the board clips in a folder; raises VisitError where none."""
    if not folder.is_dir():
        raise VisitError(f"{folder} is not a folder: name the folder that holds the clips.")
    try:
        names = sorted(item.name for item in folder.iterdir() if item.suffix.lower() in CLIP_ENDINGS)
    except OSError as e:
        raise VisitError(f"{folder} cannot be looked through ({e.strerror}): check its permissions.") from e
    boards = [name for name in names if BOARD_WORD in name.lower()]
    clips = [name for name in names if name not in boards]
    if not clips:
        raise VisitError(f"There is no clip in {folder}: copy the clips there ({', '.join(CLIP_ENDINGS)}).")
    return clips, boards


def pair_boards(clips: Sequence[str], boards: Sequence[str]) -> list[str]:
    """Return for each clip the board clip whose name, without `board`, is that of the clip; else an empty string."""
    stems = {_strip(Path(name).stem): name for name in boards}
    return [stems.get(_strip(Path(name).stem), "") for name in clips]


def describe_clip(name: str, board: str) -> str:
    """Return the table of one clip, with what still has to be filled in marked."""
    view = find_view(name)
    note = "" if view else '             # <- "open side", "behind", "front", "glove side" or "oblique"'
    return CLIP.format(
        file=json.dumps(name, ensure_ascii=False),
        view=json.dumps(view),
        view_note=note,
        board=f"board = {json.dumps(board, ensure_ascii=False)}" if board else NO_BOARD,
    )


def find_view(name: str) -> str:
    """Return the view that a clip's name says, or an empty string."""
    words = name.lower().replace("-", " ").replace("_", " ")
    return next((str(view) for view in View if str(view) in words), "")


def _strip(stem: str) -> str:
    words = stem.lower().replace("-", " ").replace("_", " ").split()
    return " ".join(word for word in words if word != BOARD_WORD)
