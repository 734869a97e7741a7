"""`elbowroom schema`."""

from __future__ import annotations

import click


@click.command("schema", epilog="Example:  elbowroom schema > report.schema.json")
def show_schema() -> None:
    """Print the JSON Schema that every report.json keeps."""
    from elbowroom import bootstrap

    click.echo(bootstrap.render_schema())
