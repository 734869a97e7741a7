"""What is drawn beside a figure: balls, walls, bands, chairs."""

from __future__ import annotations

from collections.abc import Callable

from elbowroom.adapters.figures.skeleton import Joints, Point

Scale = Callable[[Point], Point]
"""From shares of the height to pixels."""
INK, SOFT = "#1d2a35", "#8a97a3"


def draw_thing(name: str, joints: Joints, scale: Scale) -> str:
    """Return one thing as SVG; raises `KeyError` for a thing that nobody can draw."""
    return THINGS[name](joints, scale)


def _line(first: Point, last: Point, scale: Scale, color: str = SOFT, extra: str = "") -> str:
    (x1, y1), (x2, y2) = scale(first), scale(last)
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{color}" stroke-width="3"'
        f' stroke-linecap="round"{extra}/>'
    )


def _dot(point: Point, radius_share: float, scale: Scale, fill: str = "#ffffff") -> str:
    (x, y), (edge, _) = scale(point), scale((point[0] + radius_share, point[1]))
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{abs(edge - x):.1f}" fill="{fill}" stroke="{INK}" stroke-width="2"/>'


def _box(left: float, top: float, width: float, height: float, scale: Scale) -> str:
    (x1, y1), (x2, y2) = scale((left, top)), scale((left + width, top + height))
    return (
        f'<rect x="{min(x1, x2):.1f}" y="{y1:.1f}" width="{abs(x2 - x1):.1f}" height="{y2 - y1:.1f}" fill="#e6eaee"'
        f' stroke="{SOFT}" stroke-width="2"/>'
    )


def _find_hand(joints: Joints, side: str = "throwing") -> Point:
    return joints.limbs[side][-1]


def _ball(joints: Joints, scale: Scale) -> str:
    return _dot(_find_hand(joints), 0.022, scale)


def _glove(joints: Joints, scale: Scale) -> str:
    return _dot(_find_hand(joints, "glove"), 0.035, scale, "#cfd8e0")


def _heavy_ball(joints: Joints, scale: Scale) -> str:
    first, last = _find_hand(joints), _find_hand(joints, "glove")
    return _dot(((first[0] + last[0]) / 2, (first[1] + last[1]) / 2), 0.065, scale, "#cfd8e0")


def _wall(joints: Joints, scale: Scale, side: int) -> str:
    xs = [side * point[0] for point in joints.list_points()]
    x = side * (max(xs) + 0.02)
    return _line((x, 0.0), (x, -1.02), scale, SOFT, ' stroke-dasharray="9 5"')


def _wall_behind(joints: Joints, scale: Scale) -> str:
    return _box(-0.34, -1.05, 0.68, 1.05, scale)


def _band(joints: Joints, scale: Scale) -> str:
    hand = _find_hand(joints)
    return _line(hand, (0.36, hand[1]), scale, INK, ' stroke-dasharray="2 5"')


def _band_hands(joints: Joints, scale: Scale) -> str:
    return _line(_find_hand(joints), _find_hand(joints, "glove"), scale, INK, ' stroke-dasharray="2 5"')


def _towel(joints: Joints, scale: Scale) -> str:
    x, y = _find_hand(joints)
    return _line((x, y), (x + 0.05, y + 0.11), scale, INK)


def _chair(joints: Joints, scale: Scale) -> str:
    x, y = joints.hips
    return _box(x - 0.10, y + 0.02, 0.2, -y - 0.02, scale)


def _bench(joints: Joints, scale: Scale) -> str:
    x, y = joints.hips
    legs = [_line((x + dx, y + 0.08), (x + dx, 0.0), scale) for dx in (-0.14, 0.2)]
    return _box(x - 0.18, y + 0.03, 0.42, 0.05, scale) + "".join(legs)


def _step(joints: Joints, scale: Scale) -> str:
    x, y = joints.limbs["pivot"][2]
    return _box(x - 0.04, y + 0.01, 0.17, max(-y - 0.01, 0.02), scale)


def _box_lead(joints: Joints, scale: Scale) -> str:
    x, _ = joints.limbs["lead"][2]
    return _box(x - 0.05, -0.005, 0.18, 0.035, scale)


def _ground_line(joints: Joints, scale: Scale) -> str:
    return _line((-0.42, 0.03), (0.46, 0.03), scale, INK, ' stroke-dasharray="10 4"')


def _mat(joints: Joints, scale: Scale) -> str:
    xs = [point[0] for point in joints.list_points()]
    return _box(min(xs) - 0.04, 0.005, max(xs) - min(xs) + 0.08, 0.03, scale)


def _stick(joints: Joints, scale: Scale) -> str:
    first, last = joints.limbs["throwing"][0], joints.limbs["glove"][0]
    dx, dy = last[0] - first[0], last[1] - first[1]
    return _line((first[0] - dx, first[1] - dy), (last[0] + dx, last[1] + dy), scale, INK)


def _dashed_shoulders(joints: Joints, scale: Scale) -> str:
    first, last = joints.limbs["throwing"][0], joints.limbs["glove"][0]
    return _line((first[0] - 0.25, first[1]), (last[0] + 0.25, last[1]), scale, SOFT, ' stroke-dasharray="6 6"')


def _weight(joints: Joints, scale: Scale) -> str:
    return _dot(_find_hand(joints), 0.03, scale, "#cfd8e0")


def _hammer(joints: Joints, scale: Scale, way: int) -> str:
    x, y = _find_hand(joints)
    head = (x + 0.02, y - way * 0.14)
    return _line((x, y), head, scale, INK) + _dot(head, 0.03, scale, "#cfd8e0")


THINGS: dict[str, Callable[[Joints, Scale], str]] = {
    "ball": _ball,
    "glove": _glove,
    "heavy ball": _heavy_ball,
    "wall right": lambda joints, scale: _wall(joints, scale, 1),
    "wall left": lambda joints, scale: _wall(joints, scale, -1),
    "wall behind": _wall_behind,
    "band right": _band,
    "band hands": _band_hands,
    "towel": _towel,
    "chair": _chair,
    "bench": _bench,
    "step pivot": _step,
    "box lead": _box_lead,
    "line": _ground_line,
    "mat": _mat,
    "stick": _stick,
    "dashed shoulders": _dashed_shoulders,
    "weight": _weight,
    "hammer": lambda joints, scale: _hammer(joints, scale, 1),
    "hammer down": lambda joints, scale: _hammer(joints, scale, -1),
}
"""What can be drawn beside a figure."""
BEHIND = ("wall behind", "chair", "bench", "step pivot", "box lead", "mat")
"""What is drawn before the figure, so that it lies behind it."""
