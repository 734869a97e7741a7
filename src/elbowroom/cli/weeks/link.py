"""`elbowroom weeks link`."""

from __future__ import annotations

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp
from elbowroom.cli.weeks.opening import open_weeks


@click.command("link", epilog='Example:  elbowroom weeks link 4f1c... --shown "Player 12" --for "coach of the Herons"')
@click.argument("athlete_id")
@click.option("--shown", required=True, help="Name or code of the athlete that the page shows.")
@click.option("--for", "holder", required=True, help="Who gets the link.")
@click.option("--days", type=int, default=90, help="Days until it expires.")
@add_person_option
def make_link(athlete_id: str, shown: str, holder: str, days: int, person: str) -> None:
    """Make a link by which a coach or parent sends counts from a phone, without an account.

    The page behind it shows the name that you choose, the counts and when the athlete may pitch again, nothing of
    health. The link is printed once and cannot be read from the record.
    """
    from elbowroom import bootstrap_weeks
    from elbowroom.service import count_links

    tools = open_weeks()
    code = bootstrap_weeks.make_code()
    words = (shown, holder)
    link = count_links.make_link(tools.record, athlete_id, code, words, days, make_stamp(tools.record, person))
    click.echo(f"/count/{code}")
    click.echo(f"Put the address of elbowroom's pages before it. It works until {link.ends_at:%Y-%m-%d %H:%M} UTC.")
