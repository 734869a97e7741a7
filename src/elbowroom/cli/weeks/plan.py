"""`elbowroom weeks plan`."""

from __future__ import annotations

from datetime import datetime

import click

from elbowroom.cli.record.opening import DAY, add_person_option, make_stamp
from elbowroom.cli.record.plan_files import show_result
from elbowroom.cli.weeks.opening import add_json_option, open_weeks, read_day


@click.command("plan", epilog='Example:  elbowroom weeks plan 4f1c... --game "2026-05-09, Herons, 55"')
@click.argument("athlete_id")
@click.option("--from", "first", type=DAY, help="First day, YYYY-MM-DD; today where left out.")
@click.option("--game", "games", multiple=True, help='Game already fixed: "day, team, pitches"; may be repeated.')
@click.option("--off", "times_off", multiple=True, help='Time off: "first day, last day, reason"; may be repeated.')
@click.option("--pitching", type=int, default=2, help="Wished days of pitching in a week, games included.")
@click.option("--throwing", type=int, default=3, help="Wished days of throwing practice in a week.")
@click.option("--drills", type=int, default=2, help="Wished days of drills in a week.")
@click.option("--free", type=int, default=2, help="Least days of a week without any throw.")
@click.option("--sizes", default="20, 35", help="Pitches of practices from the mound.")
@click.option("--throws", type=int, default=50, help="Throws of a throwing practice.")
@add_json_option
@add_person_option
def make_plan(athlete_id: str, first: datetime | None, sizes: str, is_json: bool, person: str, **asked: object) -> None:
    """Lay out four weeks of throwing under the rules of the athlete's team and keep the plan.

    Each rest day has its reason. Where nothing fits, the rules and games are named that cannot be kept together.
    """
    from elbowroom.service import week_asking, week_json, week_lines, weeks

    tools = open_weeks()
    stamp = make_stamp(tools.record, person)
    ask = weeks.build_ask(read_day(first, stamp.at.date()), week_asking.read_sizes(sizes), asked)
    plan = weeks.make_plan(tools, athlete_id, ask, stamp)
    show_result(week_lines.list_plan_lines(plan), week_json.describe_plan(plan), is_json)
