"""Drawing the figure of a drill: its poses side by side as SVG, the throwing arm in bold."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from elbowroom.adapters.figures.skeleton import Joints, Point, place_joints
from elbowroom.adapters.figures.things import BEHIND, INK, SOFT, Scale, draw_thing
from elbowroom.core.plan.drills import Drill, Pose

STEP_PX, HEIGHT_PX, CAPTION_PX = 250, 250, 44
"""Width of one picture, height of the picture, height of its caption."""
BODY_PX, MARGIN_PX = 200.0, 20
"""Height of a standing figure, and what stays free beside a lying one."""
WORDS_A_LINE = 30
"""Most characters of a line of a caption."""


def render_drill_figure(
    drill: Drill, poses: Sequence[Pose], is_mirrored: bool = False, *, has_captions: bool = True
) -> str:
    """Return the figure of a drill as SVG with a text for who does not see it; mirrored for a left-hander."""
    known = {pose.key: pose for pose in poses}
    width = STEP_PX * len(drill.figure)
    parts = [
        f'<g transform="translate({number * STEP_PX} 0)">{_render_step(known[step.pose], is_mirrored)}'
        f"{_render_caption(number + 1, step.caption) if has_captions else ''}</g>"
        for number, step in enumerate(drill.figure)
    ]
    height = HEIGHT_PX + (CAPTION_PX if has_captions else 0)
    label = escape(f"{drill.name}: {'; '.join(step.caption for step in drill.figure)}", quote=True)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}" role="img" aria-label="{label}">{"".join(parts)}</svg>'
    )


def _render_step(pose: Pose, is_mirrored: bool) -> str:
    joints = place_joints(pose)
    scale = _make_scale(joints, is_mirrored)
    behind = [draw_thing(name, joints, scale) for name in pose.things if name in BEHIND]
    before = [draw_thing(name, joints, scale) for name in pose.things if name not in BEHIND]
    ground = scale((0.0, 0.0))[1] + 4
    floor = f'<line x1="14" y1="{ground:.1f}" x2="{STEP_PX - 14}" y2="{ground:.1f}" stroke="{SOFT}" stroke-width="2"/>'
    return "".join((floor, *behind, _render_body(joints, scale), *before))


def _make_scale(joints: Joints, is_mirrored: bool) -> Scale:
    """Return the way to pixels: feet on one ground line, the figure in the middle of its picture."""
    way = -1 if is_mirrored else 1
    xs = [point[0] for point in joints.list_points()]
    middle, width = (min(xs) + max(xs)) / 2, max(xs) - min(xs)
    size = min(BODY_PX, (STEP_PX - 2 * MARGIN_PX) / width)

    def scale(point: Point) -> Point:
        return STEP_PX / 2 + way * size * (point[0] - middle), HEIGHT_PX - 18 + size * point[1]

    return scale


def _render_body(joints: Joints, scale: Scale) -> str:
    limbs = joints.limbs
    shoulders, hips = (limbs["throwing"][0], limbs["glove"][0]), (limbs["pivot"][0], limbs["lead"][0])
    trunk = (shoulders[0], shoulders[1], hips[1], hips[0])
    corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in map(scale, trunk))
    x, y = scale(joints.head)
    head = f'cx="{x:.1f}" cy="{y:.1f}" r="{0.06 * BODY_PX:.1f}"'
    return "".join(
        (
            _render_limb(limbs["pivot"], scale, 6, SOFT),
            _render_limb(limbs["glove"], scale, 5, SOFT),
            f'<polygon points="{corners}" fill="#dfe5ea" stroke="{INK}" stroke-width="5" stroke-linejoin="round"/>',
            _render_limb(limbs["lead"], scale, 6, INK),
            f'<circle {head} fill="#ffffff" stroke="{INK}" stroke-width="4"/>',
            _render_limb(limbs["throwing"], scale, 8, "#0b5c8a"),
        )
    )


def _render_limb(points: Sequence[Point], scale: Scale, width: int, color: str) -> str:
    pairs = " ".join(f"{x:.1f},{y:.1f}" for x, y in map(scale, points))
    return (
        f'<polyline points="{pairs}" fill="none" stroke="{color}" stroke-width="{width}" stroke-linecap="round" '
        'stroke-linejoin="round"/>'
    )


def _render_caption(number: int, caption: str) -> str:
    lines = [""]
    for word in f"{number}. {caption}".split():
        if len(lines[-1]) + len(word) + 1 > WORDS_A_LINE:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    spans = "".join(
        f'<tspan x="{STEP_PX // 2}" y="{HEIGHT_PX + 14 + 18 * row}">{escape(line)}</tspan>'
        for row, line in enumerate(lines)
    )
    return f'<text text-anchor="middle" font-family="sans-serif" font-size="15" fill="{INK}">{spans}</text>'
