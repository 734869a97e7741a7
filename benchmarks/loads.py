"""Loads: speed, error against rendered truth by picture rate and smoothing, coverage, and size beside publications.

Run from the root: `python -m benchmarks.loads rendered/test --out benchmarks/results/loads.md`.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from benchmarks.load_speed import measure_speed
from benchmarks.load_tables import render_page
from benchmarks.load_views import simulate_views
from benchmarks.truth import VisitTruth, build_true_curves, find_true_instants, find_visits, list_throws, read_truth
from elbowroom.adapters.tables.bones import read_bone_shares
from elbowroom.adapters.tables.loads import read_load_tables
from elbowroom.core.cameras.project import project_with_jacobian
from elbowroom.core.geometry.filters import filter_low_pass
from elbowroom.core.geometry.splines import evaluate_curves
from elbowroom.core.instants.find import draw_times, find_instants
from elbowroom.core.instants.types import InstantName
from elbowroom.core.loads.bodies import build_arm_numbers
from elbowroom.core.loads.measure import NEEDED, STEP_S, measure_loads, read_loads
from elbowroom.core.loads.series import solve_loads
from elbowroom.core.loads.smoothing import smooth_curves
from elbowroom.core.loads.types import BallKind, LoadDraws, LoadTables, Sex, Thrower
from elbowroom.core.quantities.types import NORMAL_95, Absent, Source, Uncertain
from elbowroom.core.reconstruction.draws import draw_curves
from elbowroom.core.reconstruction.priors import build_priors
from elbowroom.core.reconstruction.solve import reconstruct_throw
from elbowroom.core.reconstruction.types import Curves
from tests.makers.throws import fit_curves

Array = NDArray[np.float64]

RATES_HZ = (60.0, 120.0, 240.0, 480.0)
CUTS_HZ = (10.0, 13.4, 20.0, 30.0)
LAB_HZ = 13.4
"""Cut-off of a usual laboratory filter for pitching (from memory)."""
DRAWS = 100
NOT_OURS = (Source.BODY, Source.BALL)
"""Sources that truth and measurement share here: both take the same body and ball."""


@dataclass(frozen=True, kw_only=True)
class LoadError:
    """One load of one throw against truth."""

    visit: str
    """Name of the visit."""
    rate_hz: float
    """Picture rate."""
    cut_hz: float
    """Cut-off of further smoothing; 0 for none."""
    load: str
    """Key of the load."""
    true_value: float
    """Load from the true motion."""
    value: float
    """Load from the reconstructed motion."""
    standard: float
    """Stated standard uncertainty, 0 where none was worked out."""
    bare_standard: float
    """The same without the part for smoothing."""


@dataclass(frozen=True, kw_only=True)
class LoadSize:
    """The largest moment of a true motion, as it is and through a laboratory's filter."""

    visit: str
    """Name of the visit."""
    age_years: float
    """Age of the thrower."""
    mass_kg: float
    """Body mass taken."""
    hand_m_s: float
    """Hand speed at release."""
    varus_nm: float
    """Largest elbow varus moment."""
    ratio: float
    """Largest internal rotation moment over it."""
    filtered_nm: float
    """Largest elbow varus moment of the filtered motion."""
    filtered_ratio: float
    """Largest internal rotation moment over it, filtered."""


def describe_thrower(truth: VisitTruth) -> Thrower:
    """Describe the rendered athlete; the body mass goes by age and height, as no mass is rendered (our choice)."""
    athlete = truth.story["athlete"]
    age, height = float(athlete["age_years"]), float(athlete["height_m"])
    mass = (17.0 + 0.35 * min(age, 18.0)) * height**2
    sex = Sex.FEMALE if athlete["sex"] > 0.5 else Sex.MALE
    return Thrower(age_years=age, height_m=height, mass_kg=mass, sex=sex, ball=BallKind.BASEBALL)


def find_loads(
    curves: Curves, times: dict[InstantName, Array], thrower: Thrower, tables: LoadTables
) -> dict[str, Array]:
    """Find the loads of every draw of curves at given instants."""
    start_s = float(times[InstantName.FOOT_CONTACT][0]) - 0.05
    grid = np.arange(start_s, float(times[InstantName.RELEASE][0]) + 0.06, STEP_S)
    numbers = build_arm_numbers(thrower, tables)
    return read_loads(solve_loads(curves, grid, numbers, times[InstantName.RELEASE]), times)


