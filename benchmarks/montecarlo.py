"""First-order uncertainty against Monte Carlo on reconstructed throws, landmark noise alone, instants held.

Run from the root: `python -m benchmarks.montecarlo rendered/test --out benchmarks/results/montecarlo`.
"""

from __future__ import annotations

import argparse
import os
from dataclasses import dataclass
from math import sqrt
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve_banded
from threadpoolctl import threadpool_limits

from benchmarks.errors import find_measure_setting
from benchmarks.machine import describe_machine, render_machine, render_table
from benchmarks.truth import find_visits
from benchmarks.visits import BenchVisit, Options, measure_folder
from elbowroom.core.chain.types import MeasuredThrow
from elbowroom.core.landmarks.names import JOINTS, OTHER_SIDE, Joint
from elbowroom.core.measures.measure import Draws, measure_curves, measure_deviation
from elbowroom.core.measures.propagate import Covariance, propagate_first_order_standard
from elbowroom.core.measures.registry import RULES
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.draws import MIRROR, draw_noise, mirror_curves
from elbowroom.core.reconstruction.types import Curves, Motion
from elbowroom.settings import read_settings

Array = NDArray[np.float64]

DRAWS = 2000
"""Draws: the standard deviation of a Gaussian is then known to 1.6 %."""
SIZE = JOINTS * 3
"""Unknowns of a control point."""


@dataclass(frozen=True, kw_only=True)
class Ratio:
    """One measure of one throw."""

    visit: str
    """Name of the visit."""
    throw: int
    """Number of the throw."""
    key: str
    """Measure."""
    is_over_phase: bool
    """Whether it is a largest or lowest value, which noise shifts and first order cannot follow."""
    first_order: float
    """Standard uncertainty by first order."""
    drawn: float
    """Standard deviation of the draws."""


def build_covariance(motion: Motion, is_left: bool) -> Covariance:
    """Build the covariance of chosen control points from the motion's own factor, mirrored for a left-hander."""

    def find_block(points: NDArray[np.int64]) -> Array:
        columns = (points[:, None] * SIZE + np.arange(SIZE)).ravel()
        right = np.zeros((motion.factor.shape[1], len(columns)))
        right[columns, np.arange(len(columns))] = 1.0
        block: Array = cho_solve_banded((motion.factor, True), right)[columns]
        return mirror_block(block) if is_left else block

    return find_block


def mirror_block(block: Array) -> Array:
    """Mirror a covariance: sides exchanged, y reversed."""
    order = np.array([OTHER_SIDE[Joint(joint)] for joint in range(JOINTS)])
    count = len(block) // SIZE
    columns = (np.arange(count)[:, None, None] * SIZE + order[:, None] * 3 + np.arange(3)).ravel()
    signs = np.tile(MIRROR, count * JOINTS)
    turned: Array = block[np.ix_(columns, columns)] * signs[:, None] * signs
    return turned


def draw_throw(motion: Motion, is_left: bool) -> Curves:
    """Draw a motion's landmark noise; draw 0 is the best estimate."""
    noise = draw_noise(motion, DRAWS, np.random.default_rng(4))
    best = motion.coefficients_m[None]
    curves = Curves(knots_s=motion.knots_s, coefficients_m=np.concatenate([best, best + noise]))
    return mirror_curves(curves) if is_left else curves


def compare_throw(bench: BenchVisit, throw: MeasuredThrow) -> list[Ratio]:
    """Compare both ways for all measures of a throw."""
    curves = draw_throw(throw.motion, bench.truth.is_left)
    setting, covariance = find_measure_setting(bench), build_covariance(throw.motion, bench.truth.is_left)
    held = {name: np.repeat(times[:1], DRAWS + 1) for name, times in throw.times_s.items()}
    values = measure_curves(curves, held, setting)
    first: Draws = (curves, held)
    ratios = []
    for rule in RULES:
        key, drawn = rule.definition.key, values[rule.definition.key]
        if isinstance(drawn, Absent) or rule.definition.unit in ("s", "%") or not np.isfinite(drawn).all():
            continue
        standard = propagate_first_order_standard(key, first, setting, covariance)
        if isinstance(standard, Absent) or standard == 0.0:
            continue
        scatter = float(np.std(measure_deviation(drawn[1:], drawn[0], rule.definition.unit), ddof=1))
        ratios.append(
            Ratio(
                visit=bench.truth.name,
                throw=throw.number,
                key=key,
                is_over_phase=rule.is_over_phase,
                first_order=standard,
                drawn=scatter,
            )
        )
    return ratios


def render_ratios(ratios: list[Ratio]) -> str:
    """Render the ratios in Markdown, one row a measure."""
    rows = []
    for key in dict.fromkeys(item.key for item in ratios):
        chosen = [item for item in ratios if item.key == key]
        found = np.array([item.first_order / item.drawn for item in chosen])
        kind = "largest or lowest" if chosen[0].is_over_phase else "at an instant"
        cells = [f"{value:.3f}" for value in (np.median(found), found.min(), found.max())]
        rows.append([key.replace("_", " "), kind, str(len(found)), *cells])
    at_instants = np.array([item.first_order / item.drawn for item in ratios if not item.is_over_phase])
    return "\n".join(
        [
            "# First-order uncertainty over Monte Carlo\n",
            render_machine(describe_machine()) + "\n",
            f"Landmark noise alone, instants held, {DRAWS} draws a throw (the scatter of a Gaussian is then known to "
            f"{100 / sqrt(2 * DRAWS):.1f} %). Measures at an instant: median ratio {np.median(at_instants):.3f}, "
            f"{100 * np.mean(np.abs(at_instants - 1) < 0.05):.0f} % within 5 %, "
            f"{100 * np.mean(np.abs(at_instants - 1) < 0.15):.0f} % within 15 % of 1. Largest and lowest values "
            "shift with noise, which first order cannot follow: the product takes its budget from draws.\n",
            render_table(("measure", "kind", "throws", "median ratio", "least", "largest"), rows),
        ]
    )


def main() -> None:
    """Compare the first throw of every visit of a set."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.montecarlo", description=__doc__)
    parser.add_argument("folder", type=Path, help="folder of a rendered set, or of one visit")
    parser.add_argument("--most", type=int, default=6, help="most visits to use")
    parser.add_argument("--out", type=Path, default=Path("benchmarks/results/montecarlo"), help="result, no ending")
    given = parser.parse_args()
    options = Options(models_folder=read_settings(os.environ).models_folder)
    ratios = []
    with threadpool_limits(limits=1):
        for folder in find_visits(given.folder)[: given.most]:
            bench = measure_folder(folder, options)
            ratios += compare_throw(bench, bench.visit.throws[0])
            print(f"{folder.name}: {len(ratios)} ratios", flush=True)
    given.out.parent.mkdir(parents=True, exist_ok=True)
    given.out.with_suffix(".md").write_text(render_ratios(ratios), encoding="utf-8")


if __name__ == "__main__":
    main()
