"""Visit files: what is read, how leniently, and the one sentence that names everything wrong.

Sides: a full file against the values written by hand; the same length in every unit (identity); each wrong or
missing thing with the words that must be in its message; random texts, random tables and mutated files, which
must give a visit or a `VisitError` (fuzz); a file written for a folder of clips, filled in, read back (round trip).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from elbowroom.adapters.boards.field_sizes import read_field_sizes
from elbowroom.adapters.visit_files.lengths import convert_length_m
from elbowroom.adapters.visit_files.reading import convert_visit, read_visit
from elbowroom.adapters.visit_files.writing import write_first_visit
from elbowroom.core.cameras.types import View
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.landmarks.names import Side
from elbowroom.core.loads.types import BallKind, Sex
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import VisitError
from elbowroom.service.visit_plan import BoardSize, VisitPlan

FULL = """
made_on = 2026-05-16

[athlete]
name = "player 12"
age_years = 12.5
height_cm = 152
hand = "right"
kind = "pitch from a mound"

[ground]
level = "9 to 12 years"

[[clip]]
file = "open-side.mp4"
view = "open side"
rate_hz = 240
board = "open-side-board.mp4"

[[clip]]
file = "behind.mp4"
view = "behind"
thrower = "left"
row_time_us = 10

[clip.marks]
"plate front left" = [612, 840]
"plate front right" = [712.5, 842]
"""
CLIPS = ("open-side.mp4", "open-side-board.mp4", "behind.mp4")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in CLIPS:
        (tmp_path / name).write_bytes(b"x")
    return tmp_path


def read_text(folder: Path, text: str) -> VisitPlan:
    (folder / "visit.toml").write_text(text, encoding="utf-8")
    return read_visit(folder, read_field_sizes())


def find_message(folder: Path, text: str) -> str:
    with pytest.raises(VisitError) as caught:
        read_text(folder, text)
    return str(caught.value)


def has_sound_end(read: Callable[[], VisitPlan]) -> bool:
    """Say whether a reading ends in a visit or in a `VisitError` that begins with the file's name."""
    try:
        return isinstance(read(), VisitPlan)
    except VisitError as error:
        return str(error).startswith("visit.toml ")


def test_full_file_is_read(folder: Path) -> None:
    plan = read_text(folder, FULL)
    assert plan.made_on == date(2026, 5, 16)
    athlete = plan.athlete
    assert (athlete.name, athlete.age_years, athlete.height_m) == ("player 12", 12.5, 1.52)
    assert (athlete.hand, athlete.kind) == (ThrowingHand.RIGHT, ThrowKind.MOUND_PITCH)
    first, second = plan.clips
    assert (first.path, first.view, first.stated_rate_hz) == (folder / "open-side.mp4", View.OPEN_SIDE, 240.0)
    assert (first.board_path, first.marks, first.thrower, first.row_time_s) == (folder / CLIPS[1], (), None, 0.0)
    assert (second.view, second.board_path, second.thrower) == (View.BEHIND, None, Side.LEFT)
    assert second.row_time_s == pytest.approx(1e-5)
    assert [(mark.name, mark.pixel) for mark in second.marks] == [
        ("plate_front_left", (612.0, 840.0)),
        ("plate_front_right", (712.5, 842.0)),
    ]
    assert plan.tolerances_path is None
    assert plan.board_size is BoardSize.LARGE


SIZES = {
    "kilograms": ('sex = "male"\nmass_kg = 44.5', Sex.MALE, 44.5),
    "pounds": ('sex = "F"\nmass_lb = 100', Sex.FEMALE, 45.359237),
    "words of every day": ('Sex = "girl"\nmass-kg = "51"', Sex.FEMALE, 51.0),
}


@pytest.mark.parametrize("case", SIZES)
def test_size_for_the_loads(folder: Path, case: str) -> None:
    lines, sex, mass = SIZES[case]
    athlete = read_text(folder, FULL.replace("height_cm = 152", f"height_cm = 152\n{lines}")).athlete
    assert athlete.sex is sex
    assert athlete.mass_kg == pytest.approx(mass)
    assert athlete.thrown is BallKind.BASEBALL


def test_size_for_the_loads_may_be_left_out(folder: Path) -> None:
    athlete = read_text(folder, FULL).athlete
    assert isinstance(athlete.sex, Absent)
    assert isinstance(athlete.mass_kg, Absent)
    assert isinstance(athlete.ball, Absent)


