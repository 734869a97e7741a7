"""The still background: textured ground, wall with a fence pattern, pitcher's plate, marks, a board lying flat."""

from dataclasses import dataclass

import cv2
import numpy as np

from rendering.cameras import Phone, find_rays
from rendering.rotations import Array

PLATE_SIZE_M = (0.152, 0.61)
PLATE_FRONT_X_M = -0.055


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where the throws happen."""

    ground: tuple[float, float, float]
    """Ground colour, 0 to 1."""
    wall: tuple[float, float, float]
    """Wall colour."""
    seed: int
    """Seed of the textures."""
    half_width_m: float
    """Distance of the side walls from the line to the target."""
    ends_m: tuple[float, float]
    """Places along x of the wall behind the thrower and of the wall behind the target."""
    has_tape_cross: bool = True
    """A cross of white tape, arms 1 m, centred on the origin's line 1 m towards the target."""


@dataclass(frozen=True, kw_only=True)
class FlatPicture:
    """A picture lying in space: a board."""

    image: Array
    """Grey levels 0 to 255, rows down; pixel column along its x axis, row along its y axis."""
    pose: Array
    """(4, 4) from the picture's frame (x along columns, y along rows, metres, z = x cross y) to the field frame."""
    size_m: tuple[float, float]
    """Width and height."""


@dataclass(frozen=True, kw_only=True)
class Still:
    """The bare background of a phone, kept by sub-pixel, so that boards can be laid over it quickly."""

    rays: tuple[Array, ...]
    """Directions (height * width, 3) for each of four places in a pixel."""
    colours: tuple[Array, ...]
    """Colours (height * width, 3) met by them."""


def prepare_still(phone: Phone, place: Place) -> Still:
    """Trace the bare background once, four rays a pixel."""
    corners = ((-0.25, -0.25), (0.25, -0.25), (-0.25, 0.25), (0.25, 0.25))
    rays = tuple(trace_rays(phone, dx, dy) for dx, dy in corners)
    return Still(rays=rays, colours=tuple(_colour_rays(phone, place, r) for r in rays))


def lay_flat(phone: Phone, still: Still, flat: FlatPicture | None) -> Array:
    """The still picture (height, width, 3) in 0 to 255, with a flat picture in it if given."""
    total = np.zeros((phone.height, phone.width, 3), np.float32)
    for rays, bare in zip(still.rays, still.colours, strict=True):
        colours = bare
        if flat is not None:
            colours = bare.copy()
            _paint_flat(phone, flat, rays, colours)
        total += colours.reshape(total.shape)
    return total / 4


def render_background(phone: Phone, place: Place) -> Array:
    """The bare still picture (height, width, 3) in 0 to 255."""
    return lay_flat(phone, prepare_still(phone, place), None)


def trace_rays(phone: Phone, dx: float, dy: float) -> Array:
    """Directions (height * width, 3) of all pixels, moved by a part of a pixel."""
    u, v = np.meshgrid(np.arange(phone.width) + dx, np.arange(phone.height) + dy)
    return find_rays(phone, np.stack([u.ravel(), v.ravel()], axis=-1))


def _colour_rays(phone: Phone, place: Place, rays: Array) -> Array:
    texture = _make_texture(place.seed)
    start = phone.centre
    with np.errstate(divide="ignore", invalid="ignore"):
        to_ground = np.where(rays[:, 2] < -1e-6, -start[2] / rays[:, 2], np.inf)
        to_end = np.where(rays[:, 0] > 0, place.ends_m[1] - start[0], place.ends_m[0] - start[0]) / rays[:, 0]
        to_side = (np.sign(rays[:, 1]) * place.half_width_m - start[1]) / rays[:, 1]
    to_wall = np.minimum(np.where(to_end > 0, to_end, np.inf), np.where(to_side > 0, to_side, np.inf))
    is_ground = to_ground < to_wall
    hit = start + rays * np.minimum(to_ground, to_wall)[:, None]
    on_end = to_end < to_side
    along = np.where(on_end, hit[:, 1], hit[:, 0])
    wall = _paint_wall(place, texture, along, hit[:, 2])
    wall *= np.where(on_end, 0.92, 1.0)[:, None].astype(np.float32)
    return np.where(is_ground[:, None], _paint_ground(place, texture, hit), wall).astype(np.float32)


def _make_texture(seed: int) -> Array:
    """A repeating noise picture (1024, 1024) with mean 1."""
    rng = np.random.default_rng(seed)
    total = np.zeros((1024, 1024), np.float32)
    for cells, share in ((16, 0.05), (64, 0.06), (256, 0.07), (1024, 0.06)):
        noise = rng.normal(0, share, (cells, cells)).astype(np.float32)
        total += cv2.resize(noise, (1024, 1024), interpolation=cv2.INTER_CUBIC)
    return np.asarray(1.0 + total)


def _sample(texture: Array, x: Array, y: Array, scale_m: float) -> Array:
    u = (np.mod(x / scale_m, 1.0) * 1023).astype(int)
    v = (np.mod(y / scale_m, 1.0) * 1023).astype(int)
    return np.asarray(texture[v, u])


def _paint_ground(place: Place, texture: Array, hit: Array) -> Array:
    grain = _sample(texture, hit[:, 0], hit[:, 1], 4.0) * _sample(texture, hit[:, 1], hit[:, 0], 17.0)
    colours = grain[:, None] * np.array(place.ground, np.float32) * 255
    x, y = hit[:, 0], hit[:, 1]
    plate = (x < PLATE_FRONT_X_M) & (x > PLATE_FRONT_X_M - PLATE_SIZE_M[0]) & (np.abs(y) < PLATE_SIZE_M[1] / 2)
    colours[plate] = 238.0
    if place.has_tape_cross:
        arms = ((np.abs(x - 2.2) < 0.025) & (np.abs(y) < 0.5)) | ((np.abs(y) < 0.025) & (np.abs(x - 2.2) < 0.5))
        colours[arms] = 228.0
    return np.clip(colours, 0, 255)


def _paint_wall(place: Place, texture: Array, along: Array, up: Array) -> Array:
    shade = _sample(texture, along, up, 6.0)
    posts = np.abs(np.mod(along, 1.8) - 0.9) < 0.04
    boards = np.mod(up, 0.45) < 0.02
    colours = shade[:, None] * np.array(place.wall, np.float32) * 255
    colours[posts] *= 0.7
    colours[boards] *= 0.82
    colours[up > 2.6] *= 1.25
    return np.clip(colours, 0, 255)


def _paint_flat(phone: Phone, flat: FlatPicture, rays: Array, colours: Array) -> None:
    """Paint a flat picture over what lies behind it (nothing stands in front of it)."""
    turn, middle = flat.pose[:3, :3], flat.pose[:3, 3]
    start = turn.T @ (phone.centre - middle)
    local = rays @ turn
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = -start[2] / local[:, 2]
    spot = start[:2] + local[:, :2] * reach[:, None]
    scale = np.array([flat.image.shape[1] / flat.size_m[0], flat.image.shape[0] / flat.size_m[1]])
    with np.errstate(invalid="ignore"):
        inside = (reach > 0) & np.all((spot >= 0) & (spot < flat.size_m), axis=1)
    pixel = np.clip((spot[inside] * scale).astype(int), 0, np.array(flat.image.shape[1::-1]) - 1)
    colours[inside] = np.asarray(flat.image)[pixel[:, 1], pixel[:, 0]][:, None]
