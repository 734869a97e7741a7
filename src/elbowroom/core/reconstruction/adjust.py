"""One adjustment for all throws of a visit: curves, bones, cameras, clocks and shutters from the thrower alone.

Bundle adjustment with curves instead of points (Triggs and others 2000, from memory). The unknowns of each throw form
a banded block, all else a border that the throws share: the blocks are taken out one by one and the border is solved
for all throws together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import cho_factor, cho_solve, cholesky, solve_triangular

from elbowroom.core.cameras.types import CAMERA_PARAMETERS, LENS_PARAMETERS, Camera, LensEstimate
from elbowroom.core.landmarks.names import JOINTS, OTHER_SIDE
from elbowroom.core.reconstruction.free_terms import (
    CAMERA_UNITS,
    CLIP_UNKNOWNS,
    CLOCK_UNIT_S,
    DRIFT_UNIT,
    ROW_UNIT_S,
    FreeSight,
    WideLayout,
    build_free_term,
)
from elbowroom.core.reconstruction.layout import build_grid, build_layout
from elbowroom.core.reconstruction.normal import Reduced, build_system, solve_arrow
from elbowroom.core.reconstruction.sightings import collect_sightings
from elbowroom.core.reconstruction.start import estimate_start
from elbowroom.core.reconstruction.terms import Term, build_bone_term, build_jerk_term
from elbowroom.core.reconstruction.types import Array, BodyPriors, CurveGrid, Projection, ViewedThrow

MOST_STEPS = 14
"""Most Gauss-Newton steps; rendered visits settle in six to ten."""
FEWEST_STEPS = 3
"""Steps that are taken at least, since the first are damped."""
SETTLED = 0.05
"""The search ends when no border unknown moves by more than this share of its standard uncertainty."""
LONGEST_STEP_M = 0.4
"""A longer step of the curves is shortened to this."""
FIRST_DAMPING, LESS_DAMPING = 0.3, 0.2
"""Damping of the border at the start, and its factor from step to step."""
CLOCK_STANDARD_S = 0.03
"""How far the clock that the search starts from may be off."""
DRIFT_STANDARD = 3e-5
"""Usual difference of two phones' clocks, seconds a second; chosen by this project."""
SIDE_SPREAD = 0.015
"""Relative difference of a bone's length between the sides of one person; chosen by this project."""
SCALE_HELD = 1e-3
"""How closely the mean ratio of the bones to their usual lengths is held."""
SURE_SPREAD = 0.08
"""Bones whose usual length is known to this share hold the scale: arms and legs without hands, feet and pelvis."""
SMOOTH_EASE = 12.0
"""By how much the smoothness prior is eased: it must not shrink what the pictures leave loose."""
LANDMARK_EASE = 4.0
"""By how much landmark noise is widened: what the pose binds repeats in every throw and for longer than the noise's
correlation time, so that many pictures say less than their number; chosen on rendered visits."""
FIXED = 1e-6
"""Standard uncertainty, in units, of what is held."""
STANDING_PX = 5.0
"""Standing offset of a joint in a clip that shows no throw; without meaning for the others."""
ShiftCamera = Callable[[Camera, Array], Camera]


@dataclass(frozen=True, kw_only=True)
class AdjustThrow:
    """One throw as all clips that show it saw it."""

    views: tuple[tuple[int, ViewedThrow], ...]
    """Number of the clip, and the view with its rough offset."""
    window_s: tuple[float, float, float, float]
    """Start, begin of the fast part, its end, end; seconds on the visit clock."""


@dataclass(frozen=True, kw_only=True)
class AdjustSetting:
    """What the adjustment needs besides what was seen."""

    lenses: tuple[LensEstimate, ...]
    """What is known of each clip's lens."""
    row_priors_s: tuple[tuple[float, float], ...]
    """Expected row time of each clip and its standard uncertainty."""
    priors: BodyPriors
    """Usual bones."""
    project: Projection
    """Projection of points by a camera, with derivatives."""
    shift_camera: ShiftCamera
    """Applies a step (13,) to a camera."""
    throwing_right: bool
    """Whether the RIGHT arm throws."""


