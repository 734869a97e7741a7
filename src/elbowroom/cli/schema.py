"""`elbowroom schema`."""

from __future__ import annotations

import click

NAMES = ("report", "intake", "standing", "exam", "findings", "drills", "weeks")


@click.command("schema", epilog="Example:  elbowroom schema > report.schema.json")
@click.argument("name", type=click.Choice(NAMES), default="report")
def show_schema(name: str) -> None:
    """Print a JSON Schema: of every report.json, or of what goes into and comes out of the plan."""
    from elbowroom import bootstrap, bootstrap_plan, bootstrap_weeks

    if name == "weeks":
        click.echo(bootstrap_weeks.render_weeks_schema())
    else:
        click.echo(bootstrap.render_schema() if name == "report" else bootstrap_plan.render_plan_schema(name))