def measure_errors(truth: VisitTruth, number: int, rate_hz: float, tables: LoadTables) -> list[LoadError]:
    """Measure one throw at one rate against its truth, as it is and smoothed further."""
    generator = np.random.default_rng([round(rate_hz), *truth.name.encode()])
    thrower, true_times = describe_thrower(truth), find_true_instants(truth, number)
    true = find_loads(
        build_true_curves(truth, number), {name: np.array([true_times[name]]) for name in NEEDED}, thrower, tables
    )
    views, window = simulate_views(truth, number, rate_hz, generator)
    priors = build_priors(read_bone_shares(), thrower.height_m, 0.0)
    motion = reconstruct_throw(views, window, priors, project_with_jacobian, True)
    noisy = draw_curves(motion, Source.LANDMARKS, DRAWS, generator)
    _, times = find_instants(noisy, rate_hz)
    if any(name not in times for name in NEEDED):
        return []
    still = Curves(
        knots_s=noisy.knots_s, coefficients_m=np.broadcast_to(noisy.coefficients_m[:1], noisy.coefficients_m.shape)
    )
    by_source = {
        Source.LANDMARKS: (noisy, times),
        Source.TIMING: (still, draw_times(times, generator, DRAWS + 1, rate_hz)),
    }
    loads = measure_loads(LoadDraws(by_source=by_source, thrower=thrower, tables=tables), generator)
    if isinstance(loads, Absent):
        return []
    found = {key: value for key, value in loads.values.items() if isinstance(value, Uncertain)}
    rows = [compare_load(truth.name, rate_hz, key, float(true[key][0]), value) for key, value in found.items()]
    first = {name: np.repeat(times[name][:1], len(CUTS_HZ) + 1) for name in NEEDED}
    smoothed = find_loads(smooth_curves(still, np.array(CUTS_HZ)), first, thrower, tables)
    return rows + [
        LoadError(
            visit=truth.name, rate_hz=rate_hz, cut_hz=cut, load=key, true_value=float(true[key][0]),
            value=float(smoothed[key][1 + place]), standard=0.0, bare_standard=0.0,
        )
        for key in smoothed
        for place, cut in enumerate(CUTS_HZ)
    ]  # fmt: skip


def compare_load(visit: str, rate_hz: float, key: str, true_value: float, value: Uncertain) -> LoadError:
    """Compare one load with its truth; the parts that both share are left out of the interval."""
    parts = {part.source: part.standard for part in value.parts if part.source not in NOT_OURS}
    bare = sum(standard**2 for source, standard in parts.items() if source is not Source.SMOOTHING)
    return LoadError(
        visit=visit,
        rate_hz=rate_hz,
        cut_hz=0.0,
        load=key,
        true_value=true_value,
        value=value.value,
        standard=sqrt(sum(standard**2 for standard in parts.values())),
        bare_standard=sqrt(bare),
    )


def is_covered(row: LoadError, standard: float) -> bool:
    """Say whether the 95 % interval holds the truth."""
    return abs(row.value - row.true_value) <= NORMAL_95 * standard


def measure_size(truth: VisitTruth, number: int, tables: LoadTables) -> LoadSize:
    """Measure the moments of a true motion, as it is and through a laboratory's filter."""
    curves, thrower = build_true_curves(truth, number), describe_thrower(truth)
    times = {name: np.array([find_true_instants(truth, number)[name]]) for name in NEEDED}
    fine = np.arange(curves.knots_s[0], curves.knots_s[-1], 1 / 480)
    joints = evaluate_curves(curves.knots_s, curves.coefficients_m, fine)[0]
    filtered = fit_curves(fine, filter_low_pass(joints, 480.0, LAB_HZ))
    both = [find_loads(item, times, thrower, tables) for item in (curves, filtered)]
    varus = [float(loads["largest_elbow_varus_moment"][0]) for loads in both]
    turning = [float(loads["largest_shoulder_internal_rotation_moment"][0]) for loads in both]
    return LoadSize(
        visit=truth.name,
        age_years=thrower.age_years,
        mass_kg=thrower.mass_kg,
        hand_m_s=float(truth.story["motions"][number]["hand_speed_m_s"]),
        varus_nm=varus[0],
        ratio=turning[0] / varus[0],
        filtered_nm=varus[1],
        filtered_ratio=turning[1] / varus[1],
    )


def run_benchmark(folders: Sequence[Path], throws: int) -> str:
    """Run everything and return the page."""
    tables = read_load_tables()
    truths = [read_truth(folder) for folder in folders]
    right = [truth for truth in truths if not truth.is_left]
    errors = [
        row
        for truth in right
        for number in list_throws(truth)[:1]
        for rate in RATES_HZ
        for row in measure_errors(truth, number, rate, tables)
    ]
    sizes = [measure_size(truth, list_throws(truth)[0], tables) for truth in truths]
    return render_page(measure_speed(throws, 130), errors, sizes, (RATES_HZ, CUTS_HZ))


def main() -> None:
    """Read the command line, run, write the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--throws", type=int, default=1000)
    said = parser.parse_args()
    with threadpool_limits(limits=1):
        page = run_benchmark(find_visits(said.folder), said.throws)
    said.out.write_text(page, encoding="utf-8")


if __name__ == "__main__":
    main()