@pytest.mark.parametrize("words", ["softball", "Softball 12 in", "softball_12_in"])
def test_ball_is_read(folder: Path, words: str) -> None:
    text = FULL.replace("height_cm = 152", f'height_cm = 152\nball = "{words}"')
    assert read_text(folder, text).athlete.ball is BallKind.SOFTBALL_12


def test_sizes_come_from_the_level(folder: Path) -> None:
    sizes = read_text(folder, FULL).sizes
    # 46 ft, 18 in and 4 in, as the table of field sizes states them with their source.
    assert sizes.target_distance_m == pytest.approx(46 * 0.3048)
    assert sizes.plate_m == pytest.approx((18 * 0.0254, 4 * 0.0254))


def test_stated_sizes_go_before_the_level(folder: Path) -> None:
    stated = 'target_ft = 44\nplate_depth_in = 6\ntarget_give_or_take_deg = 3.92\nboard_size = "small"'
    text = FULL.replace("[ground]", f"[ground]\n{stated}")
    plan = read_text(folder, text)
    assert plan.sizes.target_distance_m == pytest.approx(44 * 0.3048)
    assert plan.sizes.plate_m[1] == pytest.approx(0.1524)
    assert plan.target_standard_deg == pytest.approx(2.0, abs=1e-3)
    assert plan.board_size is BoardSize.SMALL


LENGTHS = ("height_m = 1.6256", "height_cm = 162.56", "height_mm = 1625.6", 'height_ft_in = "5 ft 4 in"')
LENGTHS_TOO = ("height_in = 64", 'height = "5\'4\\""', 'height = "1.6256 m"', 'Height-ft-in = "5 feet and 4 inches"')


@pytest.mark.parametrize("line", [*LENGTHS, *LENGTHS_TOO])
def test_height_reads_the_same_in_every_unit(folder: Path, line: str) -> None:
    assert read_text(folder, FULL.replace("height_cm = 152", line)).athlete.height_m == pytest.approx(1.6256)


@given(feet=st.integers(3, 7), inches=st.integers(0, 11))
def test_feet_and_inches_are_exact(feet: int, inches: int) -> None:
    assert convert_length_m(f"{feet} ft {inches} in") == pytest.approx(feet * 0.3048 + inches * 0.0254, abs=1e-12)


def test_age_follows_from_the_birthday(folder: Path) -> None:
    plan = read_text(folder, FULL.replace("age_years = 12.5", "born_on = 2014-05-16"))
    assert plan.athlete.age_years == pytest.approx(12.0, abs=0.01)


LENIENT = (
    ('hand = "right"', 'hand = "R"'),
    ('view = "open side"', 'view = "Open-Side"'),
    ("age_years = 12.5", 'Age = "12.5"'),
    ('kind = "pitch from a mound"', 'kind = "mound pitch"'),
    ("made_on = 2026-05-16", 'made_on = "2026-05-16"'),
    ('"plate front left"', "plate_front_left"),
)


@pytest.mark.parametrize(("strict", "lenient"), LENIENT)
def test_reading_is_lenient(folder: Path, strict: str, lenient: str) -> None:
    assert strict in FULL
    assert read_text(folder, FULL.replace(strict, lenient)) == read_text(folder, FULL)


