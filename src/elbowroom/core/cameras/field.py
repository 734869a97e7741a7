"""The cameras of a visit in one field frame, from what each saw of boards and marks on the ground."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from elbowroom.core.cameras.flaws import (
    LARGEST_RESIDUAL_RATIO,
    Fit,
    find_point_flaws,
    find_spread_flaws,
    measure_residual,
)
from elbowroom.core.cameras.joint import (
    JointSight,
    JointState,
    LooseThing,
    list_all_points,
    refine_joint,
    sum_joint_squares,
)
from elbowroom.core.cameras.marks import MarkGroup, Marks, add_laid_standard, pair_marks
from elbowroom.core.cameras.pose import build_blank_camera, estimate_camera, fit_starts
from elbowroom.core.cameras.rays import project_back
from elbowroom.core.cameras.set_up import Ground
from elbowroom.core.cameras.types import Array, Camera, LensEstimate, SeenPoints
from elbowroom.core.quantities.types import Absent

LAID_STANDARDS_M = {"plate": 0.003, "home": 0.15, "cross": 0.005}
"""How well each thing is made and laid; home is loose because the height of the mound is not asked for."""

CROSS_STANDARDS = np.array([0.015, 0.015, 0.03, 5.0, 0.03, 0.01])
"""Standard uncertainties of a cross ahead of the plate: turns (rad), then along, across and up (m)."""

STEEPEST_LOOK = 0.85
"""Sine of the steepest look down at a board that may be lying flat (58 degrees)."""


@dataclass(frozen=True, kw_only=True)
class GroundView:
    """What one camera saw of the ground."""

    name: str
    """Name of the camera."""
    lens: LensEstimate
    """Its lens."""
    marks: Mapping[str, tuple[float, float]]
    """Pixels of the named marks; empty where none."""
    resting: tuple[SeenPoints, ...]
    """Corners of the board at rest, in the board's frame; empty where it was not seen."""
    row_time_s: float
    """Rolling-shutter time from row to row; 0 where unknown."""


@dataclass(frozen=True, kw_only=True)
class FieldCameras:
    """Cameras in one field frame, and what that frame was taken from."""

    cameras: tuple[Camera, ...]
    """One camera a view, in their order."""
    ground: Ground
    """What the field frame was taken from."""


def estimate_field_cameras(views: Sequence[GroundView], fixed: Marks, cross: Marks) -> FieldCameras | Absent:
    """Return the cameras of the views in one field frame, or the first reason why one cannot be found.

    `fixed` are the marks of the plates in the field frame, `cross` those of a tape cross about its own
    middle. Where plates are marked they make the frame, and cross and resting board tie the cameras; where
    only a cross is marked it makes the frame; where nothing is marked the board must lie on the ground, x
    to the target.
    """
    named = {name for view in views for name in view.marks}
    if not named:
        return estimate_board_cameras(views)
    has_plate = bool(named & set(fixed))
    frame, loose = (fixed, cross) if has_plate else (cross, {})
    # A wrong one of a board's mirrored poses can put marks behind a camera: nothing leads from there to a fit.
    starts = [pair for pair in build_starts(views, frame, loose) if np.isfinite(sum_joint_squares(*pair))]
    if not starts:
        return find_missing_marks(views, frame)
    fitted = [(refine_joint(state, sight), sight) for state, sight in starts]
    state, sight = min(fitted, key=lambda pair: sum_joint_squares(*pair))
    return judge_field(state, sight, name_ground(named, has_plate))


def name_ground(named: set[str], has_plate: bool) -> Ground:
    """Return what the field frame was taken from, by the names of the marks."""
    if not has_plate:
        return Ground.CROSS
    return Ground.BOTH_PLATES if any(name.startswith("home") for name in named) else Ground.PLATE


