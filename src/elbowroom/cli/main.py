"""The group that holds every command."""

from __future__ import annotations

import sys
from collections.abc import Sequence

import click

from elbowroom import __version__
from elbowroom.cli.begin import begin_visit
from elbowroom.cli.board import print_board
from elbowroom.cli.check import check_machine
from elbowroom.cli.demo import run_demo
from elbowroom.cli.drills import show_drills
from elbowroom.cli.export import write_exported
from elbowroom.cli.faceless import write_faceless
from elbowroom.cli.judge import judge_capture
from elbowroom.cli.open import open_pages
from elbowroom.cli.places import predict_places
from elbowroom.cli.record.group import list_record_commands
from elbowroom.cli.running import run_commands
from elbowroom.cli.schema import show_schema
from elbowroom.cli.screen import screen_visit
from elbowroom.cli.tolerances import write_tolerances
from elbowroom.cli.weeks.group import list_week_commands
from elbowroom.cli.weights import prepare_weights

SETTINGS = {"help_option_names": ["-h", "--help"], "max_content_width": 100}


@click.group(name="elbowroom", context_settings=SETTINGS)
@click.version_option(__version__, prog_name="elbowroom")
def list_commands() -> None:
    """Screen overhead throws from phone clips, with stated uncertainty.

    Start with `elbowroom demo`. For your own clips: print the board with `elbowroom board`, film, put the clips of
    one athlete into a folder, run `elbowroom begin FOLDER`, fill in the file that it writes, and run
    `elbowroom screen FOLDER`.
    """


for command in (
    run_demo,
    begin_visit,
    screen_visit,
    judge_capture,
    write_exported,
    write_faceless,
    print_board,
    predict_places,
    prepare_weights,
    write_tolerances,
    show_drills,
    show_schema,
    check_machine,
    list_record_commands,
    list_week_commands,
    open_pages,
):
    list_commands.add_command(command)


def main(words: Sequence[str] | None = None) -> None:
    """Run one command line, the program's own where none is given, and exit with its status."""
    sys.exit(run_commands(list_commands, words))
