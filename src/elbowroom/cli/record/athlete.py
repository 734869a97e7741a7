"""`elbowroom record athlete`."""

from __future__ import annotations

from datetime import datetime

import click

from elbowroom.cli.record.opening import DAY, add_person_option, make_stamp, open_tools


@click.command("athlete", epilog='Example:  elbowroom record athlete "Player 12" --born 2013-02-28 --hand left')
@click.argument("name")
@click.option("--born", type=DAY, required=True, help="Day of birth, as 2013-02-28.")
@click.option("--hand", type=click.Choice(["right", "left"]), required=True, help="Throwing hand.")
@click.option("--note", default="", help="What else is to be known.")
@click.option("--id", "athlete_id", default="", help="Id of an athlete who is there already: adds a version.")
@add_person_option
def add_athlete(name: str, born: datetime, hand: str, note: str, athlete_id: str, person: str) -> None:
    """Add an athlete, or with --id a new version of one, and print the id.

    The older versions stay in the record. A minor needs the consent of a guardian next.
    """
    from elbowroom.service import athletes

    tools = open_tools()
    stamp = make_stamp(tools, person)
    facts = athletes.build_facts(name, born.date(), hand, note)
    if athlete_id:
        known = athletes.see_athlete(tools, athlete_id, stamp).versions[-1].version
        athletes.add_athlete_version(tools, athlete_id, facts, known, stamp)
    else:
        athlete_id = athletes.add_athlete(tools, facts, stamp)
    click.echo(athlete_id)
