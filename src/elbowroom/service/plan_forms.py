"""Forms to fill in: an intake and an exam as TOML text with every question and every item."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from elbowroom.core.plan.exam import ExamItem, ExamTables, ReadingGroup
from elbowroom.core.plan.intake import BodySide, PainMoment, PainPlace, Position
from elbowroom.core.plan.warnings import WarningSign

EXAMPLES = {ReadingGroup.MOTION: "inclinometer", ReadingGroup.STRENGTH: "handheld_dynamometer"}


def write_intake_form(signs: Sequence[WarningSign], today: date) -> str:
    """Return an intake to be filled in; lines that begin with # count as not given."""
    questions = [f'# {sign.question}\n{sign.key} = "not asked"' for sign in signs if sign.question]
    return "\n".join(
        (
            "# An intake. Fill in what is known; what is left out or begins with # counts as not given.",
            f"taken_on = {today}",
            "height_cm = 0          # without shoes",
            "# sitting_height_cm =  # from the seat to the top of the head",
            "# mass_kg =",
            '# sex = "male"         # or "female"; growth needs it',
            f"# positions = [{', '.join(_quote(word) for word in Position)}]",
            '# teams = ["one", "another"]',
            "# months_off = 4       # months without any throwing among the last twelve",
            "# sleep_hours = 8",
            "# grown_cm = 6         # in the last twelve months, as told",
            "",
            "# Warning signs: answer each with yes or no. One that was not asked stops throwing as a yes does.",
            "[answers]",
            *questions,
            *_list_rows(today),
            "",
        )
    )


def write_exam_form(tables: ExamTables, today: date) -> str:
    """Return an exam to be filled in: both sides of every item; what is left empty was not read."""
    instruments = ", ".join(item.key for item in tables.instruments)
    parts = [_write_item(item, side) for item in tables.items for side in BodySide]
    head = (
        "# An exam. Give the repeats of each reading, such as values = [42, 44]; an empty list was not read.",
        f"# Instruments: {instruments}.",
        f"examined_on = {today}",
        'rater = ""',
        "",
    )
    return "\n".join((*head, *parts))


def _list_rows(today: date) -> tuple[str, ...]:
    """Return the blocks that may stand several times, as examples."""
    return (
        "",
        "# Pain now or in the last seven days: one block for each place.",
        "# [[pain]]",
        f"# place = {_list_words(PainPlace)}",
        f"# side = {_list_words(BodySide)}",
        f"# when = [{', '.join(_quote(word) for word in PainMoment)}]",
        "# worst = 3            # 0 to 10",
        "# days = 5             # how many days ago it began",
        "",
        "# [[past]]             # injuries, operations and pain of former times",
        '# kind = "injury"      # or "operation", "pain"',
        '# what = ""',
        '# side = "throwing side"',
        f"# began_on = {today}",
        "# settled = true",
        "",
        "# [[count]]            # pitches of the last days",
        f"# day = {today}",
        '# team = "one"',
        "# pitches = 40",
    )


def _write_item(item: ExamItem, side: BodySide) -> str:
    instrument = "grip_dynamometer" if item.key == "grip_strength" else EXAMPLES[item.group]
    return (
        f"[[reading]]  # {item.words}, {item.unit}. {item.how}\n"
        f'item = "{item.key}"\nside = "{side}"\nvalues = []\ninstrument = "{instrument}"\n'
    )


def _quote(word: str) -> str:
    return f'"{word}"'


def _list_words(words: Iterable[str]) -> str:
    return " or ".join(_quote(word) for word in words)
