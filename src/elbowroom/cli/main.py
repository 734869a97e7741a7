"""The group that holds every command."""

from __future__ import annotations

import click

from elbowroom import __version__


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="elbowroom")
def main() -> None:
    """Screen overhead throws from phone clips, with stated uncertainty."""
