"""What each correction buys where the cameras come from the thrower, and how near the errors come to their bound.

Run from the root: `python -m benchmarks.camera_gains rendered/test/test-01 rendered/test/test-05 ...`. Each visit is
calibrated with everything, and again with one correction at a time left out; the curves are then held against the truth
at the true instants, so that only places differ. `benchmarks/README.md` says what each line means.
"""

from __future__ import annotations

import argparse
import json
import os
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from scipy.spatial.transform import Rotation
from threadpoolctl import threadpool_limits

from benchmarks.errors import keep_finite
from benchmarks.machine import describe_machine
from benchmarks.no_board import strip_plan
from benchmarks.truth import (
    VisitTruth,
    build_true_camera,
    build_true_curves,
    convert_from_world,
    convert_to_world,
    find_true_instants,
    find_visits,
    list_throws,
    plan_visit,
    read_truth,
)
from benchmarks.visits import Options, open_clips, prepare_tools
from elbowroom.core.cameras.project import project_with_jacobian
from elbowroom.core.cameras.types import LENS_PARAMETERS, Camera, FieldSetUp
from elbowroom.core.chain import calibrating
from elbowroom.core.chain.measuring import build_setting as build_measure_setting
from elbowroom.core.chain.timing import combine_timing
from elbowroom.core.chain.tracking import track_clip
from elbowroom.core.chain.types import ChainSetting, ClipThrows, TrackedThrow
from elbowroom.core.chain.visit import find_window, place_view, tie_clock
from elbowroom.core.findings.report import ThrowingHand
from elbowroom.core.measures.measure import measure_deviation
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction import adjust, terms
from elbowroom.core.reconstruction.adjust import Adjusted, AdjustSetting, AdjustThrow
from elbowroom.core.reconstruction.draws import mirror_curves
from elbowroom.core.reconstruction.free_terms import CAMERA_UNITS, CLIP_UNKNOWNS, CLOCK_UNIT_S, DRIFT_UNIT
from elbowroom.core.reconstruction.solve import reconstruct_throw
from elbowroom.core.reconstruction.types import Curves, ViewedThrow
from elbowroom.errors import ElbowroomError
from elbowroom.service.from_thrower import ThrowerVisit, assume_cameras, find_from_thrower
from elbowroom.service.screening import build_setting, gather_clip
from elbowroom.service.visit_plan import VisitPlan
from elbowroom.settings import read_settings

PICTURE_S = 1.0 / 240.0
KEYS = (
    "elbow_to_shoulder_line_at_foot_contact",
    "elbow_to_shoulder_line_at_layback",
    "elbow_flexion_at_layback",
    "trunk_opening_at_foot_contact",
    "stride_offset",
    "stride_length",
    "hand_speed_at_release",
)
"""Measures that are compared."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """One visit, ready to be calibrated."""

    truth: VisitTruth
    """The truth."""
    plan: VisitPlan
    """The plan without board and marks, with a tape."""
    clips: tuple[ClipThrows, ...]
    """The clips with blank cameras."""
    setting: ChainSetting
    """What the chain needs besides."""


class Watched:
    """`solve_visit` with what it took in and gave kept, and changes made before."""

    def __init__(self, change: Callable[..., tuple[Any, ...]] = lambda *given: given) -> None:
        """Keep the change."""
        self._change, self._solve = change, adjust.solve_visit
        self.adjusted: Adjusted
        self.given: tuple[Sequence[AdjustThrow], Sequence[Camera], AdjustSetting]
        self.seconds = 0.0

    def __call__(self, throws: Any, cameras: Any, setting: Any) -> Adjusted:
        """Solve."""
        self.given = self._change(throws, cameras, setting)
        begun = time.perf_counter()
        self.adjusted = self._solve(*self.given)
        self.seconds += time.perf_counter() - begun
        return self.adjusted


@contextmanager
def patch(where: object, name: str, value: object) -> Iterator[None]:
    """Give a module's name another value for a while."""
    before = getattr(where, name)
    setattr(where, name, value)
    try:
        yield
    finally:
        setattr(where, name, before)


