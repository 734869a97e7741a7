"""`elbowroom weeks`."""

from __future__ import annotations

import click

from elbowroom.cli.weeks.cohort import show_cohort
from elbowroom.cli.weeks.count import add_count
from elbowroom.cli.weeks.free import show_free
from elbowroom.cli.weeks.link import make_link
from elbowroom.cli.weeks.plan import make_plan
from elbowroom.cli.weeks.retest import compare_visits
from elbowroom.cli.weeks.returning import show_return
from elbowroom.cli.weeks.tables import list_tables
from elbowroom.cli.weeks.team import keep_team


@click.group("weeks", epilog="Example:  elbowroom weeks free 4f1c...")
def list_week_commands() -> None:
    """Counts and rest days, four weeks of throwing, the return to throwing, the retest, a team at one look.

    The pitch-count tables and where they come from: `elbowroom weeks tables`. What is shown is an aid for use by or
    with licensed clinicians, not a diagnosis; local rules and the treating clinician come first.
    """


for command in (
    list_tables,
    keep_team,
    add_count,
    show_free,
    make_link,
    make_plan,
    show_return,
    compare_visits,
    show_cohort,
):
    list_week_commands.add_command(command)