WRONG = {
    "sex unknown": ('name = "player 12"', 'name = "player 12"\nsex = "x"', "[athlete] has sex = 'x'"),
    "mass in grams": ('name = "player 12"', 'name = "player 12"\nmass_kg = 44000', "give a number from 12 to 200"),
    "mass twice": ('name = "player 12"', 'name = "player 12"\nmass_kg = 44\nmass_lb = 97', "body mass more than once"),
    "ball unknown": ('name = "player 12"', 'name = "player 12"\nball = "egg"', "has ball = 'egg'"),
    "age missing": ("age_years = 12.5\n", "", "[athlete] has no age: add age_years"),
    "height missing": ("height_cm = 152\n", "", "[athlete] has no height: add height_cm"),
    "name missing": ('name = "player 12"\n', "", "[athlete] has no name"),
    "hand missing": ('hand = "right"\n', "", "[athlete] has no hand"),
    "kind missing": ('kind = "pitch from a mound"\n', "", "[athlete] has no kind"),
    "day missing": ("made_on = 2026-05-16\n", "", "add made_on"),
    "target missing": ('level = "9 to 12 years"\n', "", "no distance to the target"),
    "age impossible": ("age_years = 12.5", "age_years = 125", "from 4 to 100"),
    "age a word": ("age_years = 12.5", 'age_years = "twelve"', "from 4 to 100"),
    "age not a number": ("age_years = 12.5", "age_years = nan", "from 4 to 100"),
    "age a yes": ("age_years = 12.5", "age_years = true", "from 4 to 100"),
    "height in the wrong unit": ("height_cm = 152", "height_m = 152", "between 0.9 and 2.4 m"),
    "height without unit": ("height_cm = 152", "height = 152", "height_cm = 162"),
    "height twice": ("height_cm = 152", "height_cm = 152\nheight_m = 1.52", "more than once"),
    "born after the visit": ("age_years = 12.5", "born_on = 2027-01-01", "check both days"),
    "day wrong": ("made_on = 2026-05-16", 'made_on = "16th of May"', "as in 2026-05-16"),
    "hand wrong": ('hand = "right"', 'hand = "both"', 'use one of "right", "left"'),
    "view wrong": ('view = "behind"', 'view = "behnd"', "did you mean behind?"),
    "kind wrong": ('kind = "pitch from a mound"', 'kind = "fast"', '"long toss"'),
    "level wrong": ('level = "9 to 12 years"', 'level = "9 to 12 year"', "did you mean 9 to 12 years?"),
    "board size wrong": ("[ground]", '[ground]\nboard_size = "larg"', "did you mean large?"),
    "key unknown": ("age_years = 12.5", "age_years = 12.5\nheigth_cm = 3", "did you mean height_cm?"),
    "table unknown": ("[ground]", "[grounds]\n[ground]", "did you mean ground?"),
    "clip not there": ('file = "behind.mp4"', 'file = "behint.mp4"', "did you mean behind.mp4?"),
    "board not there": ('board = "open-side-board.mp4"', 'board = "x.mp4"', "which is not there"),
    "clip twice": ('file = "behind.mp4"', 'file = "open-side.mp4"', "which is already the file of clip 1"),
    "board twice": ('view = "behind"', 'view = "behind"\nboard = "open-side-board.mp4"', "already the board of clip 1"),
    "board is the clip": ('board = "open-side-board.mp4"', 'board = "open-side.mp4"', "already the file of clip 1"),
    "rate impossible": ("rate_hz = 240", "rate_hz = 0", "from 1 to 2000"),
    "rate no number": ("rate_hz = 240", "rate_hz = inf", "from 1 to 2000"),
    "mark unknown": ('"plate front left"', '"plate front lift"', "did you mean plate front left?"),
    "mark no pixel": ("[612, 840]", "[612]", "give its pixel"),
    "mark outside": ("[612, 840]", "[-5, 840]", "give its pixel"),
    "thrower wrong": ('thrower = "left"', 'thrower = "the tall one"', 'use one of "left", "right"'),
    "tolerances not there": ("made_on = 2026-05-16", 'made_on = 2026-05-16\ntolerances = "t.csv"', "not there"),
    "athlete no table": ("[athlete]", "athlete = 3\n[other]", "must be a table"),
    "no TOML": ("[athlete]", "[athlete", "line 4"),
}


@pytest.mark.parametrize(("old", "new", "words"), WRONG.values(), ids=WRONG.keys())
def test_wrong_thing_is_named(folder: Path, old: str, new: str, words: str) -> None:
    assert old in FULL
    message = find_message(folder, FULL.replace(old, new))
    assert words in message
    assert message.startswith("visit.toml ")
    assert "\n" not in message
    assert message.endswith((".", ")"))


def test_all_problems_are_named_at_once(folder: Path) -> None:
    text = FULL.replace("age_years = 12.5\n", "").replace('"behind"', '"back of it"').replace("240", "0")
    message = find_message(folder, text)
    assert all(words in message for words in ("no age", "back of it", "rate_hz = 0"))


def test_one_clip_alone_needs_a_board_or_marks(folder: Path) -> None:
    alone = FULL.split("[[clip]]")[0] + "[[clip]]" + FULL.split("[[clip]]")[1]
    assert len(read_text(folder, alone).clips) == 1
    assert "neither board nor marks" in find_message(folder, alone.replace('board = "open-side-board.mp4"\n', ""))


def test_board_in_one_clip_alone_is_enough_for_two(folder: Path) -> None:
    plan = read_text(folder, FULL.split("[clip.marks]")[0])
    assert [clip.board_path is None for clip in plan.clips] == [False, True]
    assert plan.clips[1].marks == ()


def test_no_clip_is_said(folder: Path) -> None:
    assert "add a [[clip]] table" in find_message(folder, FULL.split("[[clip]]")[0])


