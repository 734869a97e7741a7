"""Makes docs/commands.md from the help of every command: `python -m tests.makers.commands_page` writes it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click

from elbowroom.cli.main import list_commands

PAGE = Path(__file__).resolve().parents[2] / "docs" / "commands.md"
HEAD = """\
# Commands

What each command prints with `--help`. `python3 run.py COMMAND ...` runs them from a checkout, `elbowroom COMMAND ...`
where the package is installed. Made from the code by `python -m tests.makers.commands_page`.

A command that cannot do its work says why in one sentence and ends with status 2; `check` ends with status 1 where
something is missing, `record check` where something changed. Ctrl-C leaves nothing half-written.
"""
WIDTH = 100


def make_page() -> str:
    """Return the page."""
    parts = [HEAD, make_part("elbowroom", list_commands, None)]
    parent = click.Context(list_commands, info_name="elbowroom", terminal_width=WIDTH)
    parts += [make_part(f"elbowroom {words}", command, parent) for words, command in walk_commands(list_commands)]
    return "\n".join(parts)


def walk_commands(group: click.Group, before: str = "") -> Iterator[tuple[str, click.Command]]:
    """Yield every command below a group with its words, a group before its own commands."""
    for name, command in group.commands.items():
        yield f"{before}{name}", command
        if isinstance(command, click.Group):
            yield from walk_commands(command, f"{before}{name} ")


def make_part(title: str, command: click.Command, parent: click.Context | None) -> str:
    """Return the part of the page for one command."""
    words = title.removeprefix("elbowroom ") if parent else title
    context = click.Context(command, parent=parent, info_name=words, terminal_width=WIDTH)
    context.help_option_names = ["-h", "--help"]
    lines = [line.rstrip() for line in command.get_help(context).splitlines()]
    return f"## {title}\n\n```text\n" + "\n".join(lines) + "\n```\n"


if __name__ == "__main__":
    PAGE.write_text(make_page(), encoding="utf-8")
