"""The renderer: dressed bodies over a still background, with lens, exposure and rolling shutter exact per vertex."""

from dataclasses import dataclass

import moderngl
import numpy as np

from rendering.cameras import Phone, project_points
from rendering.clothes import Mesh
from rendering.motion import RATE_HZ, Motion
from rendering.rotations import Array

SUN = np.array([-0.35, -0.45, -0.82])
MAX_BONES = 112
VERTEX = """
#version 330
layout(std140) uniform Bones { vec4 rows[BONE_ROWS]; };
uniform mat3 turn; uniform vec3 shift; uniform vec4 lens; uniform vec4 bend; uniform float bend3;
uniform vec2 size; uniform vec4 crop; uniform vec3 sun; uniform float is_shadow;
in vec3 position; in vec3 normal; in vec3 colour; in vec4 index; in vec4 weight;
out vec3 shade_normal; out vec3 shade_colour; out vec3 rest;
vec3 skin(vec4 p, int pose) {
  vec3 r = vec3(0.0);
  for (int k = 0; k < 4; k++) {
    int b = (pose * MAX_BONES + int(index[k])) * 3;
    r += weight[k] * vec3(dot(rows[b], p), dot(rows[b + 1], p), dot(rows[b + 2], p));
  }
  return r;
}
vec3 flatten(vec3 x) { return is_shadow > 0.5 ? vec3((x - sun * (x.z / sun.z)).xy, 0.004) : x; }
vec3 look(vec3 x) {
  vec3 c = turn * x + shift;
  vec2 q = c.xy / c.z;
  float r2 = dot(q, q);
  float radial = 1.0 + r2 * (bend.x + r2 * (bend.y + r2 * bend3));
  vec2 d = q * radial + vec2(2.0 * bend.z * q.x * q.y + bend.w * (r2 + 2.0 * q.x * q.x),
                             bend.z * (r2 + 2.0 * q.y * q.y) + 2.0 * bend.w * q.x * q.y);
  return vec3(d * lens.xy + lens.zw, c.z);
}
void main() {
  vec3 a = skin(vec4(position, 1.0), 0), b = skin(vec4(position, 1.0), 1);
  float row = look(flatten(0.5 * (a + b))).y;
  vec3 seen = look(flatten(mix(a, b, clamp(row / size.y, 0.0, 1.0))));
  vec2 inside = (seen.xy + 0.5 - crop.xy) / crop.zw;
  float depth = (seen.z - 0.3) / 59.7 * 2.0 - 1.0;
  gl_Position = vec4((inside.x * 2.0 - 1.0) * seen.z, (inside.y * 2.0 - 1.0) * seen.z, depth * seen.z, seen.z);
  shade_normal = skin(vec4(normal, 0.0), 0);
  shade_colour = colour; rest = position;
}
""".replace("BONE_ROWS", str(2 * MAX_BONES * 3)).replace("MAX_BONES", str(MAX_BONES))
FRAGMENT = """
#version 330
uniform vec3 sun; uniform float is_shadow; uniform float ambient;
in vec3 shade_normal; in vec3 shade_colour; in vec3 rest; out vec4 pixel;
float hash(vec3 p) { return fract(sin(dot(floor(p), vec3(12.9898, 78.233, 37.719))) * 43758.5453); }
void main() {
  if (is_shadow > 0.5) { pixel = vec4(0.0, 0.0, 0.0, 0.42); return; }
  vec3 n = normalize(shade_normal);
  float light = ambient + (0.95 - ambient) * max(dot(n, -sun), 0.0) + 0.14 * n.z;
  float weave = 0.94 + 0.06 * hash(rest * 130.0) + 0.04 * hash(rest * 40.0);
  pixel = vec4(clamp(shade_colour * light * weave, 0.0, 1.0), 1.0);
}
"""


@dataclass(frozen=True, kw_only=True)
class Actor:
    """Somebody in the picture: a mesh and the motion that moves it."""

    mesh: Mesh
    """Dressed body."""
    motion: Motion
    """What it does; before its start and after its end it stands still."""
    starts_s: float
    """World time at which the motion starts."""