def open_case(folder: Path, options: Options) -> Case:
    """Open a visit."""
    truth = read_truth(folder)
    plan = plan_visit(truth, 0.0, are_rows_known=True)
    tools = prepare_tools(plan, options)
    opened = open_clips(plan, tools, lambda what, done, total: None)
    bare = strip_plan(plan, folder, has_tape=True)
    blank = assume_cameras(bare, [clip.source.clip for clip in opened])
    clips = tuple(gather_clip(clip, blank, number) for number, clip in enumerate(opened))
    return Case(truth=truth, plan=bare, clips=clips, setting=build_setting(bare, blank, tools))


def round_clocks(throws: Any, cameras: Any, setting: Any) -> tuple[Any, ...]:
    """Put the clocks on whole pictures."""
    whole = [
        replace(
            throw, views=tuple((clip, replace(view, offset_s=round_s(view.offset_s))) for clip, view in throw.views)
        )
        for throw in throws
    ]
    return whole, cameras, setting


def round_s(offset_s: float) -> float:
    """Round to whole pictures."""
    return round(offset_s / PICTURE_S) * PICTURE_S


def forget_radial(throws: Any, cameras: Any, setting: Any) -> tuple[Any, ...]:
    """Hold both radial terms at zero."""
    lenses = []
    for lens in setting.lenses:
        covariance = lens.covariance.copy()
        covariance[3:5, 3:5] = np.diag([1e-12, 1e-12])
        lenses.append(replace(lens, covariance=covariance))
    return throws, cameras, replace(setting, lenses=tuple(lenses))


def read_at_once(case: Case) -> Case:
    """Take all rows of a picture as read at once."""
    clips = tuple(replace(clip, camera=replace(clip.camera, row_time_s=1e-9)) for clip in case.clips)
    return replace(case, clips=clips)


def keep_offsets(case: Case) -> Case:
    """Take the landmarks as the joint centres, without the fitted correction."""
    offset = case.setting.tables.offset
    still = replace(offset, output=0 * offset.output, output_bias=0 * offset.output_bias)
    tables = replace(case.setting.tables, offset=still)
    return replace(case, setting=replace(case.setting, tables=tables))


def run_case(case: Case, name: str) -> dict[str, Any]:
    """Calibrate with one correction left out and hold what comes out against the truth."""
    watched = Watched(
        {"clock in whole pictures": round_clocks, "no radial term": forget_radial}.get(name, lambda *given: given)
    )
    case = {"rows read at once": read_at_once, "landmarks as joint centres": keep_offsets}.get(name, lambda it: it)(
        case
    )
    clock = 1e-7 if name == "clock in whole pictures" else adjust.CLOCK_STANDARD_S
    bones = 1.0 if name == "bones of any length" else terms.BONE_STANDARD_M
    begun = time.perf_counter()
    with (
        patch(calibrating, "solve_visit", watched),
        patch(adjust, "CLOCK_STANDARD_S", clock),
        patch(terms, "BONE_STANDARD_M", bones),
    ):
        try:
            visit = ThrowerVisit(plan=case.plan, clips=case.clips, setting=case.setting)
            set_up = find_from_thrower(visit, np.random.default_rng(20))
        except (ElbowroomError, np.linalg.LinAlgError) as e:
            return {"visit": case.truth.name, "without": name, "refused": str(e)}
        seconds = time.perf_counter() - begun
        errors = compare_places(case, set_up)
    row = {"visit": case.truth.name, "without": name, "errors": errors, "seconds": seconds, "solver": watched.seconds}
    return row | compare_cameras(case, set_up, watched)


def compare_places(case: Case, set_up: FieldSetUp) -> dict[str, list[float]]:
    """Compare the measures of the best curves at the true instants with the truth, throw by throw."""
    clips = [replace(clip, camera=camera) for clip, camera in zip(case.clips, set_up.cameras, strict=True)]
    tracked = [track_clip(clip, number, case.setting) for number, clip in enumerate(clips)]
    clocks = [tie_clock(clock, Absent(reason="not asked")) for clock in set_up.clocks]
    setting = build_measure_setting(set_up, case.setting, combine_timing(clips))
    errors: dict[str, list[float]] = {key: [] for key in KEYS}
    for number, members in zip(list_throws(case.truth), zip(*tracked, strict=True), strict=False):
        curves = reconstruct(members, clips, clocks, case)
        times = find_true_instants(case.truth, number)
        own = {name: convert_from_world(case.truth.phones[0], np.array([at])) for name, at in times.items()}
        found = keep_finite(curves, own, setting)
        world = {name: np.array([at]) for name, at in times.items()}
        true = keep_finite(build_true_curves(case.truth, number), world, setting)
        for key in KEYS:
            if key in found and key in true:
                unit = "" if key.startswith(("stride", "hand")) else "deg"
                errors[key].append(float(measure_deviation(np.array(found[key]), true[key], unit)))
    return errors


