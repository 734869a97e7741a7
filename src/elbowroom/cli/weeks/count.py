"""`elbowroom weeks count`."""

from __future__ import annotations

from datetime import datetime

import click

from elbowroom.cli.record.opening import DAY, add_person_option, make_stamp
from elbowroom.cli.weeks.opening import open_weeks, read_day


@click.command("count", epilog="Example:  elbowroom weeks count 4f1c... --team Herons --pitches 51 --last-batter 45")
@click.argument("athlete_id")
@click.option("--day", type=DAY, help="Day, YYYY-MM-DD; today where left out.")
@click.option("--team", required=True, help="Team that it was for, in words.")
@click.option("--activity", type=click.Choice(["game", "practice", "other throwing"]), default="game", help="What for.")
@click.option("--pitches", type=int, default=0, help="Pitches.")
@click.option("--throws", type=int, default=0, help="Other throws.")
@click.option("--caught", type=int, default=0, help="Innings caught.")
@click.option("--last-batter", type=int, help="Pitches already thrown when the last batter came up.")
@add_person_option
def add_count(athlete_id: str, day: datetime | None, team: str, activity: str, person: str, **numbers: int) -> None:
    """Write down what was thrown on a day, and say when the athlete may pitch again."""
    from elbowroom.core.quantities.types import Absent
    from elbowroom.service import counting

    tools = open_weeks()
    stamp = make_stamp(tools.record, person)
    thrown = (numbers["pitches"], numbers["throws"], numbers["caught"])
    count = counting.build_count(read_day(day, stamp.at.date()), team, activity, thrown, numbers["last_batter"])
    counting.keep_count(tools.record, athlete_id, count, stamp)
    board = counting.find_count_board(tools, athlete_id, stamp.at.date())
    click.echo(board.reason if isinstance(board, Absent) else board.availability.sentence)
