"""`elbowroom weeks tables`."""

from __future__ import annotations

import click


@click.command("tables", epilog="Example:  elbowroom weeks tables")
def list_tables() -> None:
    """List the pitch-count tables with their ages, limits, days of rest and sources.

    What a copy does not say is left out and named in docs/weeks.md.
    """
    from elbowroom import bootstrap_weeks
    from elbowroom.service.week_lines import list_table_lines

    for line in list_table_lines(bootstrap_weeks.build_week_tables()):
        click.echo(line)
