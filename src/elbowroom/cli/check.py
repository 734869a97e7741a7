"""`elbowroom check`."""

from __future__ import annotations

import os

import click

from elbowroom.settings import read_settings


@click.command("check", epilog="Example:  elbowroom check")
@click.pass_context
def check_machine(context: click.Context) -> None:
    """Check this machine: Python, cores, memory, disk room, video decoders, weights.

    Ends with what is missing and what to do about it; the exit status is 1 then.
    """
    from elbowroom import bootstrap

    facts = bootstrap.list_facts(read_settings(os.environ))
    for fact in facts:
        click.echo(f"{'ok     ' if not fact.remedy else 'missing'}  {fact.what}: {fact.found}")
    remedies = [fact for fact in facts if fact.remedy]
    for fact in remedies:
        click.echo(f"To do for {fact.what}: {fact.remedy}.")
    if remedies:
        context.exit(1)
    click.echo("Everything is there.")
