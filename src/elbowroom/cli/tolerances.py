"""`elbowroom tolerances`."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("tolerances", epilog="Example:  elbowroom tolerances --out our-tolerances.csv")
@click.option(
    "--out", type=click.Path(path_type=Path), default=Path("tolerances.csv"), show_default=True, help="File to write."
)
@click.option("--replace", is_flag=True, help="Replace a file of that name.")
def write_tolerances(out: Path, replace: bool) -> None:
    """Write the tolerance table, for the clinic to edit its own copy.

    Name the copy in a visit file with tolerances = "our-tolerances.csv". A row without a source, a unit or a band of
    age and height is refused; change the version when you change a limit.
    """
    from elbowroom import bootstrap

    bootstrap.write_tolerances(out, may_replace=replace)
    click.echo(f"The tolerance table is in {out}.")