def estimate_board_cameras(views: Sequence[GroundView]) -> FieldCameras | Absent:
    """Return the cameras in the frame of the board that lies on the ground."""
    cameras = []
    for view in views:
        camera = estimate_camera(view.name, view.lens, view.resting, row_time_s=view.row_time_s)
        if isinstance(camera, Absent):
            return replace(camera, reason=f"Camera {view.name}: {camera.reason}")
        if -camera.rotation[2, 2] > STEEPEST_LOOK:
            return Absent(
                reason=f"Camera {view.name} would look straight down: the board does not lie on the ground.",
                advice="Lay the board flat with its right end to the target, or mark the plate or a tape cross.",
            )
        cameras.append(camera)
    return FieldCameras(cameras=tuple(cameras), ground=Ground.BOARD)


def find_missing_marks(views: Sequence[GroundView], frame: Marks) -> Absent:
    """Return why no view can start the field frame."""
    for view in views:
        for flaw in find_point_flaws(list_frame_points(view, frame)):
            return replace(flaw, reason=f"Camera {view.name}: {flaw.reason}")
    return Absent(
        reason="The cameras do not all see the marks or the board at rest.",
        advice="Mark the plate in every clip, or end every board clip with the board in one place.",
    )


def list_frame_points(view: GroundView, marks: Marks) -> list[SeenPoints]:
    """Return the view's marks that are among `marks`, one entry a thing (plate, home, cross)."""
    kinds = sorted({name.split("_")[0] for name in view.marks if name in marks})
    return [
        pair_marks(marks, {name: spot for name, spot in view.marks.items() if name.split("_")[0] == kind})
        for kind in kinds
    ]


def build_starts(views: Sequence[GroundView], frame: Marks, loose: Marks) -> Iterator[tuple[JointState, JointSight]]:
    """Yield the states worth starting from: each view's poses from its own marks, the others tied to it."""
    own = [find_own_fits(view, list_frame_points(view, frame)) for view in views]
    boards = [find_own_fits(view, view.resting)[:1] for view in views]
    for lead, fits in enumerate(own):
        for fit in fits:
            cameras = link_cameras(lead, fit.camera, own, boards)
            if len(cameras) == len(views):
                yield build_start(views, cameras, boards, (frame, loose))


def find_own_fits(view: GroundView, seen: Sequence[SeenPoints]) -> list[Fit]:
    """Return the poses that a view's points allow on their own, best first; none where they fix no pose."""
    if find_point_flaws(seen):
        return []
    fits = fit_starts(build_blank_camera(view.name, view.lens, view.row_time_s), view.lens, seen)
    return sorted((fit for fit in fits if np.isfinite(fit.cost)), key=lambda fit: fit.cost)


def link_cameras(
    lead: int, camera: Camera, own: Sequence[Sequence[Fit]], boards: Sequence[Sequence[Fit]]
) -> list[Camera]:
    """Return all cameras, those that saw the board placed by it from the leading one; fewer where one
    cannot be."""
    cameras = []
    for number, fits in enumerate(own):
        if number == lead:
            cameras.append(camera)
        elif boards[lead] and boards[number]:
            cameras.append(link_by_board(camera, boards[lead][0].camera, boards[number][0].camera))
        elif fits:
            cameras.append(fits[0].camera)
    return cameras


def link_by_board(camera: Camera, its_board: Camera, other_board: Camera) -> Camera:
    """Return the other camera in the field, from one in the field and both in the frame of the board."""
    rotation, place = locate_board(camera, its_board)
    turned = other_board.rotation @ rotation.T
    return replace(other_board, rotation=turned, translation=other_board.translation - turned @ place)


def locate_board(camera: Camera, its_board: Camera) -> tuple[Array, Array]:
    """Return rotation and place of the board in the field, from the camera in the field and in the board's
    frame."""
    rotation = camera.rotation.T @ its_board.rotation
    return rotation, camera.rotation.T @ (its_board.translation - camera.translation)


