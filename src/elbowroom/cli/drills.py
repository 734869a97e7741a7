"""`elbowroom drills`."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("drills", epilog="Example:  elbowroom drills chalk_line_stride --figure stride.svg")
@click.argument("key", required=False)
@click.option("--figure", type=click.Path(path_type=Path), help="Write the figure of the drill as SVG to this file.")
def show_drills(key: str | None, figure: Path | None) -> None:
    """List the library of drills, or show one with its doses, cues and figure."""
    from elbowroom import bootstrap_plan
    from elbowroom.service import library

    tables = bootstrap_plan.build_plan_tables()
    if not key:
        for line in library.list_drills(tables):
            click.echo(line)
        return
    drill = library.get_drill(tables, key)
    for line in library.list_drill(drill):
        click.echo(line)
    if figure:
        bootstrap_plan.write_text_file(figure, tables.draw_figure(drill))
        click.echo(f"Figure: {figure}")