class Studio:
    """An off-screen OpenGL context (EGL) with one buffer, for pictures up to a size."""

    def __init__(self, width: int, height: int) -> None:
        self._gl = moderngl.create_context(standalone=True, backend="egl")
        self._program = self._gl.program(vertex_shader=VERTEX, fragment_shader=FRAGMENT)
        self._bones = self._gl.buffer(reserve=2 * MAX_BONES * 3 * 16)
        self._bones.bind_to_uniform_block(0)
        self._program["Bones"].binding = 0  # type: ignore[union-attr]
        size = (width, height)
        colour, depth = self._gl.renderbuffer(size, 4, samples=4), self._gl.depth_renderbuffer(size, samples=4)
        self._many = self._gl.framebuffer([colour], depth)
        self._one = self._gl.framebuffer([self._gl.renderbuffer(size, 4)])
        self._meshes: dict[int, moderngl.VertexArray] = {}

    def render_picture(self, phone: Phone, actors: list[Actor], time_s: float, samples: int) -> tuple[Array, Array]:
        """Premultiplied colour and alpha (h, w, 4) of the moving things, and the crop (x, y, w, h) it covers."""
        crop = find_crop(phone, actors, time_s)
        total = np.zeros((crop[3], crop[2], 4), np.float32)
        for k in range(samples):
            moment = time_s + ((k + 0.5) / samples - 0.5) * phone.exposure_s
            total += self._render_once(phone, actors, moment, crop)
        return total / samples, np.array(crop)

    def _render_once(self, phone: Phone, actors: list[Actor], time_s: float, crop: tuple[int, ...]) -> Array:
        self._set_phone(phone, crop)
        self._many.use()
        self._many.viewport = (0, 0, crop[2], crop[3])
        self._many.scissor = (0, 0, crop[2], crop[3])
        self._many.clear(0.0, 0.0, 0.0, 0.0)
        self._gl.enable(moderngl.DEPTH_TEST)
        for is_shadow in (1.0, 0.0):
            self._program["is_shadow"] = is_shadow
            for actor in actors:
                self._draw(phone, actor, time_s)
        self._gl.copy_framebuffer(self._one, self._many)
        data = self._one.read((0, 0, crop[2], crop[3]), components=4)
        return np.frombuffer(data, np.uint8).reshape(crop[3], crop[2], 4)

    def _set_phone(self, phone: Phone, crop: tuple[int, ...]) -> None:
        k = phone.matrix
        self._program["turn"].write(np.ascontiguousarray(phone.rotation.T, np.float32).tobytes())
        self._program["shift"] = tuple(phone.translation)
        self._program["lens"] = (k[0, 0], k[1, 1], k[0, 2], k[1, 2])
        self._program["bend"] = tuple(phone.distortion[:4])
        self._program["bend3"] = float(phone.distortion[4])
        self._program["size"] = (phone.width, phone.height)
        self._program["crop"] = tuple(float(c) for c in crop)
        self._program["sun"] = tuple(SUN / np.linalg.norm(SUN))
        self._program["ambient"] = 0.5

    def _draw(self, phone: Phone, actor: Actor, time_s: float) -> None:
        readout = phone.row_time_s * phone.height
        poses = np.zeros((2, MAX_BONES, 3, 4), np.float32)
        for k, moment in enumerate((time_s, time_s + readout)):
            matrices = build_bone_matrices(actor.motion, moment - actor.starts_s)
            poses[k, : len(matrices)] = matrices
        self._bones.write(poses.tobytes())
        self._find_mesh(actor.mesh).render()

    def _find_mesh(self, mesh: Mesh) -> moderngl.VertexArray:
        if id(mesh) not in self._meshes:
            columns = [mesh.positions, mesh.normals, mesh.colours, mesh.bone_index, mesh.bone_weight]
            data = self._gl.buffer(np.concatenate(columns, axis=1).astype("f4").tobytes())
            faces = self._gl.buffer(mesh.faces.astype("i4").tobytes())
            layout = [(data, "3f 3f 3f 4f 4f", "position", "normal", "colour", "index", "weight")]
            self._meshes[id(mesh)] = self._gl.vertex_array(self._program, layout, faces)
        return self._meshes[id(mesh)]


def build_bone_matrices(motion: Motion, time_s: float) -> Array:
    """Matrices (B + 1, 3, 4) from rest to the field frame at a time; the last one is the ball."""
    at = float(np.clip(time_s * RATE_HZ, 0, len(motion.times_s) - 1.001))
    low, share = int(at), at % 1.0
    place, body = motion.placement, motion.body
    rotations = (1 - share) * place.rotations[low] + share * place.rotations[low + 1]
    heads = (1 - share) * place.heads[low] + share * place.heads[low + 1]
    moved = heads - np.einsum("bij,bj->bi", rotations, body.heads)
    bones = np.concatenate([rotations, moved[:, :, None]], axis=2)
    ball = np.eye(3, 4)[None]
    ball[0, :, 3] = (1 - share) * motion.ball[low] + share * motion.ball[low + 1]
    return np.concatenate([bones, ball])


def find_crop(phone: Phone, actors: list[Actor], time_s: float) -> tuple[int, int, int, int]:
    """The part of the picture (x, y, w, h) that bodies, ball and shadows can touch."""
    points = np.concatenate([_find_outline(actor, time_s) for actor in actors])
    depth = points @ phone.rotation[2] + phone.translation[2]
    pixels = project_points(phone, points[depth > 0.5])
    low = np.clip(np.floor(pixels.min(axis=0)), 0, [phone.width - 2, phone.height - 2]).astype(int)
    high = np.clip(np.ceil(pixels.max(axis=0)), low + 2, [phone.width, phone.height]).astype(int)
    return int(low[0]), int(low[1]), int(high[0] - low[0]), int(high[1] - low[1])


def _find_outline(actor: Actor, time_s: float) -> Array:
    motion = actor.motion
    at = int(np.clip((time_s - actor.starts_s) * RATE_HZ, 0, len(motion.times_s) - 1))
    late = min(at + 5, len(motion.times_s) - 1)
    heads = np.concatenate([motion.placement.heads[at], motion.ball[[at, late]]])
    sun = SUN / np.linalg.norm(SUN)
    shadow = heads - sun * (heads[:, 2:] / sun[2])
    steps = 0.16 * np.array([[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1.6], [0, 0, -1]])
    return np.concatenate([(np.concatenate([heads, shadow])[:, None] + steps).reshape(-1, 3)])
