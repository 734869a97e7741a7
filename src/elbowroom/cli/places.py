"""`elbowroom places`."""

from __future__ import annotations

from pathlib import Path

import click

TWO_PHONES = ((0.5, -5.0, 1.3), (-5.0, 0.3, 1.4))
"""Open side and behind, as for a right-hander."""


@click.command(
    "places",
    epilog="Example:  elbowroom places --height-cm 160 --phone 0.5 -5 1.3 --phone -5 0.3 1.4 --guide guide.pdf",
)
@click.option("--height-cm", type=click.FloatRange(90, 240), required=True, help="Standing height of the athlete.")
@click.option("--hand", type=click.Choice(["right", "left"]), default="right", show_default=True, help="Throwing hand.")
@click.option(
    "--phone",
    "phones",
    type=(float, float, float),
    multiple=True,
    metavar="AHEAD LEFT UP",
    help="Place of a phone from the pivot foot in metres: ahead towards the target (behind is negative), to the left "
    "of the line to the target (right is negative), and up. One for each phone; without any: open side and behind.",
)
@click.option(
    "--known",
    type=click.Choice(["board", "tape", "nothing"]),
    default="nothing",
    show_default=True,
    help="What is laid out besides: the printed board, a tape towards the target, or nothing.",
)
@click.option("--tape-m", type=click.FloatRange(0.5, 10), default=1.6, show_default=True, help="Length of the tape.")
@click.option("--guide", type=click.Path(path_type=Path), help="Write a one-page filming guide to this PDF.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Paper of the guide."
)
@click.option("--replace", is_flag=True, help="Replace a guide of that name.")
def predict_places(
    height_cm: float,
    hand: str,
    phones: tuple[tuple[float, float, float], ...],
    known: str,
    tape_m: float,
    **printed: object,
) -> None:
    """Say before filming how well phones at planned places will measure, and where to move one.

    A typical throw is sent through the same steps as your clips would be, and the intervals of the four headline
    measures are told with what makes most of each. Takes up to two minutes.
    """
    from elbowroom import bootstrap_filming
    from elbowroom.service.placing import build_request

    sides = 1.0 if hand == "right" else -1.0
    places = phones or tuple((x, sides * y, z) for x, y, z in TWO_PHONES)
    advice = bootstrap_filming.predict_filming(build_request(height_cm / 100.0, hand, places, known, tape_m))
    for line in describe_advice_lines(advice):
        click.echo(line)
    if isinstance(printed["guide"], Path):
        bootstrap_filming.write_guide(
            advice, printed["guide"], str(printed["paper"]), may_replace=bool(printed["replace"])
        )
        click.echo(f"The filming guide is in {printed['guide']}.")


def describe_advice_lines(advice: object) -> tuple[str, ...]:
    """Return the advice in lines."""
    from elbowroom.service.placing import describe_advice
    from elbowroom.service.placing_types import FilmingAdvice

    assert isinstance(advice, FilmingAdvice)
    return describe_advice(advice)