def test_missing_file_and_folder_are_said(tmp_path: Path) -> None:
    with pytest.raises(VisitError, match=r"There is no visit\.toml in"):
        read_visit(tmp_path, read_field_sizes())
    with pytest.raises(VisitError, match="is not there"):
        read_visit(tmp_path / "nowhere", read_field_sizes())


def test_file_that_is_no_text_is_said(tmp_path: Path) -> None:
    (tmp_path / "visit.toml").write_bytes(b"\xff\xfe\x00\x81")
    with pytest.raises(VisitError, match="is no text"):
        read_visit(tmp_path, read_field_sizes())


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20) | st.dates(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=12), inner, max_size=4),
    max_leaves=12,
)
KNOWN = ("made_on", "athlete", "ground", "clip", "tolerances", "name", "age_years", "height", "hand", "kind", "born_on")
KNOWN_TOO = (
    "target_m",
    "level",
    "plate_width_in",
    "file",
    "view",
    "rate_hz",
    "board",
    "marks",
    "thrower",
    "cross_front_m",
)
TABLES = st.dictionaries(st.sampled_from(KNOWN + KNOWN_TOO), VALUES, max_size=8)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150, deadline=None)
@given(top=TABLES, athlete=TABLES, ground=TABLES, clips=st.lists(TABLES, max_size=3))
def test_any_tables_give_a_visit_or_a_sentence(
    tmp_path: Path, top: dict[str, Any], athlete: dict[str, Any], ground: dict[str, Any], clips: list[dict[str, Any]]
) -> None:
    tables = {**top, "athlete": athlete, "ground": ground, "clip": clips}
    assert has_sound_end(lambda: convert_visit(tables, tmp_path, read_field_sizes(), "visit.toml"))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150, deadline=None)
@given(place=st.integers(0, len(FULL)), length=st.integers(0, 30), new=st.binary(max_size=12))
def test_any_mutated_file_gives_a_visit_or_a_sentence(tmp_path: Path, place: int, length: int, new: bytes) -> None:
    whole = FULL.encode()
    (tmp_path / "visit.toml").write_bytes(whole[:place] + new + whole[place + length :])
    for name in CLIPS:
        (tmp_path / name).touch()
    assert has_sound_end(lambda: read_visit(tmp_path, read_field_sizes()))


@pytest.mark.parametrize(
    "text", ["[" * 5000, "a = " + "[" * 5000, "a" + ".a" * 5000 + " = 1"], ids=["tables", "lists", "dots"]
)
def test_deep_nesting_is_refused(folder: Path, text: str) -> None:
    assert find_message(folder, text).startswith("visit.toml ")


def test_first_file_for_a_folder_is_filled_in_and_read(tmp_path: Path) -> None:
    for name in ("Open side.MOV", "open-side board.mov", "IMG_2.mp4", "notes.txt"):
        (tmp_path / name).write_bytes(b"x")
    path, count = write_first_visit(tmp_path, date(2026, 5, 16))
    assert (path, count) == (tmp_path / "visit.toml", 2)
    message = find_message(tmp_path, path.read_text(encoding="utf-8"))
    assert all(words in message for words in ("[athlete] has no age", "clip 1 has view = "))
    text = path.read_text(encoding="utf-8").replace('name = ""', 'name = "player 3"')
    for key in ("age_years", "height_cm", "hand", "kind", "target_m"):
        text = text.replace(f"# {key} =", f"{key} =")
    text = text.replace('view = ""', 'view = "behind"').replace('# board = "..."', "marks = {'cross middle' = [1, 2]}")
    plan = read_text(tmp_path, text)
    assert [(clip.path.name, clip.view) for clip in plan.clips] == [
        ("IMG_2.mp4", View.BEHIND),
        ("Open side.MOV", View.OPEN_SIDE),
    ]
    assert plan.clips[1].board_path == tmp_path / "open-side board.mov"


def test_first_file_never_replaces_one(folder: Path) -> None:
    write_first_visit(folder, date(2026, 5, 16))
    with pytest.raises(VisitError, match="already"):
        write_first_visit(folder, date(2026, 5, 16))


def test_folder_without_clips_is_said(tmp_path: Path) -> None:
    with pytest.raises(VisitError, match="There is no clip in"):
        write_first_visit(tmp_path, date(2026, 5, 16))
    with pytest.raises(VisitError, match="is not a folder"):
        write_first_visit(tmp_path / "nowhere", date(2026, 5, 16))
