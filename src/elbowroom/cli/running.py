"""One way for every command to end: what is said on the error stream, and the exit status."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Sequence

import click

from elbowroom.errors import ElbowroomError

DEBUG_VARIABLE = "ELBOWROOM_DEBUG"
"""Set to 1, an unexpected error shows where it came from."""
UNEXPECTED, REFUSED, INTERRUPTED = 1, 2, 130
"""Exit status after an error of ours, after something the user can put right, and after Ctrl-C."""


def run_commands(commands: click.Group, words: Sequence[str] | None) -> int:
    """Run one command line and return its exit status; errors become one sentence, never a traceback."""
    try:
        status = commands.main(words, prog_name="elbowroom", standalone_mode=False)
    except (click.exceptions.Abort, KeyboardInterrupt):
        return say_end("Stopped; nothing was half-written.", INTERRUPTED)
    except click.exceptions.NoArgsIsHelpError as e:
        click.echo(e.format_message(), err=True)
        return REFUSED
    except click.ClickException as e:
        return say_end(describe_usage(e), REFUSED)
    except ElbowroomError as e:
        show_details()
        return say_end(str(e), REFUSED)
    except BrokenPipeError:
        # Who read our output has gone away, as `head` does; there is nobody to tell.
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
        return UNEXPECTED
    except Exception as e:  # noqa: BLE001
        show_details()
        return say_end(
            f"elbowroom itself failed ({type(e).__name__}): set {DEBUG_VARIABLE}=1, run the same line again and "
            "report what it prints.",
            UNEXPECTED,
        )
    return status if isinstance(status, int) else 0


def describe_usage(error: click.ClickException) -> str:
    """Return what is wrong with the words of a command line, and where the help is."""
    context = error.ctx if isinstance(error, click.UsageError) else None
    words = " ".join(error.format_message().split())
    place = context.command_path if context else "elbowroom"
    return f"{words.rstrip('.')}: see `{place} --help`."


def say_end(sentence: str, status: int) -> int:
    """Print one sentence on the error stream and give the status back."""
    click.echo(f"elbowroom: {' '.join(sentence.split())}", err=True)
    return status


def show_details() -> None:
    """Print where the present error came from, where the user asks for it."""
    if os.environ.get(DEBUG_VARIABLE, "") not in ("", "0"):
        traceback.print_exc()