@dataclass(frozen=True, kw_only=True)
class AdjustState:
    """Everything that is estimated."""

    cameras: tuple[Camera, ...]
    """Cameras, with row times."""
    clocks_s: Array
    """(v,) what to add to each clip's rough offset."""
    drifts: Array
    """(v,) drift of each clip's clock against the first clip's."""
    bones_m: Array
    """(b,) lengths of the bones."""
    standing_px: Array
    """(v, 19, 2) standing offset of every joint in every clip."""
    curves: tuple[Array, ...]
    """Control-point unknowns (57 m,) of every throw."""


@dataclass(frozen=True, kw_only=True)
class Adjusted:
    """The state at the optimum and how its parts err together."""

    state: AdjustState
    """The best estimate."""
    grids: tuple[CurveGrid, ...]
    """Knots of every throw."""
    modes: Array
    """(p, p) change of the border for one standard deviation of each of its independent errors, in units."""
    carried: tuple[Array, ...]
    """(57 m, p) of every throw: the curves move by minus this times a change of the border."""
    own: tuple[tuple[Array, Array], ...]
    """What every throw by itself says of the border at the optimum: information (p, p) and right-hand side (p,)."""
    steps: int
    """Steps that were taken."""


def solve_visit(throws: Sequence[AdjustThrow], cameras: Sequence[Camera], setting: AdjustSetting) -> Adjusted:
    """Return cameras, clocks, shutters, bones and curves that fit all throws together, with how they err.

    The first camera stays where it is and the first clip's clock is the visit's: the frame is arbitrary, the scale held
    by the usual bones alone. Raises numpy.linalg.LinAlgError where the views cannot hold the curves.
    """
    grids = tuple(build_grid(w[0], w[3], (w[1], w[2])) for w in (throw.window_s for throw in throws))
    state = begin_state(throws, cameras, grids, setting)
    prior, damping = build_border_prior(throws, setting), FIRST_DAMPING
    parts, border, rest = look_around(throws, grids, state, prior, setting)
    for step in range(1, MOST_STEPS + 1):
        change = cho_solve(cho_factor(border + damping * np.diag(np.diag(border))), rest)
        spread = np.sqrt(np.diag(np.linalg.inv(border)))
        state, damping = apply_step(state, parts, change, setting), damping * LESS_DAMPING
        parts, border, rest = look_around(throws, grids, state, prior, setting)
        if step > FEWEST_STEPS and float(np.abs(change / spread).max()) < SETTLED:
            break
    lower = cholesky(border, lower=True)
    modes = solve_triangular(lower, np.eye(len(lower)), lower=True, trans="T")
    return Adjusted(
        state=state,
        grids=grids,
        modes=modes,
        carried=tuple(part.carried for part in parts),
        own=tuple((part.border, part.rest) for part in parts),
        steps=step,
    )


def look_around(
    throws: Sequence[AdjustThrow],
    grids: Sequence[CurveGrid],
    state: AdjustState,
    prior: Array,
    setting: AdjustSetting,
) -> tuple[list[Reduced], Array, Array]:
    """Return every throw with its curves taken out, and information and right-hand side of the border."""
    parts = [
        solve_throw(throw, grid, state, setting, number)
        for number, (throw, grid) in enumerate(zip(throws, grids, strict=True))
    ]
    return parts, *join_border(parts, state, prior, setting)


def begin_state(
    throws: Sequence[AdjustThrow], cameras: Sequence[Camera], grids: Sequence[CurveGrid], setting: AdjustSetting
) -> AdjustState:
    """Return the state that the search starts from: curves from linear equations, usual bones."""
    count = len(cameras)
    started = tuple(
        replace(camera, row_time_s=prior[0]) for camera, prior in zip(cameras, setting.row_priors_s, strict=True)
    )
    curves = []
    for throw, grid in zip(throws, grids, strict=True):
        views = tuple(replace(view, camera=started[clip]) for clip, view in throw.views)
        layout = build_layout(grid, len(setting.priors.bones), views)
        unknowns = estimate_start(views, grid, layout, setting.priors, setting.throwing_right)
        curves.append(unknowns[: layout.curve])
    return AdjustState(
        cameras=started,
        clocks_s=np.zeros(count),
        drifts=np.zeros(count),
        bones_m=np.array([bone.length_m for bone in setting.priors.bones]),
        standing_px=np.zeros((count, JOINTS, 2)),
        curves=tuple(curves),
    )


