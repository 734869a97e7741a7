"""Drawing the athlete: the joints of one moment as a friendly figure, one part of the body made to stand out."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, hypot, radians, sin

import numpy as np
from numpy.typing import NDArray

from elbowroom.core.landmarks.names import Joint
from elbowroom.service.paper_values import BodyPart

Array = NDArray[np.float64]

INK, FAR, SHINE, SKIN, BALL = "#17414b", "#7fa3a6", "#e0912f", "#17414b", "#fffdf7"
"""Colours of the near limbs, the limbs behind the trunk, the part that stands out, the head and the ball."""
TURN_DEG = 24.0
"""The figure is seen this far round from the side, so that hips and shoulders do not fall into one line."""
MARGIN = 0.32
"""Room about the joints, in trunk lengths."""
DRAWN = 200.0
"""Height of the drawing in its own units."""

LIMBS = (
    (Joint.RIGHT_SHOULDER, Joint.RIGHT_ELBOW, 0.105, 0.085),
    (Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST, 0.085, 0.06),
    (Joint.RIGHT_WRIST, Joint.RIGHT_HAND, 0.06, 0.07),
    (Joint.LEFT_SHOULDER, Joint.LEFT_ELBOW, 0.105, 0.085),
    (Joint.LEFT_ELBOW, Joint.LEFT_WRIST, 0.085, 0.06),
    (Joint.LEFT_WRIST, Joint.LEFT_HAND, 0.06, 0.07),
    (Joint.RIGHT_HIP, Joint.RIGHT_KNEE, 0.165, 0.115),
    (Joint.RIGHT_KNEE, Joint.RIGHT_ANKLE, 0.115, 0.07),
    (Joint.LEFT_HIP, Joint.LEFT_KNEE, 0.165, 0.115),
    (Joint.LEFT_KNEE, Joint.LEFT_ANKLE, 0.115, 0.07),
    (Joint.RIGHT_HEEL, Joint.RIGHT_TOE, 0.075, 0.06),
    (Joint.LEFT_HEEL, Joint.LEFT_TOE, 0.075, 0.06),
)
"""Both ends of each limb and its half width there, in trunk lengths."""
SIDES = {
    BodyPart.ARM: ("SHOULDER", "ELBOW", "WRIST", "HAND"),
    BodyPart.FRONT_LEG: ("HIP", "KNEE", "ANKLE", "HEEL", "TOE"),
}
"""Joints of a limb that can stand out."""


@dataclass(frozen=True, kw_only=True)
class SeenBody:
    """The joints as the drawing sees them."""

    places: Array
    """(19, 2) places, x to the right, y down, in drawing units."""
    depths: Array
    """(19,) distance from the viewer, larger is farther."""
    trunk_step: float
    """Length of the trunk in drawing units."""
    size: tuple[float, float]
    """Width and height of the drawing."""


def draw_body(joints_m: Array, is_left_handed: bool, part: BodyPart) -> str:
    """Return the figure as SVG text, without any words.

    `joints_m` (19, 3) in the field frame, x to the target, z up, the athlete's own sides. It is seen from the open
    side, so a right-hander throws to the right and a left-hander to the left.
    """
    seen = see_body(joints_m, is_left_handed)
    shapes = [*_draw_limbs(seen, part, is_left_handed), _draw_trunk(seen, part), _draw_head(seen, is_left_handed)]
    # What is far is drawn first.
    body = "".join(shape for _, shape in sorted(shapes, key=lambda item: -item[0]))
    ball = _draw_ball(seen, is_left_handed)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {seen.size[0]:.1f} {seen.size[1]:.1f}" '
        f'width="{seen.size[0]:.1f}" height="{seen.size[1]:.1f}">{_draw_ground(seen)}{body}{ball}</svg>'
    )


def see_body(joints_m: Array, is_left_handed: bool) -> SeenBody:
    """Return the joints as seen from the open side, a little from the front, fitted into the drawing."""
    side = -1.0 if is_left_handed else 1.0
    turn = radians(TURN_DEG)
    across = joints_m @ np.array([side * cos(turn), sin(turn), 0.0])
    depths = joints_m @ np.array([-sin(turn), side * cos(turn), 0.0])
    flat = np.stack([across, -joints_m[:, 2]], axis=1)
    middle = flat[[Joint.RIGHT_SHOULDER, Joint.LEFT_SHOULDER]].mean(axis=0)
    hips = joints_m[[Joint.RIGHT_HIP, Joint.LEFT_HIP]].mean(axis=0)
    trunk_m = float(np.linalg.norm(joints_m[[Joint.RIGHT_SHOULDER, Joint.LEFT_SHOULDER]].mean(axis=0) - hips))
    shapes = np.vstack([flat, middle - np.array([0.0, 0.75 * trunk_m])])
    low, high = shapes.min(axis=0) - MARGIN * trunk_m, shapes.max(axis=0) + MARGIN * trunk_m
    scale = DRAWN / float(high[1] - low[1])
    return SeenBody(
        places=(flat - low) * scale,
        depths=depths,
        trunk_step=trunk_m * scale,
        size=(float(high[0] - low[0]) * scale, DRAWN),
    )


def _draw_limbs(seen: SeenBody, part: BodyPart, is_left_handed: bool) -> list[tuple[float, str]]:
    middle = float(seen.depths[[Joint.RIGHT_HIP, Joint.LEFT_HIP]].mean())
    shapes = []
    for start, end, wide, narrow in LIMBS:
        depth = float(seen.depths[[start, end]].mean())
        colour = FAR if depth > middle + 0.02 else INK
        if _stands_out(start, part, is_left_handed) and _stands_out(end, part, is_left_handed):
            colour, depth = SHINE, depth - 10.0
        ends = (seen.places[start], seen.places[end])
        shapes.append((depth, _draw_limb(ends, (wide * seen.trunk_step, narrow * seen.trunk_step), colour)))
    return shapes


def _stands_out(joint: Joint, part: BodyPart, is_left_handed: bool) -> bool:
    """Say whether a joint belongs to the limb that stands out: the throwing arm or the front leg."""
    throwing, front = ("LEFT", "RIGHT") if is_left_handed else ("RIGHT", "LEFT")
    side = throwing if part is BodyPart.ARM else front
    return part in SIDES and joint.name.startswith(side) and joint.name.partition("_")[2] in SIDES[part]


def _draw_limb(ends: tuple[Array, Array], widths: tuple[float, float], colour: str) -> str:
    """Return a limb that grows thinner, rounded at both ends."""
    start, end = ends
    length = hypot(*(end - start)) or 1.0
    normal = np.array([-(end - start)[1], (end - start)[0]]) / length
    corners = (
        start + normal * widths[0],
        end + normal * widths[1],
        end - normal * widths[1],
        start - normal * widths[0],
    )
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
    circles = "".join(
        f'<circle cx="{place[0]:.1f}" cy="{place[1]:.1f}" r="{width:.1f}"/>'
        for place, width in zip(ends, widths, strict=True)
    )
    return f'<g fill="{colour}"><polygon points="{points}"/>{circles}</g>'


def _draw_trunk(seen: SeenBody, part: BodyPart) -> tuple[float, str]:
    corners = (Joint.RIGHT_SHOULDER, Joint.LEFT_SHOULDER, Joint.LEFT_HIP, Joint.RIGHT_HIP)
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in seen.places[list(corners)])
    colour = SHINE if part is BodyPart.CHEST else INK
    body = (
        f'<polygon points="{points}" fill="{colour}" stroke="{colour}" stroke-width="{0.3 * seen.trunk_step:.1f}" '
        'stroke-linejoin="round"/>'
    )
    if part is BodyPart.HIPS:
        first, second = seen.places[Joint.RIGHT_HIP], seen.places[Joint.LEFT_HIP]
        body += (
            f'<line x1="{first[0]:.1f}" y1="{first[1]:.1f}" x2="{second[0]:.1f}" y2="{second[1]:.1f}" '
            f'stroke="{SHINE}" stroke-width="{0.36 * seen.trunk_step:.1f}" stroke-linecap="round"/>'
        )
    return float(seen.depths[list(corners)].mean()), body


def _draw_head(seen: SeenBody, is_left_handed: bool) -> tuple[float, str]:
    """Return neck, head and cap; the cap's peak points the way that the throw goes."""
    shoulders = seen.places[[Joint.RIGHT_SHOULDER, Joint.LEFT_SHOULDER]].mean(axis=0)
    x, y = seen.places[Joint.HEAD]
    radius = 0.235 * seen.trunk_step
    way, low = -1.0 if is_left_handed else 1.0, 0.2 * radius
    neck = _draw_limb((shoulders, np.array([x, y])), (0.09 * seen.trunk_step, 0.09 * seen.trunk_step), SKIN)
    head = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" fill="{SKIN}"/>'
    peak = (
        f'<path d="M{x - radius:.1f} {y - low:.1f} A{radius:.1f} {radius:.1f} 0 0 1 {x + radius:.1f} {y - low:.1f} Z" '
        f'fill="{SHINE}"/><line x1="{x:.1f}" y1="{y - 0.12 * radius:.1f}" x2="{x + 1.65 * way * radius:.1f}" '
        f'y2="{y - 0.08 * radius:.1f}" stroke="{SHINE}" stroke-width="{0.22 * radius:.1f}" stroke-linecap="round"/>'
    )
    return float(seen.depths[Joint.HEAD]) - 5.0, neck + head + peak


