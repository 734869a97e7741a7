"""Printing the filming guide as a page of PDF."""

from __future__ import annotations

import json
from importlib.resources import files
from math import hypot
from typing import Literal

import typst

from elbowroom.core.findings.report import ThrowingHand
from elbowroom.service.placing_types import FilmingAdvice

DRAWN_MM = (174.0, 76.0)
"""Width and height of the drawing of the ground."""
MARGIN_MM = 9.0
"""Room left about what is drawn."""
SIGHT_MM = 14.0
"""Length of the line that shows where a phone looks."""
PAPERS = {"a4": "a4", "letter": "us-letter"}
"""Papers by the names that the commands use."""


def render_guide(advice: FilmingAdvice, paper: str = "a4", form: Literal["pdf", "png"] = "pdf") -> bytes:
    """Return the guide as `pdf` or `png` bytes, one page."""
    template = files("elbowroom").joinpath("adapters", "guide", "guide.typ").read_bytes()
    return typst.compile(
        template, format=form, ppi=110.0, sys_inputs={"sheet": json.dumps(describe_guide(advice, paper))}
    )


def describe_guide(advice: FilmingAdvice, paper: str) -> dict[str, object]:
    """Return what the template shows."""
    request = advice.request
    hand = "right-handed" if request.athlete.hand is ThrowingHand.RIGHT else "left-handed"
    return {
        "title": "Filming guide",
        "subtitle": f"For a {hand} thrower {100 * request.athlete.height_m:.0f} cm tall; "
        f"{len(request.plan.places_m)} phone(s) at {request.plan.rate_hz:.0f} pictures a second.",
        "paper": PAPERS[paper],
        "ground": describe_ground(request.plan.places_m),
        "places": [phrase_phone(number, place) for number, place in enumerate(request.plan.places_m, start=1)],
        "steps": list(advice.steps),
        "refusal": advice.refusal,
        "measures": [[item.words, item.spread, item.dominant] for item in advice.measures],
        "moves": list(advice.moves),
        "caution": advice.caution,
    }


def phrase_phone(number: int, place_m: tuple[float, float, float]) -> str:
    """Return where a phone stands in words, seen by someone who faces the target."""
    x, y, z = place_m
    along = f"{abs(x):.1f} m {'ahead of' if x >= 0 else 'behind'} the pivot foot"
    side = f"{abs(y):.1f} m to the {'left' if y >= 0 else 'right'} of the line to the target"
    return f"Phone {number}: {along}, {side}, lens {z:.1f} m high, looking at the thrower's belt."


def describe_ground(places_m: tuple[tuple[float, float, float], ...]) -> dict[str, object]:
    """Return the drawing of the ground from above, the target to the right, in millimetres."""
    spots = [(0.0, 0.0), (2.0, 0.0), *((x, y) for x, y, _ in places_m)]
    low_x, high_x = min(x for x, _ in spots), max(x for x, _ in spots)
    low_y, high_y = min(y for _, y in spots), max(y for _, y in spots)
    room = DRAWN_MM[0] - 2 * MARGIN_MM, DRAWN_MM[1] - 2 * MARGIN_MM
    scale = min(room[0] / max(high_x - low_x, 1.0), room[1] / max(high_y - low_y, 1.0))

    def place(x: float, y: float) -> tuple[float, float]:
        return MARGIN_MM + scale * (x - low_x), MARGIN_MM + scale * (high_y - y)

    thrower = place(0.0, 0.0)
    end = place(high_x, 0.0)
    return {
        "height": DRAWN_MM[1],
        "thrower": thrower,
        "line": (*thrower, max(end[0] - thrower[0], 20.0)),
        "target": (thrower[0] + max(end[0] - thrower[0], 20.0) - 20.0, thrower[1] - 5.0),
        "phones": [
            {"number": number, "at": (at := place(x, y)), "sight": scale_sight(at, thrower)}
            for number, (x, y, _) in enumerate(places_m, start=1)
        ],
        "words": f"Seen from above; 10 mm on the sheet are {10.0 / scale:.1f} m.",
    }


def scale_sight(at: tuple[float, float], thrower: tuple[float, float]) -> tuple[float, float]:
    """Return the line from a phone towards the thrower, as drawn."""
    across, down = thrower[0] - at[0], thrower[1] - at[1]
    share = SIGHT_MM / max(hypot(across, down), SIGHT_MM)
    return share * across, share * down
