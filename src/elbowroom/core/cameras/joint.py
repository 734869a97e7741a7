"""All cameras of a visit at once, tied by things that several of them saw at a place that nobody measured.

The marks that define the field are fixed; a loose thing (the board at rest, a tape cross ahead of the
plate) has its own frame and six unknowns for where it is. Least squares over all cameras, lenses with their
priors, and things.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.frames import build_cross
from elbowroom.core.cameras.lens import list_lens_values
from elbowroom.core.cameras.pose import find_lens_information, shift_camera, sum_information
from elbowroom.core.cameras.project import project_points, project_with_jacobian
from elbowroom.core.cameras.types import (
    CAMERA_PARAMETERS,
    LENS_PARAMETERS,
    Array,
    Camera,
    LensEstimate,
    SeenPoints,
)

THING_PARAMETERS = 6
"""Unknowns of a loose thing: rotation vector applied on the left, and place."""

MOST_STEPS = 100
"""Most steps of least squares."""


@dataclass(frozen=True, kw_only=True)
class LooseThing:
    """Something seen by several cameras whose place in the field is an unknown."""

    rotation: Array
    """(3, 3) rotation from the thing's frame into the field frame."""
    place: Array
    """(3,) origin of the thing's frame in the field frame, metres."""
    expected_place: Array
    """(3,) place that is expected before the pictures are looked at."""
    expected_rotation: Array
    """(3, 3) rotation that is expected."""
    information: Array
    """(6,) inverse variances of rotation vector (rad) and place (m) about what is expected; 0 for nothing
    known."""
    seen: tuple[tuple[int, SeenPoints], ...]
    """Number of each camera that saw it, with its points in the thing's frame."""


@dataclass(frozen=True, kw_only=True)
class JointState:
    """Cameras and things under refinement."""

    cameras: tuple[Camera, ...]
    """The cameras so far."""
    things: tuple[LooseThing, ...]
    """The things so far."""


@dataclass(frozen=True, kw_only=True)
class JointSight:
    """What the cameras saw of the fixed marks, and what is known of their lenses."""

    lenses: tuple[LensEstimate, ...]
    """The lens of each camera before the joint estimate."""
    marks: tuple[tuple[SeenPoints, ...], ...]
    """The fixed marks that each camera saw, in the field frame."""


def refine_joint(state: JointState, sight: JointSight) -> JointState:
    """Return cameras, with covariance and residual, and things at the least sum of squares near `state`.

    Gauss-Newton with damping. Where the residuals are larger than stated, the covariance is widened by
    their ratio. The covariance of a camera is its block of the joint one; that the errors of cameras go
    together is left out.
    """
    cost, damping = sum_joint_squares(state, sight), 1e-3
    for _ in range(MOST_STEPS):
        information, slope = sum_joint_information(state, sight)
        tried = shift_joint(state, solve_scaled(information, slope, damping))
        tried_cost = sum_joint_squares(tried, sight)
        if tried_cost > cost or not np.isfinite(tried_cost):
            damping *= 10.0
            if damping > 1e8:
                break
            continue
        is_done = cost - tried_cost < 1e-9 * (1.0 + cost)
        state, cost, damping = tried, tried_cost, damping * 0.1
        if is_done:
            break
    return add_joint_covariance(state, sight, cost)


def solve_scaled(information: Array, slope: Array, damping: float) -> Array:
    """Return the damped step for an information matrix, scaled to a unit diagonal first."""
    scale = 1.0 / np.sqrt(np.maximum(np.diag(information), 1e-12))
    scaled = information * np.outer(scale, scale) + damping * np.eye(len(scale))
    step: Array = scale * np.linalg.solve(scaled, scale * slope)
    return step


def place_points(thing: LooseThing, points: Array) -> Array:
    """Return points (n, 3) of the thing's frame in the field frame."""
    placed: Array = points @ thing.rotation.T + thing.place
    return placed


def measure_departure(thing: LooseThing) -> Array:
    """Return rotation vector and place (6,) of the thing less what is expected."""
    turn = Rotation.from_matrix(thing.rotation @ thing.expected_rotation.T).as_rotvec()
    return np.concatenate([turn, thing.place - thing.expected_place])


def list_thing_points(thing: LooseThing) -> list[tuple[int, SeenPoints]]:
    """Return what each camera saw of the thing, with the points placed in the field frame."""
    return [(number, replace(item, field_m=place_points(thing, item.field_m))) for number, item in thing.seen]


def list_all_points(state: JointState, sight: JointSight) -> list[tuple[int, SeenPoints]]:
    """Return everything seen, with the number of its camera, in the field frame."""
    fixed = [(number, item) for number, items in enumerate(sight.marks) for item in items]
    return fixed + [pair for thing in state.things for pair in list_thing_points(thing)]


