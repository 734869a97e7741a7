"""The page of the loads' benchmark."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from benchmarks.load_speed import SpeedRow
from benchmarks.machine import describe_machine, render_machine, render_table
from elbowroom.core.loads.definitions import LARGEST
from elbowroom.core.quantities.types import NORMAL_95

if TYPE_CHECKING:
    from benchmarks.loads import LoadError, LoadSize

HEAD = """# Loads

Made by `python -m benchmarks.loads rendered/test --out benchmarks/results/loads.md`; do not edit. {machine}

## Speed

1,000 perturbed throws, 130 times each, four loads; processor time, one thread, least of three runs. The libraries and
our code agree to the stated share of the largest load. The target is 20 times.

{speed}
## Error against rendered truth by picture rate

Two phones of each right-hander's visit of the test set, true cameras and clocks, landmark noise of 2 to 3.5 px in
pictures of 1,280 by 720; reconstructed, instants found, loads of the largest values. Body and ball are the true ones,
so that only the motion's error counts. Below 200 pictures a second the product refuses loads; they are worked out
here to show why. Mean of (measured - true) / true, and mean of its absolute value, over {count} throws, in %.

{rates}
## Error by further smoothing, 240 pictures a second

{cuts}
## Coverage of the 95 % intervals

Share of intervals that hold the truth, in %, with the part for smoothing and without it, and their median half width as
a share of the true load.

{coverage}
## Size of the moments beside publications

Largest elbow varus moment of the true motion, as it is and through a zero-lag 13.4 Hz filter as laboratories use
(from memory); ratio: largest internal rotation moment over it. Body mass by age and height, our choice. Published
means: youth 18 (120 Hz, abstract) to 42 N m (abstract), adolescents 60 (from memory), adults 26 (abstract) to 64 N m
(from memory), up to 120 N m in older studies (from memory). Rendered motions are keyed by angles, not by muscles: their
arm stops laying back more sharply than a person's.

{sizes}
"""


def render_page(
    speed: Sequence[SpeedRow],
    errors: Sequence[LoadError],
    sizes: Sequence[LoadSize],
    choices: tuple[Sequence[float], Sequence[float]],
) -> str:
    """Render the page."""
    rates, cuts = choices
    plain = [row for row in errors if row.cut_hz == 0.0]
    at_240 = [row for row in errors if row.rate_hz == 240.0]
    columns = [(f"{rate:g} Hz", [row for row in plain if row.rate_hz == rate]) for rate in rates]
    smoothings = [("none", [row for row in at_240 if row.cut_hz == 0.0])]
    smoothings += [(f"{cut:g} Hz", [row for row in at_240 if row.cut_hz == cut]) for cut in cuts]
    return HEAD.format(
        machine=render_machine(describe_machine()),
        speed=render_speed(speed),
        count=len({row.visit for row in errors}),
        rates=render_errors(columns),
        cuts=render_errors(smoothings),
        coverage=render_coverage([column for column in columns if column[0] in ("240 Hz", "480 Hz")]),
        sizes=render_sizes(sizes),
    )


def render_speed(rows: Sequence[SpeedRow]) -> str:
    """Render the times and how many times faster ours is."""
    ours = rows[0].seconds
    cells = [
        [row.name, f"{row.seconds:.3f}", f"{row.seconds / ours:.1f}", f"{row.apart:.0e}" if row.apart else "—"]
        for row in rows
    ]
    return render_table(["way", "seconds", "times ours", "greatest difference"], cells)


def render_errors(columns: Sequence[tuple[str, Sequence[LoadError]]]) -> str:
    """Render mean and mean absolute error of the largest loads, a column a choice."""
    rows = []
    for definition in LARGEST.values():
        cells = [definition.words]
        for _, found in columns:
            shares = np.array([row.value / row.true_value - 1.0 for row in found if row.load == definition.key])
            cells.append(f"{100 * shares.mean():+.0f}, {100 * np.abs(shares).mean():.0f}" if len(shares) else "—")
        rows.append(cells)
    return render_table(["load", *(name for name, _ in columns)], rows)


def render_coverage(columns: Sequence[tuple[str, Sequence[LoadError]]]) -> str:
    """Render how many intervals hold the truth."""
    keys = [definition.key for definition in LARGEST.values()]
    rows = []
    for name, found in columns:
        largest = [row for row in found if row.load in keys]
        rest = [row for row in found if row.load not in keys]
        for kind, some in (("largest", largest), ("at layback", rest)):
            rows.append([name, kind, str(len(some)), *_list_coverage(some)])
    return render_table(["rate", "loads", "intervals", "held", "held without smoothing", "half width"], rows)


def _list_coverage(rows: Sequence[LoadError]) -> list[str]:
    apart = np.array([abs(row.value - row.true_value) for row in rows])
    whole, bare = (np.array([getattr(row, name) for row in rows]) for name in ("standard", "bare_standard"))
    widths = NORMAL_95 * whole / np.abs(np.array([row.true_value for row in rows]))
    held = [f"{100 * np.mean(apart <= NORMAL_95 * standard):.0f}" for standard in (whole, bare)]
    return [*held, f"{100 * np.median(widths):.0f} %"]


def render_sizes(rows: Sequence[LoadSize]) -> str:
    """Render the moments of the true motions."""
    cells = [
        [
            row.visit,
            f"{row.age_years:g}",
            f"{row.mass_kg:.0f}",
            f"{row.hand_m_s:.1f}",
            f"{row.varus_nm:.0f}",
            f"{row.ratio:.2f}",
            f"{row.filtered_nm:.0f}",
            f"{row.filtered_ratio:.2f}",
        ]
        for row in rows
    ]
    head = ["visit", "age", "mass kg", "hand m/s", "varus N m", "ratio", "filtered varus N m", "filtered ratio"]
    return render_table(head, cells)
