"""`elbowroom weeks free`."""

from __future__ import annotations

from datetime import datetime

import click

from elbowroom.cli.record.opening import DAY, add_person_option, make_stamp
from elbowroom.cli.record.plan_files import show_result
from elbowroom.cli.weeks.opening import add_json_option, open_weeks, read_day


@click.command("free", epilog="Example:  elbowroom weeks free 4f1c...")
@click.argument("athlete_id")
@click.option("--day", type=DAY, help="Day to ask about, YYYY-MM-DD; today where left out.")
@add_json_option
@add_person_option
def show_free(athlete_id: str, day: datetime | None, is_json: bool, person: str) -> None:
    """Say when an athlete may pitch again, what in the log breaks a rule, and how the last weeks went."""
    from elbowroom.core.quantities.types import Absent
    from elbowroom.errors import PlanError
    from elbowroom.service import counting, holds, week_json, week_lines

    tools = open_weeks()
    stamp = make_stamp(tools.record, person)
    board = counting.find_count_board(tools, athlete_id, read_day(day, stamp.at.date()))
    if isinstance(board, Absent):
        raise PlanError(f"{board.reason} {board.advice}")
    holds.note_look(tools.record, athlete_id, "counts", stamp)
    show_result(week_lines.list_board_lines(board), week_json.describe_board(board), is_json)
