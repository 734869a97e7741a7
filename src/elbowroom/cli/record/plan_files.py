"""What the commands of the plan share: a form that is written, a file that is read, a result that is printed."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import click


def show_result(lines: Iterable[str], values: Mapping[str, Any], is_json: bool) -> None:
    """Print lines for the person at the screen, or the values as JSON."""
    if is_json:
        click.echo(json.dumps(values, ensure_ascii=False, indent=1))
        return
    for line in lines:
        click.echo(line)


def write_form(path: Path, text: str) -> None:
    """Write a form to be filled in and say where it is."""
    from elbowroom import bootstrap_plan

    bootstrap_plan.write_text_file(path, text)
    click.echo(f"Fill in {path}, then run the same line with it in the place of --form {path}.")


def read_today() -> date:
    """Return today's day on this machine."""
    return date.today()  # noqa: DTZ011
