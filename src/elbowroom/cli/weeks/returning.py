"""`elbowroom weeks return`."""

from __future__ import annotations

from datetime import datetime

import click

from elbowroom.cli.record.opening import DAY, add_person_option, make_stamp
from elbowroom.cli.record.plan_files import show_result
from elbowroom.cli.weeks.opening import add_json_option, open_weeks, read_day


@click.command("return", epilog='Example:  elbowroom weeks return 4f1c... --begin --reason "released by the surgeon"')
@click.argument("athlete_id")
@click.option("--begin", "is_begun", is_flag=True, help="Begin a programme; needs --reason.")
@click.option("--programme", default="", help="Key of the programme; the first of the athlete's age where left out.")
@click.option("--done", type=int, help="Number of the step that was done; needs --answer.")
@click.option("--answer", default="", help="How the arm was: none, warm-up-gone, next-day, pain and so on.")
@click.option("--filmed", "is_filmed", is_flag=True, help="The mechanics were filmed again and looked at.")
@click.option("--set", "step", type=int, help="Set the step as a clinician; needs --reason.")
@click.option("--reason", default="", help="A clinician's reason.")
@click.option("--day", type=DAY, help="Day, YYYY-MM-DD; today where left out.")
@add_json_option
@add_person_option
def show_return(athlete_id: str, day: datetime | None, is_json: bool, person: str, **asked: object) -> None:
    """Begin, record and show a graded return to throwing.

    Soreness repeats a step or goes back one by itself, pain holds, and the mechanics are filmed again before set
    steps. Only a clinician's override with a reason ends a hold.
    """
    from elbowroom.service import holds, returning, week_json, week_lines

    tools = open_weeks()
    stamp = make_stamp(tools.record, person)
    course = returning.take_act(tools, athlete_id, read_day(day, stamp.at.date()), asked, stamp)
    holds.note_look(tools.record, athlete_id, "return to throwing", stamp)
    show_result(week_lines.list_course_lines(course), week_json.describe_course(course), is_json)