def place_view(view: ViewedThrow, clip: int, state: AdjustState, age_s: float) -> ViewedThrow:
    """Return a view with the camera and the clock of the present state."""
    offset = view.offset_s + float(state.clocks_s[clip] + state.drifts[clip] * age_s)
    return replace(view, camera=state.cameras[clip], offset_s=offset)


def solve_throw(
    throw: AdjustThrow, grid: CurveGrid, state: AdjustState, setting: AdjustSetting, number: int
) -> Reduced:
    """Return the information of one throw with its curves taken out."""
    layout = WideLayout(points=len(grid.sites_s), bones=len(state.bones_m), views=len(state.cameras))
    unknowns = np.zeros(layout.size)
    unknowns[: layout.curve] = state.curves[number]
    unknowns[layout.curve : layout.curve + layout.bones] = state.bones_m
    age = throw.window_s[2]
    terms = [
        build_free_term(see_clip(view, clip, state, grid, age), layout, grid, unknowns, setting.project)
        for clip, view in throw.views
    ]
    terms.append(widen_term(build_jerk_term(grid, layout, unknowns, setting.throwing_right)))
    terms.append(build_bone_term(grid, layout, unknowns, setting.priors))
    return solve_arrow(*build_system(terms, layout), layout)


def widen_term(term: Term) -> Term:
    """Return the smoothness residuals, eased."""
    return replace(term, slopes=term.slopes / SMOOTH_EASE, residuals=term.residuals / SMOOTH_EASE)


def see_clip(view: ViewedThrow, clip: int, state: AdjustState, grid: CurveGrid, age_s: float) -> FreeSight:
    """Return what a clip shows of a throw at the present state."""
    placed = place_view(view, clip, state, age_s)
    seen = collect_sightings(placed, grid)
    return FreeSight(
        seen=replace(seen, whitening=seen.whitening / LANDMARK_EASE),
        rows_px=seen.pixels[:, 1],
        camera=placed.camera,
        standing_px=state.standing_px[clip],
        clip=clip,
        age_s=age_s,
    )


def build_border_prior(throws: Sequence[AdjustThrow], setting: AdjustSetting) -> Array:
    """Return the information (p, p) that is known of the border before the clips are looked at, in units."""
    blocks = [describe_bones(setting.priors)]
    standing = estimate_standing_px2(throws, len(setting.lenses))
    for clip in range(len(setting.lenses)):
        is_first = clip == 0
        clock = FIXED if is_first else CLOCK_STANDARD_S / CLOCK_UNIT_S
        drift = FIXED if is_first else DRIFT_STANDARD / DRIFT_UNIT
        row = max(setting.row_priors_s[clip][1] / ROW_UNIT_S, FIXED)
        camera = np.zeros((CAMERA_PARAMETERS, CAMERA_PARAMETERS))
        units = CAMERA_UNITS[:LENS_PARAMETERS]
        camera[:LENS_PARAMETERS, :LENS_PARAMETERS] = np.linalg.inv(
            setting.lenses[clip].covariance / np.outer(units, units) + 1e-10 * np.eye(LENS_PARAMETERS)
        )
        pose = FIXED**-2 if is_first else 1e-6
        camera[LENS_PARAMETERS:, LENS_PARAMETERS:] = pose * np.eye(CAMERA_PARAMETERS - LENS_PARAMETERS)
        offsets = np.diag(np.repeat(1.0 / standing[clip], 2))
        blocks += [np.diag([clock**-2, drift**-2, row**-2]), camera, offsets]
    return join_blocks(blocks)


def describe_bones(priors: BodyPriors) -> Array:
    """Return the information (b, b) on the bones: usual lengths, equal sides, and a mean ratio that is held.

    Without the last the curves would shrink, since the smaller a motion the smoother it is: the scale of the
    adjustment is arbitrary and set afterwards.
    """
    lengths = np.array([bone.length_m for bone in priors.bones])
    ends = [frozenset(bone.ends) for bone in priors.bones]
    information = np.diag([bone.standard_m**-2 for bone in priors.bones])
    for number, bone in enumerate(priors.bones):
        other = ends.index(frozenset(OTHER_SIDE[joint] for joint in bone.ends))
        if other > number:
            weight = (SIDE_SPREAD * bone.length_m) ** -2
            pair = np.ix_([number, other], [number, other])
            information[pair] += weight * np.array([[1.0, -1.0], [-1.0, 1.0]])
    surest = np.array([bone.standard_m for bone in priors.bones]) / lengths < SURE_SPREAD
    mean = surest / (np.count_nonzero(surest) * lengths)
    held: Array = information + np.outer(mean, mean) / SCALE_HELD**2
    return held


