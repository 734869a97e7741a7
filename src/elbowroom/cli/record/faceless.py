"""`elbowroom record faceless`."""

from __future__ import annotations

import os
from pathlib import Path

import click

from elbowroom.cli.faceless import describe_hidden
from elbowroom.cli.progress import ProgressLine
from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools, read_place
from elbowroom.settings import read_settings


@click.command(
    "faceless", epilog="Example:  elbowroom record faceless 77aa... teaching/A-17 --for teaching --code A-17"
)
@click.argument("visit_id")
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--for", "purpose", type=click.Choice(["teaching", "research"]), required=True, help="What it is for.")
@click.option("--code", required=True, help="What stands for the athlete in the names of the files.")
@add_person_option
def write_faceless_visit(visit_id: str, out: Path, purpose: str, code: str, person: str) -> None:
    """Write the clips of a kept visit with every head hidden, where a consent covers it.

    Refused where the athlete, or for a minor the guardian, gave no consent for that purpose or withdrew it. The trail
    says that the clips were given. Look through them before you give them away.
    """
    from elbowroom import bootstrap_exchange
    from elbowroom.service.faceless import FacelessPlan
    from elbowroom.service.record_types import Purpose

    tools = open_tools()
    plan = FacelessPlan(
        purpose=Purpose(purpose),
        code=code,
        folder=out,
        stamp=make_stamp(tools, person),
        open_folder=bootstrap_exchange.find_passing_folder(read_place()),
    )
    progress = ProgressLine()
    try:
        hidden = bootstrap_exchange.write_faceless_visit(
            tools, visit_id, plan, read_settings(os.environ), (progress.show_line, progress)
        )
    finally:
        progress.close_line()
    for name, found in hidden.items():
        click.echo(describe_hidden(name, found))
