"""Where the joints of a figure lie, from the directions of its segments."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import cos, radians, sin

from elbowroom.core.plan.drills import Pose, Segment

Point = tuple[float, float]
"""x to the right and y down, as shares of the figure's height."""


@dataclass(frozen=True, kw_only=True)
class Joints:
    """The joints of a figure that stands on the ground, which is y = 0; up is negative."""

    hips: Point
    """Middle of the hips."""
    neck: Point
    """Middle of the shoulders."""
    head: Point
    """Middle of the head."""
    limbs: Mapping[str, tuple[Point, ...]]
    """Joints of every limb, the near end first: `throwing`, `glove`, `lead`, `pivot`."""

    def list_points(self) -> list[Point]:
        """Return every point."""
        return [self.hips, self.neck, self.head, *(point for limb in self.limbs.values() for point in limb)]


def place_joints(pose: Pose) -> Joints:
    """Return the joints of a pose, set down on the ground with its lowest point."""
    hips = (0.0, 0.0)
    neck = _step(hips, pose.trunk)
    head = _step(neck, pose.head)
    across = (cos(radians(pose.trunk.angle_deg - 180)), -sin(radians(pose.trunk.angle_deg - 180)))
    starts = {
        "throwing": _shift(neck, across, -pose.shoulder_share),
        "glove": _shift(neck, across, pose.shoulder_share),
        "lead": _shift(hips, across, pose.hip_share),
        "pivot": _shift(hips, across, -pose.hip_share),
    }
    segments: dict[str, Sequence[Segment]] = {
        "throwing": pose.throwing_arm,
        "glove": pose.glove_arm,
        "lead": pose.lead_leg,
        "pivot": pose.pivot_leg,
    }
    limbs = {name: _walk(starts[name], parts) for name, parts in segments.items()}
    joints = Joints(hips=hips, neck=neck, head=head, limbs=limbs)
    return _set_down(joints, pose.raised_share)


def _step(start: Point, segment: Segment) -> Point:
    angle = radians(segment.angle_deg)
    return start[0] + segment.length_share * sin(angle), start[1] + segment.length_share * cos(angle)


def _shift(point: Point, across: Point, distance_share: float) -> Point:
    return point[0] + distance_share * across[0], point[1] + distance_share * across[1]


def _walk(start: Point, segments: Sequence[Segment]) -> tuple[Point, ...]:
    points = [start]
    for segment in segments:
        points.append(_step(points[-1], segment))
    return tuple(points)


def _set_down(joints: Joints, raised_share: float) -> Joints:
    lowest = max(point[1] for point in joints.list_points())

    def raise_point(point: Point) -> Point:
        return point[0], point[1] - lowest - raised_share

    return Joints(
        hips=raise_point(joints.hips),
        neck=raise_point(joints.neck),
        head=raise_point(joints.head),
        limbs={name: tuple(raise_point(point) for point in limb) for name, limb in joints.limbs.items()},
    )
