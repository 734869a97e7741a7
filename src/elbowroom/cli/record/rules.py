"""`elbowroom record rules`."""

from __future__ import annotations

from pathlib import Path

import click

from elbowroom.cli.record.opening import add_person_option, make_stamp, open_tools


@click.command("rules", epilog='Example:  elbowroom record rules my.csv --reason "our own order"')
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click.option("--write", "target", type=click.Path(path_type=Path), help="Write the rules that hold to this file.")
@click.option("--reason", default="", help="Why the rules are changed.")
@add_person_option
def change_rules(file: Path | None, target: Path | None, reason: str, person: str) -> None:
    """Read or change the rules that choose drills.

    Write them with --write, change the CSV, and give it back as FILE with a reason. The older versions stay.
    """
    from elbowroom import bootstrap_plan
    from elbowroom.service import drilling

    tables = bootstrap_plan.build_plan_tables()
    text = bootstrap_plan.read_rules_file(file) if file else ""
    tools = open_tools()
    if file:
        version = drilling.change_drill_rules(tools, tables, text, reason, make_stamp(tools, person))
        click.echo(f"Version {version} of the clinic's rules holds now.")
        return
    held, version = drilling.find_rules_text(tools, tables)
    words = f"version {version} of the clinic's rules" if version else "the packaged rules"
    if target:
        bootstrap_plan.write_text_file(target, held)
        click.echo(f"{target} holds {words}.")
    else:
        click.echo(held, nl=False)