def _draw_ball(seen: SeenBody, is_left_handed: bool) -> str:
    wrist, hand = (Joint.LEFT_WRIST, Joint.LEFT_HAND) if is_left_handed else (Joint.RIGHT_WRIST, Joint.RIGHT_HAND)
    along = seen.places[hand] - seen.places[wrist]
    x, y = seen.places[hand] + along * (0.1 * seen.trunk_step / (hypot(*along) or 1.0))
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{0.1 * seen.trunk_step:.1f}" fill="{BALL}" stroke="{INK}" '
        f'stroke-width="{0.025 * seen.trunk_step:.1f}"/>'
    )


def _draw_ground(seen: SeenBody) -> str:
    """Return the shadow on the ground under the feet."""
    feet = seen.places[[Joint.RIGHT_TOE, Joint.RIGHT_HEEL, Joint.LEFT_TOE, Joint.LEFT_HEEL]]
    left, right = float(feet[:, 0].min()), float(feet[:, 0].max())
    return (
        f'<ellipse cx="{(left + right) / 2:.1f}" cy="{float(feet[:, 1].max()) + 0.1 * seen.trunk_step:.1f}" '
        f'rx="{(right - left) / 2 + 0.3 * seen.trunk_step:.1f}" ry="{0.1 * seen.trunk_step:.1f}" fill="{INK}" '
        'opacity="0.14"/>'
    )