def estimate_standing_px2(throws: Sequence[AdjustThrow], clips: int) -> Array:
    """Return the variance (v, 19) of each joint's standing offset in each clip, px^2, from the landmark model."""
    variances = np.full((clips, JOINTS), STANDING_PX**2)
    for clip in range(clips):
        parts = [view.track.offset_px2 for throw in throws for number, view in throw.views if number == clip]
        if parts:
            traces = np.trace(np.concatenate(parts), axis1=2, axis2=3) / 2
            variances[clip] = np.maximum(np.median(traces, axis=0), 0.25)
    return variances


def join_blocks(blocks: Sequence[Array]) -> Array:
    """Return a block-diagonal matrix."""
    size = sum(len(block) for block in blocks)
    joined, start = np.zeros((size, size)), 0
    for block in blocks:
        joined[start : start + len(block), start : start + len(block)] = block
        start += len(block)
    return joined


def join_border(
    parts: Sequence[Reduced], state: AdjustState, prior: Array, setting: AdjustSetting
) -> tuple[Array, Array]:
    """Return information and right-hand side of the border over all throws and what was known before."""
    border = prior + sum(part.border for part in parts)
    rest = sum(part.rest for part in parts) - prior @ list_departures(state, setting)
    return border, rest


def list_departures(state: AdjustState, setting: AdjustSetting) -> Array:
    """Return how far the border (p,) is from what was expected of it, in units; poses are expected nowhere."""
    parts = [state.bones_m - np.array([bone.length_m for bone in setting.priors.bones])]
    for clip, camera in enumerate(state.cameras):
        before = setting.lenses[clip].lens
        lens = np.array([camera.lens.focal_px, *camera.lens.centre_px, *camera.lens.distortion])
        expected = np.array([before.focal_px, *before.centre_px, *before.distortion])
        row = camera.row_time_s - setting.row_priors_s[clip][0]
        clocks = [state.clocks_s[clip] / CLOCK_UNIT_S, state.drifts[clip] / DRIFT_UNIT, row / ROW_UNIT_S]
        parts += [np.array(clocks), (lens - expected) / CAMERA_UNITS[:LENS_PARAMETERS], np.zeros(6)]
        parts.append(state.standing_px[clip].ravel())
    return np.concatenate(parts)


def apply_step(state: AdjustState, parts: Sequence[Reduced], change: Array, setting: AdjustSetting) -> AdjustState:
    """Return the state after a step `change` (p,) of the border and what the curves do with it."""
    moves = [part.first - part.carried @ change for part in parts]
    longest = max(float(np.abs(move).max()) for move in moves)
    share = min(1.0, LONGEST_STEP_M / max(longest, 1e-12))
    curves = tuple(curve + share * move for curve, move in zip(state.curves, moves, strict=True))
    return shift_border(replace(state, curves=curves), share * change, setting)


def shift_border(state: AdjustState, change: Array, setting: AdjustSetting) -> AdjustState:
    """Return the state with its border changed by `change` (p,), in units."""
    bones = len(state.bones_m)
    rows = change[bones:].reshape(len(state.cameras), CLIP_UNKNOWNS)
    end = 3 + CAMERA_PARAMETERS
    cameras = tuple(
        replace(
            setting.shift_camera(camera, row[3:end] * CAMERA_UNITS),
            row_time_s=camera.row_time_s + float(row[2]) * ROW_UNIT_S,
        )
        for camera, row in zip(state.cameras, rows, strict=True)
    )
    return replace(
        state,
        cameras=cameras,
        clocks_s=state.clocks_s + rows[:, 0] * CLOCK_UNIT_S,
        drifts=state.drifts + rows[:, 1] * DRIFT_UNIT,
        bones_m=state.bones_m + change[:bones],
        standing_px=state.standing_px + rows[:, end:].reshape(-1, JOINTS, 2),
    )
