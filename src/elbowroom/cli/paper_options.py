"""What the commands that hand something out share: unit, sheet, language and which papers."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

import click

KINDS = ("family", "clinical", "note")
LANGUAGES = ("en", "es", "es-US")
"""The members of `PaperKind` and `Language`, which help need not load; a test compares them."""


def add_paper_options(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options; the command takes them as one argument, `wish`."""

    @click.option("--units", type=click.Choice(["cm", "in"]), default="cm", show_default=True, help="Unit of lengths.")
    @click.option("--paper", type=click.Choice(["letter", "a4"]), default="letter", show_default=True, help="Sheet.")
    @click.option("--language", type=click.Choice(LANGUAGES), default="en", show_default=True, help="Language.")
    @click.option(
        "--back-on",
        type=click.DateTime(["%Y-%m-%d"]),
        help="Day of the next visit, for the page of the family; a line to write on where left out.",
    )
    @click.option(
        "--papers",
        "kinds",
        type=click.Choice(KINDS),
        multiple=True,
        help="Also write a paper: the page for the family (family.pdf), the clinical report (clinical.pdf) or the note "
        "for the chart (note.txt). May be given several times.",
    )
    @wraps(command)
    def run(**options: Any) -> None:
        from elbowroom.bootstrap_papers import Wish

        names = ("units", "paper", "language", "kinds")
        back_on = options.pop("back_on")
        day = back_on.date() if back_on else None
        wish = Wish(**{name: options.pop(name) for name in names}, back_on=day)
        command(wish=wish, **options)

    return run
