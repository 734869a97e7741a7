"""Phones: where they stand, their lens with distortion, their picture times and clocks."""

from dataclasses import dataclass

import numpy as np

from rendering.rotations import Array, make_unit


@dataclass(frozen=True, kw_only=True)
class Phone:
    """One phone on a tripod. OpenCV's camera: x right, y down, z forward; a point is R X + t."""

    name: str
    """File name stem and view, for example 'open-side'."""
    width: int
    """Picture width, pixels."""
    height: int
    """Picture height, pixels."""
    fps: float
    """Pictures a second while filming."""
    matrix: Array
    """Camera matrix K, (3, 3); a whole pixel number is the pixel's middle."""
    distortion: Array
    """OpenCV's k1, k2, p1, p2, k3, (5,)."""
    rotation: Array
    """Field frame to camera, (3, 3)."""
    translation: Array
    """Metres, (3,)."""
    row_time_s: float
    """Time from one picture row to the next (rolling shutter)."""
    exposure_s: float
    """How long each row gathers light."""
    start_s: float
    """World time of the first picture's first row (middle of its exposure)."""
    drift: float = 0.0
    """World seconds in a second of the phone's clock, minus one."""

    @property
    def centre(self) -> Array:
        """Place of the lens in the field frame, (3,)."""
        return -self.rotation.T @ self.translation


def find_picture_times(phone: Phone, count: int) -> Array:
    """World times (count,) of the first row of each picture."""
    return phone.start_s + np.arange(count) / phone.fps * (1.0 + phone.drift)


def aim_phone(place: Array, look_at: Array, roll_deg: float = 0.0) -> tuple[Array, Array]:
    """Rotation (3, 3) and translation (3,) of a camera at `place` looking at a point, rolled about its axis."""
    forward = make_unit(look_at - place)
    right = make_unit(np.cross(forward, np.array([0.0, 0.0, 1.0])))
    turn = np.radians(roll_deg)
    down = np.cross(forward, right)
    x = np.cos(turn) * right + np.sin(turn) * down
    rotation = np.stack([x, np.cross(forward, x), forward])
    return rotation, -rotation @ place


def build_matrix(width: int, height: int, field_of_view_deg: float, shift_px: tuple[float, float]) -> Array:
    """Camera matrix for a horizontal field of view of the longer side, the middle moved by `shift_px`."""
    focal = max(width, height) / 2 / np.tan(np.radians(field_of_view_deg) / 2)
    centre = ((width - 1) / 2 + shift_px[0], (height - 1) / 2 + shift_px[1])
    return np.array([[focal, 0.0, centre[0]], [0.0, focal, centre[1]], [0.0, 0.0, 1.0]])


def project_points(phone: Phone, points: Array) -> Array:
    """Pixels (..., 2) of points (..., 3) in the field frame, distorted; points behind the lens give rubbish."""
    seen = points @ phone.rotation.T + phone.translation
    x, y = seen[..., 0] / seen[..., 2], seen[..., 1] / seen[..., 2]
    k1, k2, p1, p2, k3 = phone.distortion
    r2 = x * x + y * y
    radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
    u = x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x)
    v = y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y
    return np.stack([u, v], axis=-1) * np.diag(phone.matrix)[:2] + phone.matrix[:2, 2]


def find_rays(phone: Phone, pixels: Array) -> Array:
    """Directions (N, 3) in the field frame of pixels (N, 2): the lens undone by fixed-point steps."""
    k1, k2, p1, p2, k3 = phone.distortion
    seen = (pixels - phone.matrix[:2, 2]) / np.diag(phone.matrix)[:2]
    flat = seen.copy()
    for _ in range(12):
        x, y = flat[:, 0], flat[:, 1]
        r2 = x * x + y * y
        radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
        bent = np.stack([2 * p1 * x * y + p2 * (r2 + 2 * x * x), p1 * (r2 + 2 * y * y) + 2 * p2 * x * y], axis=-1)
        flat = (seen - bent) / radial[:, None]
    return np.concatenate([flat, np.ones((len(flat), 1))], axis=1) @ phone.rotation


VIEWS = {
    "open-side": -90.0,
    "glove-side": 90.0,
    "front": 0.0,
    "behind": 180.0,
    "front-oblique": -40.0,
    "behind-oblique": -140.0,
}
"""Bearing of each view from the thrower, degrees from the line to the target, for a right-hander."""


def place_phone(
    rng: np.random.Generator,
    view: str,
    throwing_side: str,
    size: tuple[int, int],
    fps: float,
    far_m: tuple[float, float] = (4.6, 6.4),
) -> Phone:
    """A phone at a view with invented tripod, lens and clock; left-handers are seen from the mirrored bearing."""
    sign = 1.0 if throwing_side == "R" else -1.0
    bearing = np.radians(sign * (VIEWS[view] + rng.normal(0, 6.0)))
    distance = rng.uniform(*far_m)
    middle = np.array([0.55, 0.0, 0.0])
    place = middle + distance * np.array([np.cos(bearing), np.sin(bearing), 0.0])
    place[2] = rng.uniform(1.15, 1.5)
    look = middle + np.array([0.0, 0.0, 0.95]) + rng.normal(0, 0.06, 3)
    rotation, translation = aim_phone(place, look, float(rng.normal(0, 0.8)))
    shift = (float(rng.normal(0, 5)), float(rng.normal(0, 5)))
    k1 = rng.uniform(-0.05, 0.12)
    return Phone(
        name=view,
        width=size[0],
        height=size[1],
        fps=fps,
        matrix=build_matrix(*size, rng.uniform(60, 70), shift),
        distortion=np.array([k1, -1.6 * k1, rng.normal(0, 5e-4), rng.normal(0, 5e-4), 0.6 * k1]),
        rotation=rotation,
        translation=translation,
        row_time_s=float(rng.uniform(2.5e-6, 4.5e-6)) * 720 / min(size),
        exposure_s=1.0 / float(rng.uniform(600, 1200)),
        start_s=float(rng.uniform(-0.15, 0.15)),
        drift=float(rng.normal(0, 2e-5)),
    )
