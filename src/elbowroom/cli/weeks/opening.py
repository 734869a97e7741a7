"""What the commands of weeks share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from typing import TYPE_CHECKING, TypeVar

import click

from elbowroom.cli.record.opening import open_tools

if TYPE_CHECKING:
    from elbowroom.service.week_tools import WeekTools

Command = TypeVar("Command", bound=Callable[..., object])


def add_json_option(command: Command) -> Command:
    """Add the option that prints JSON."""
    return click.option("--json", "is_json", is_flag=True, help="Print JSON (`elbowroom schema weeks`).")(command)


def open_weeks() -> WeekTools:
    """Open the record with the tables of throwing weeks."""
    from elbowroom import bootstrap_weeks

    return bootstrap_weeks.build_week_tools(open_tools())


def read_day(given: datetime | None, otherwise: date) -> date:
    """Return the day that was given, or another where none was."""
    return given.date() if given else otherwise
