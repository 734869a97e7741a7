"""Every command has help, an example, and a page that is up to date.

Sides: the page as it is in git against the page made from the commands; the help as a user gets it, in a process of
its own, against the page; each rule seen failing on a planted command.
"""

from __future__ import annotations

import subprocess
import sys

import click
import pytest

from elbowroom.cli.main import list_commands
from tests.makers.commands_page import PAGE, make_page, make_part, walk_commands

COMMANDS = dict(walk_commands(list_commands))
NAMES = sorted(COMMANDS)


def find_help_problems(name: str, command: click.Command) -> list[str]:
    """Name what the help of a command lacks."""
    problems = []
    if len((command.help or "").split()) < 8:
        problems.append(f"{name} does not say what it does")
    if not (command.epilog or "").startswith(f"Example:  elbowroom {name}"):
        problems.append(f"{name} has no example")
    options = [item for item in command.params if isinstance(item, click.Option)]
    return problems + [f"{name} {item.opts[0]} has no help" for item in options if not item.help]


def run_command(*words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "elbowroom", *words]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_page_is_up_to_date() -> None:
    assert PAGE.read_text(encoding="utf-8") == make_page(), "run: python -m tests.makers.commands_page"


@pytest.mark.parametrize("name", NAMES)
def test_command_explains_itself(name: str) -> None:
    assert find_help_problems(name, COMMANDS[name]) == []


@pytest.mark.parametrize(
    "words", [(), *(tuple(name.split()) for name in NAMES)], ids=lambda words: " ".join(words) or "group"
)
def test_help_is_the_one_on_the_page(words: tuple[str, ...]) -> None:
    result = run_command(*words, "--help")
    assert (result.returncode, result.stderr) == (0, "")
    page = " ".join(PAGE.read_text(encoding="utf-8").split())
    assert " ".join(result.stdout.replace("behind-\n", "behind-").split())[:60] in page


def test_example_on_the_page_starts_with_the_program() -> None:
    examples = [line for line in PAGE.read_text(encoding="utf-8").splitlines() if "Example:" in line]
    assert len(examples) == len(NAMES)


@click.command(help="Too short.")
@click.option("--out")
def plant(out: str) -> None:
    pass


def test_lacking_help_is_noticed() -> None:
    assert find_help_problems("plant", plant) == [
        "plant does not say what it does",
        "plant has no example",
        "plant --out has no help",
    ]
    assert make_part("elbowroom plant", plant, None) not in make_page()