def reconstruct(members: tuple[TrackedThrow, ...], clips: Sequence[ClipThrows], clocks: Any, case: Case) -> Curves:
    """Reconstruct one throw; the curves alone, mirrored for a left-hander."""
    placed = [(place_view(member, clips, clocks), member) for member in members]
    views = [(view, member) for view, member in placed if isinstance(view, ViewedThrow)]
    is_right = case.setting.athlete.hand is ThrowingHand.RIGHT
    motion = reconstruct_throw(
        tuple(view for view, _ in views), find_window(views), case.setting.priors, project_with_jacobian, is_right
    )
    curves = Curves(knots_s=motion.knots_s, coefficients_m=motion.coefficients_m[None])
    return curves if is_right else mirror_curves(curves)


def compare_cameras(case: Case, set_up: FieldSetUp, watched: Watched) -> dict[str, Any]:
    """Compare clock, turn and focal length of the second camera with truth and with their bound."""
    phones = case.truth.phones
    true = [build_true_camera(phone) for phone in phones]
    clock = set_up.clocks[0]
    at = np.array([clock.epoch_s])
    true_s = float(convert_from_world(phones[0], convert_to_world(phones[1], at))[0] - at[0])
    found = set_up.cameras
    turn = (found[1].rotation @ found[0].rotation.T) @ (true[1].rotation @ true[0].rotation.T).T
    clock_bound, turn_bound, focal_bound = bound_errors(watched)
    return {
        "clock_ms": 1e3 * (clock.offset_s - true_s),
        "clock_stated_ms": 1e3 * clock.standard_s,
        "clock_bound_ms": 1e3 * clock_bound,
        "turn_deg": float(np.degrees(Rotation.from_matrix(turn).magnitude())),
        "turn_bound_deg": float(np.degrees(turn_bound)),
        "focal_share": [
            camera.lens.focal_px / other.lens.focal_px - 1 for camera, other in zip(found, true, strict=True)
        ],
        "focal_bound_share": focal_bound / true[1].lens.focal_px,
    }


def bound_errors(watched: Watched) -> tuple[float, float, float]:
    """Return the Cramer-Rao bound of clock (s), turn (rad, root of the sum of three variances) and focal length (px).

    The inverse of the information of the same geometry with the landmark noise as the tables state it, without the
    easing by which the adjustment widens it; curves, bones, lens and standing offsets are free beside them.
    """
    throws, _, setting = watched.given
    state, prior = watched.adjusted.state, adjust.build_border_prior(throws, setting)
    with patch(adjust, "LANDMARK_EASE", 1.0):
        information = adjust.look_around(throws, watched.adjusted.grids, state, prior, setting)[1]
    covariance = np.linalg.inv(information)
    first = len(state.bones_m) + CLIP_UNKNOWNS
    age = float(np.mean([throw.window_s[2] for throw in throws]))
    clock = np.array([CLOCK_UNIT_S, DRIFT_UNIT * age])
    pose = first + 3 + LENS_PARAMETERS + np.arange(3)
    turn = np.diag(covariance)[pose] * CAMERA_UNITS[LENS_PARAMETERS : LENS_PARAMETERS + 3] ** 2
    focal = covariance[first + 3, first + 3] * CAMERA_UNITS[0] ** 2
    two = slice(first, first + 2)
    return float(np.sqrt(clock @ covariance[two, two] @ clock)), float(np.sqrt(turn.sum())), float(np.sqrt(focal))


CASES = (
    "nothing",
    "clock in whole pictures",
    "rows read at once",
    "no radial term",
    "bones of any length",
    "landmarks as joint centres",
)
"""What is left out."""


