"""Clothes, hair, cap, glove and ball: a baked body turned into a coloured mesh ready to be skinned."""

from dataclasses import dataclass

import numpy as np

from rendering.bodies import Body
from rendering.motion import BALL_RADIUS_M
from rendering.rotations import Array, make_unit

Colour = tuple[float, float, float]
UPPER = ("spine", "clavicle", "shoulder01", "breast")
LEGS = ("root", "pelvis", "upperleg")


@dataclass(frozen=True, kw_only=True)
class Look:
    """Colours (0 to 1) and cut of what an invented athlete wears."""

    skin: Colour
    """Skin."""
    hair: Colour
    """Hair."""
    shirt: Colour
    """Shirt."""
    trousers: Colour
    """Trousers or shorts."""
    shoes: Colour
    """Shoes."""
    cap: Colour | None
    """Cap, or None for bare hair."""
    long_sleeves: bool
    """Sleeves to the wrist; else to the middle of the upper arm."""
    shorts: bool
    """Bare shanks."""
    loose_m: float
    """How far the clothes stand off the skin."""


@dataclass(frozen=True, kw_only=True)
class Mesh:
    """Triangles with colours, skinned by at most four bones a vertex; the last bone is the ball."""

    positions: Array
    """Rest places, (N, 3)."""
    normals: Array
    """Unit normals at rest, (N, 3)."""
    colours: Array
    """Red, green, blue 0 to 1, (N, 3)."""
    bone_index: Array
    """Bones of each vertex, (N, 4)."""
    bone_weight: Array
    """Their weights, (N, 4)."""
    faces: Array
    """Triangles, (F, 3)."""


def dress_body(body: Body, look: Look, throwing_side: str, *, has_ball: bool = True) -> Mesh:
    """The body in its clothes, a glove on the other hand and a ball as an extra bone."""
    names = np.array([label.partition(".")[0] for label in body.labels])[body.bone_index[:, 0]]
    worn = _find_cloth(body, names, look)
    colours = _colour_vertices(body, names, look, worn)
    normals = find_normals(body.vertices, body.faces)
    shoes = _starts(names, ("foot", "toe"))
    off = np.where(worn, look.loose_m, 0.0) + np.where(shoes, 0.007, 0.0)
    positions = body.vertices + normals * _smooth(body, off)[:, None]
    positions[shoes, 2] = np.maximum(positions[shoes, 2], 0.0)
    mesh = Mesh(
        positions=positions,
        normals=find_normals(positions, body.faces),
        colours=colours,
        bone_index=body.bone_index,
        bone_weight=body.bone_weight,
        faces=body.faces,
    )
    parts = [mesh, _make_glove(body, "L" if throwing_side == "R" else "R")]
    parts += [_make_brim(body, look.cap)] if look.cap else []
    parts += [_make_ball(len(body.labels))] if has_ball else []
    return join_meshes(parts)


def _starts(names: Array, beginnings: tuple[str, ...]) -> Array:
    return np.any([np.char.startswith(names.astype(str), b) for b in beginnings], axis=0)


def _find_cloth(body: Body, names: Array, look: Look) -> Array:
    """Which vertices are covered by cloth, (V,) true or false."""
    cloth = _starts(names, UPPER) | _starts(names, LEGS) | _starts(names, ("upperarm01",))
    if look.long_sleeves:
        cloth |= _starts(names, ("upperarm02", "lowerarm"))
    if not look.shorts:
        cloth |= _starts(names, ("lowerleg",))
    collar = body.head("neck01")[2] + 0.01
    return cloth & ~(_starts(names, ("spine", "clavicle")) & (body.vertices[:, 2] > collar))


def _colour_vertices(body: Body, names: Array, look: Look, worn: Array) -> Array:
    colours = np.tile(np.array(look.skin), (len(names), 1))
    waist = body.head("spine04")[2]
    top = worn & (_starts(names, (*UPPER, "upperarm", "lowerarm"))) & (body.vertices[:, 2] > waist)
    colours[worn] = look.trousers
    colours[top] = look.shirt
    colours[worn & (np.abs(body.vertices[:, 2] - waist) < 0.012)] = (0.15, 0.12, 0.1)
    colours[_starts(names, ("foot", "toe"))] = look.shoes
    _colour_head(body, names, look, colours)
    return colours


def _colour_head(body: Body, names: Array, look: Look, colours: Array) -> None:
    head = body.head("head")
    size = body.vertices[:, 2].max() - head[2]
    on_head = _starts(names, ("head", "neck03", "jaw")) & (body.vertices[:, 2] > head[2] - 0.2 * size)
    up = (body.vertices[:, 2] - head[2]) / size
    ahead = (body.vertices[:, 0] - head[0]) / size
    hair = on_head & (up > 0.62 + 0.25 * np.clip(ahead, -1, 1) * (ahead > 0)) | (on_head & (ahead < -0.12) & (up > 0.0))
    colours[hair] = look.hair
    if look.cap:
        colours[on_head & (up > 0.66)] = look.cap
    lips = _starts(names, ("oris",))
    colours[lips] = np.array(look.skin) * np.array([0.85, 0.6, 0.6])
    eyes = _starts(names, ("eye",))
    colours[eyes] = (0.92, 0.92, 0.92)
    if eyes.any():
        colours[eyes & (body.vertices[:, 0] > body.vertices[eyes, 0].max() - 0.003)] = (0.12, 0.08, 0.05)