def build_start(
    views: Sequence[GroundView],
    cameras: Sequence[Camera],
    boards: Sequence[Sequence[Fit]],
    marks: tuple[Marks, Marks],
) -> tuple[JointState, JointSight]:
    """Return the state of cameras and loose things to start from, and what was seen; `marks` fixed, then
    loose."""
    frame, loose = marks
    seen = tuple(
        tuple(weigh_marks(camera, list_frame_points(view, frame))) for view, camera in zip(views, cameras, strict=True)
    )
    things = [*build_board_thing(views, cameras, boards), *build_cross_thing(views, cameras, loose)]
    sight = JointSight(lenses=tuple(view.lens for view in views), marks=seen)
    return JointState(cameras=tuple(cameras), things=tuple(things)), sight


def weigh_marks(camera: Camera, items: Sequence[SeenPoints]) -> list[SeenPoints]:
    """Return the marks with how well each thing is laid added to the uncertainty of its pixels."""
    kinds = {True: "home", False: "plate"}
    return [
        add_laid_standard(
            camera, MarkGroup(seen=item, laid_standard_m=LAID_STANDARDS_M[kinds[item.field_m[0, 0] > 3.0]])
        )
        for item in items
    ]


def build_board_thing(
    views: Sequence[GroundView], cameras: Sequence[Camera], boards: Sequence[Sequence[Fit]]
) -> list[LooseThing]:
    """Return the board at rest as a loose thing where two views or more saw it."""
    watchers = [number for number, fits in enumerate(boards) if fits]
    if len(watchers) < 2:
        return []
    first = watchers[0]
    rotation, place = locate_board(cameras[first], boards[first][0].camera)
    return [
        LooseThing(
            rotation=rotation,
            place=place,
            expected_rotation=rotation,
            expected_place=place,
            information=np.zeros(6),
            seen=tuple((number, item) for number in watchers for item in views[number].resting),
        )
    ]


def build_cross_thing(views: Sequence[GroundView], cameras: Sequence[Camera], loose: Marks) -> list[LooseThing]:
    """Return the tape cross as a loose thing on the line to the target, started where a view sees it."""
    seen = tuple(
        (number, add_laid_standard(cameras[number], MarkGroup(seen=item, laid_standard_m=0.005)))
        for number, view in enumerate(views)
        for item in list_frame_points(view, loose)
    )
    if not seen:
        return []
    number, item = seen[0]
    direction = project_back(cameras[number], item.pixels.mean(axis=0)[None])[0]
    centre = cameras[number].place
    ahead_m = float((centre - centre[2] / direction[2] * direction)[0])
    place = np.array([ahead_m, 0.0, 0.0])
    information = CROSS_STANDARDS**-2.0
    return [
        LooseThing(
            rotation=np.eye(3),
            place=place,
            expected_rotation=np.eye(3),
            expected_place=place,
            information=information,
            seen=seen,
        )
    ]


def judge_field(state: JointState, sight: JointSight, ground: Ground) -> FieldCameras | Absent:
    """Return the cameras of the best state, or why they cannot be believed."""
    points = list_all_points(state, sight)
    for number, camera in enumerate(state.cameras):
        own = [item for index, item in points if index == number]
        for flaw in [*find_joint_flaws(camera, own), *find_spread_flaws(camera, np.zeros(3))]:
            return replace(flaw, reason=f"Camera {camera.name}: {flaw.reason}")
    return FieldCameras(cameras=state.cameras, ground=ground)


def find_joint_flaws(camera: Camera, seen: Sequence[SeenPoints]) -> tuple[Absent, ...]:
    """Return which of the things that a camera saw misses its place by too much."""
    for item in seen:
        usual = float(np.sqrt(2)) * item.standard_px
        residual = measure_residual(camera, [item])
        if not residual < LARGEST_RESIDUAL_RATIO * usual:
            return (
                Absent(
                    reason=f"Marks or board miss their places by {residual:.1f} px where {usual:.1f} is usual.",
                    advice="Check names, pixels and sizes of the marks, and that the board rested in one place.",
                ),
            )
    return ()