def sum_joint_squares(state: JointState, sight: JointSight) -> float:
    """Return the sum of squares of points, lenses and places of things over their variances."""
    total = sum(float(thing.information @ measure_departure(thing) ** 2) for thing in state.things)
    for camera, lens in zip(state.cameras, sight.lenses, strict=True):
        shift = list_lens_values(camera.lens) - list_lens_values(lens.lens)
        total += float(shift @ find_lens_information(lens) @ shift)
    for number, item in list_all_points(state, sight):
        missing = project_points(state.cameras[number], item.field_m) - item.pixels
        total += float((missing**2).sum()) / item.standard_px**2
    return total if np.isfinite(total) else np.inf


def sum_joint_information(state: JointState, sight: JointSight) -> tuple[Array, Array]:
    """Return the information matrix of cameras then things, and the slope towards smaller residuals."""
    start = CAMERA_PARAMETERS * len(state.cameras)
    size = start + THING_PARAMETERS * len(state.things)
    information, slope = np.zeros((size, size)), np.zeros(size)
    for number, (camera, lens) in enumerate(zip(state.cameras, sight.lenses, strict=True)):
        block = slice(CAMERA_PARAMETERS * number, CAMERA_PARAMETERS * (number + 1))
        information[block, block], slope[block] = sum_information(camera, sight.marks[number])
        own = slice(block.start, block.start + LENS_PARAMETERS)
        prior = find_lens_information(lens)
        information[own, own] += prior
        slope[own] += prior @ (list_lens_values(lens.lens) - list_lens_values(camera.lens))
    for number, thing in enumerate(state.things):
        block = slice(start + THING_PARAMETERS * number, start + THING_PARAMETERS * (number + 1))
        information[block, block] += np.diag(thing.information)
        slope[block] -= thing.information * measure_departure(thing)
        add_thing_information(state, thing, block, information, slope)
    return information, slope


def add_thing_information(state: JointState, thing: LooseThing, block: slice, information: Array, slope: Array) -> None:
    """Add what the cameras saw of one thing to the information matrix and the slope, in place."""
    for number, item in thing.seen:
        camera = state.cameras[number]
        predicted, by_point, by_camera = project_with_jacobian(camera, place_points(thing, item.field_m))
        turned = item.field_m @ thing.rotation.T
        by_turn = by_point @ -np.array([build_cross(point) for point in turned])
        columns = np.r_[CAMERA_PARAMETERS * number : CAMERA_PARAMETERS * (number + 1), block]
        jacobian = np.concatenate([by_camera, by_turn, by_point], axis=2).reshape(-1, len(columns))
        jacobian /= item.standard_px
        information[np.ix_(columns, columns)] += jacobian.T @ jacobian
        slope[columns] += jacobian.T @ ((item.pixels - predicted).ravel() / item.standard_px)


def shift_joint(state: JointState, step: Array) -> JointState:
    """Return the state with `step` applied to cameras then things."""
    count = len(state.cameras)
    camera_steps = step[: CAMERA_PARAMETERS * count].reshape(count, CAMERA_PARAMETERS)
    thing_steps = step[CAMERA_PARAMETERS * count :].reshape(len(state.things), THING_PARAMETERS)
    return JointState(
        cameras=tuple(shift_camera(camera, part) for camera, part in zip(state.cameras, camera_steps, strict=True)),
        things=tuple(
            replace(
                thing,
                rotation=Rotation.from_rotvec(part[:3]).as_matrix() @ thing.rotation,
                place=thing.place + part[3:],
            )
            for thing, part in zip(state.things, thing_steps, strict=True)
        ),
    )


def add_joint_covariance(state: JointState, sight: JointSight, cost: float) -> JointState:
    """Return the state with each camera's block of the joint covariance and its residual in pixels."""
    information, _ = sum_joint_information(state, sight)
    points = list_all_points(state, sight)
    unknowns = 6 * (len(state.cameras) + len(state.things))
    freedom = max(sum(item.pixels.size for _, item in points) - unknowns, 1)
    scale = 1.0 / np.sqrt(np.diag(information))
    covariance = np.linalg.inv(information * np.outer(scale, scale)) * np.outer(scale, scale)
    covariance *= max(1.0, cost / freedom)
    cameras = []
    for number, camera in enumerate(state.cameras):
        block = slice(CAMERA_PARAMETERS * number, CAMERA_PARAMETERS * (number + 1))
        own = (covariance[block, block] + covariance[block, block].T) / 2
        missing = [project_points(camera, item.field_m) - item.pixels for index, item in points if index == number]
        residual = float(np.sqrt((np.vstack(missing) ** 2).sum(axis=1).mean()))
        cameras.append(replace(camera, covariance=own, residual_px=residual))
    return replace(state, cameras=tuple(cameras))