def _smooth(body: Body, values: Array) -> Array:
    """A number per vertex averaged over neighbours twice, so that cloth ends softly."""
    edges = np.concatenate([body.faces[:, [0, 1]], body.faces[:, [1, 2]], body.faces[:, [2, 0]]])
    for _ in range(2):
        total, count = np.zeros(len(values)), np.zeros(len(values))
        for a, b in ((0, 1), (1, 0)):
            np.add.at(total, edges[:, a], values[edges[:, b]])
            np.add.at(count, edges[:, a], 1.0)
        values = 0.5 * values + 0.5 * total / np.maximum(count, 1.0)
    return values


def find_normals(positions: Array, faces: Array) -> Array:
    """Unit vertex normals (N, 3) of a triangle mesh."""
    corners = positions[faces]
    flat = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals = np.zeros_like(positions)
    for k in range(3):
        np.add.at(normals, faces[:, k], flat)
    return make_unit(normals)


def make_sphere(radius_m: float, rings: int = 10) -> tuple[Array, Array]:
    """Vertices (N, 3) and faces (F, 3) of a sphere about the origin."""
    around = 2 * rings
    polar, turn = np.meshgrid(np.linspace(0, np.pi, rings + 1), np.arange(around) * np.pi / rings, indexing="ij")
    points = np.stack([np.sin(polar) * np.cos(turn), np.sin(polar) * np.sin(turn), np.cos(polar)], axis=-1)
    index = np.arange((rings + 1) * around).reshape(rings + 1, around)
    a, b = index[:-1], index[1:]
    right = np.roll(index, -1, axis=1)
    c, d = right[1:], right[:-1]
    faces = np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)])
    return points.reshape(-1, 3) * radius_m, faces


def _rigid(points: Array, faces: Array, bone: int, colour: Colour) -> Mesh:
    count = len(points)
    weight = np.zeros((count, 4))
    weight[:, 0] = 1.0
    return Mesh(
        positions=points,
        normals=find_normals(points, faces),
        colours=np.tile(np.array(colour), (count, 1)),
        bone_index=np.full((count, 4), bone),
        bone_weight=weight,
        faces=faces,
    )


def _make_ball(bone: int) -> Mesh:
    points, faces = make_sphere(BALL_RADIUS_M)
    return _rigid(points, faces, bone, (0.95, 0.95, 0.92))


def _make_glove(body: Body, side: str) -> Mesh:
    """A flattened leather bag about the fingers of the glove hand."""
    wrist, tip = body.head(f"wrist.{side}"), body.head(f"finger3-3.{side}")
    points, faces = make_sphere(1.0, 8)
    along = make_unit(tip - wrist)
    across = make_unit(body.head(f"finger2-1.{side}") - body.head(f"finger5-1.{side}"))
    axes = np.stack([along, make_unit(across - across @ along * along), np.cross(along, across)])
    reach = 0.75 * float(np.linalg.norm(tip - wrist))
    points = points * np.array([reach, 0.72 * reach, 0.42 * reach]) @ axes + wrist + along * 1.05 * reach
    return _rigid(points, faces, body.bone(f"wrist.{side}"), (0.42, 0.24, 0.11))


def _make_brim(body: Body, colour: Colour) -> Mesh:
    """The peak of a cap: half an ellipse in front of the forehead."""
    head = body.head("head")
    size = body.vertices[:, 2].max() - head[2]
    turn = np.linspace(-np.pi / 2, np.pi / 2, 15)
    rim = np.stack([0.62 * np.cos(turn), 0.42 * np.sin(turn), 0.0 * turn - 0.06 * np.cos(turn)], axis=-1) * size
    front = body.vertices[body.vertices[:, 2] > head[2] + 0.6 * size, 0].max() - 0.25 * size
    centre = np.array([front, 0.0, head[2] + 0.68 * size])
    points = np.concatenate([[centre], centre + rim])
    fan = np.array([[0, k, k + 1] for k in range(1, len(rim))])
    return _rigid(points, np.concatenate([fan, fan[:, ::-1]]), body.bone("head"), colour)


def join_meshes(parts: list[Mesh]) -> Mesh:
    """Several meshes as one."""
    starts = np.cumsum([0, *[len(p.positions) for p in parts[:-1]]])
    return Mesh(
        positions=np.concatenate([p.positions for p in parts]),
        normals=np.concatenate([p.normals for p in parts]),
        colours=np.concatenate([p.colours for p in parts]),
        bone_index=np.concatenate([p.bone_index for p in parts]),
        bone_weight=np.concatenate([p.bone_weight for p in parts]),
        faces=np.concatenate([p.faces + s for p, s in zip(parts, starts, strict=True)]),
    )