def render(rows: list[dict[str, Any]]) -> str:
    """Write the figures as Markdown."""
    short = (
        "elbow line FC, deg",
        "elbow line LB, deg",
        "flexion LB, deg",
        "opening FC, deg",
        "offset, cm",
        "stride, cm",
        "hand, m/s",
    )
    lines = [
        f"| left out | {' | '.join(short)} | clock, ms | turn of the second camera, deg | throws |",
        "|" + "---|" * 11,
    ]
    for name in CASES:
        own = [row for row in rows if row["without"] == name and "errors" in row]
        if own:
            lines.append(render_case(name, own))
    lines += [
        "",
        "| visit | clock: error / stated / bound, ms | ratio of variances | turn: error / bound, deg | ratio |",
    ]
    lines.append("|" + "---|" * 5)
    base = [row for row in rows if row["without"] == "nothing" and "errors" in row]
    lines += [render_bound(row) for row in base]
    ratios = np.array([(row["clock_ms"] / row["clock_bound_ms"]) ** 2 for row in base])
    turns = np.array([(row["turn_deg"] / row["turn_bound_deg"]) ** 2 for row in base])
    lines.append(f"| mean of {len(base)} | | {ratios.mean():.1f} | | {turns.mean():.1f} |")
    lines += ["", f"Cameras found in {np.mean([row['seconds'] for row in base]):.0f} s a visit of three throws, "]
    lines += [f"{np.mean([row['solver'] for row in base]):.0f} s of it the adjustment (other work on the machine).", ""]
    lines += [f"- {row['visit']} without {row['without']}: {row['refused']}" for row in rows if "refused" in row]
    return "\n".join(lines) + "\n"


def render_case(name: str, own: list[dict[str, Any]]) -> str:
    """Write one case's line."""
    cells = []
    for key in KEYS:
        values = [abs(value) for row in own for value in row["errors"][key]]
        cells.append(f"{(100 if key.startswith('stride') else 1) * np.mean(values):.2f}")
    clock = np.mean([abs(row["clock_ms"]) for row in own])
    turn = np.mean([row["turn_deg"] for row in own])
    count = sum(len(row["errors"][KEYS[1]]) for row in own)
    return f"| {name} | {' | '.join(cells)} | {clock:.2f} | {turn:.2f} | {count} |"


def render_bound(row: dict[str, Any]) -> str:
    """Write one visit's errors beside their bounds."""
    clock, turn = (row["clock_ms"] / row["clock_bound_ms"]) ** 2, (row["turn_deg"] / row["turn_bound_deg"]) ** 2
    clocks = f"{row['clock_ms']:+.2f} / {row['clock_stated_ms']:.2f} / {row['clock_bound_ms']:.2f}"
    return (
        f"| {row['visit']} | {clocks} | {clock:.1f} "
        f"| {row['turn_deg']:.2f} / {row['turn_bound_deg']:.2f} | {turn:.1f} |"
    )


def main() -> None:
    """Run all visits and write what came out."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.camera_gains", description=__doc__)
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--out", type=Path, default=Path("benchmarks/results/camera_gains"))
    parser.add_argument("--whole-only", action="store_true", help="leave nothing out: bounds and times alone")
    given = parser.parse_args()
    options = Options(models_folder=read_settings(os.environ).models_folder)
    rows: list[dict[str, Any]] = []
    for folder in [visit for root in given.folders for visit in find_visits(root)]:
        case = open_case(folder, options)
        for name in CASES[:1] if given.whole_only else CASES:
            with threadpool_limits(limits=1):
                rows.append(run_case(case, name))
            print(folder.name, name, rows[-1].get("refused", f"{rows[-1].get('seconds', 0):.0f} s"), flush=True)
        given.out.parent.mkdir(parents=True, exist_ok=True)
        whole = {"machine": describe_machine(), "rows": rows}
        given.out.with_suffix(".json").write_text(json.dumps(whole).replace("}, {", "},\n{") + "\n", encoding="utf-8")
        given.out.with_suffix(".md").write_text(render(rows), encoding="utf-8")


if __name__ == "__main__":
    main()
