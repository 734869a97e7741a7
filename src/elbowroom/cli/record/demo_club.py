"""`elbowroom record demo-club`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools


@click.command("demo-club", epilog="Example:  elbowroom record demo-club")
@click.option("--forget", "is_forgotten", is_flag=True, help="Forget the demo club for good instead of adding it.")
@add_person_option
def add_demo_club(is_forgotten: bool, person: str) -> None:
    """Put an invented club of thirty throwers into the record, to try the screens on.

    Names, guardians and numbers are invented and every visit says so. With --forget every athlete of the club is
    forgotten as any other.
    """
    from elbowroom import bootstrap_pages, bootstrap_plan
    from elbowroom.service import demo_club

    tools = open_tools()
    stamp = make_stamp(tools, person)
    if is_forgotten:
        click.echo(f"{demo_club.forget_demo_club(tools, stamp)} invented athletes are forgotten.")
        return
    with click.progressbar(length=demo_club.CLUB_SIZE, label="Inventing a club") as bar:
        ids = bootstrap_pages.add_demo_club(tools, stamp, lambda done, _: bar.update(done - bar.pos))
    bootstrap_plan.add_demo_plans(tools, ids, stamp)
    click.echo(f"{len(ids)} invented athletes are in the record; `elbowroom record demo-club --forget` removes them.")
