"""Makes docs/commands.md from the help of every command: `python -m tests.makers.commands_page` writes it."""

from __future__ import annotations

from pathlib import Path

import click

from elbowroom.cli.main import list_commands

PAGE = Path(__file__).resolve().parents[2] / "docs" / "commands.md"
HEAD = """\
# Commands

What each command prints with `--help`. `python3 run.py COMMAND ...` runs them from a checkout, `elbowroom COMMAND ...`
where the package is installed. Made from the code by `python -m tests.makers.commands_page`.

A command that cannot do its work says why in one sentence and ends with status 2; `check` ends with status 1 where
something is missing. Ctrl-C leaves nothing half-written.
"""
WIDTH = 100


def make_page() -> str:
    """Return the page."""
    parts = [HEAD, make_part("elbowroom", list_commands, None)]
    parent = click.Context(list_commands, info_name="elbowroom", terminal_width=WIDTH)
    parts += [make_part(f"elbowroom {name}", command, parent) for name, command in list_commands.commands.items()]
    return "\n".join(parts)


def make_part(title: str, command: click.Command, parent: click.Context | None) -> str:
    """Return the part of the page for one command."""
    context = click.Context(command, parent=parent, info_name=title.split()[-1], terminal_width=WIDTH)
    context.help_option_names = ["-h", "--help"]
    lines = [line.rstrip() for line in command.get_help(context).splitlines()]
    return f"## {title}\n\n```text\n" + "\n".join(lines) + "\n```\n"


if __name__ == "__main__":
    PAGE.write_text(make_page(), encoding="utf-8")
