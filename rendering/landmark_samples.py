"""Pictures of random throws with true joints, seen by the landmark models: what the error tables are fitted to.

Every throw has its own delivery, clothes, place and phone; bodies are invented and repeat, so that whole bodies can be
kept for checking. Pictures crowd between foot contact and release, where the arm is laid back.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import cv2
import numpy as np

from elbowroom.adapters.landmark_model.model import LandmarkModel
from elbowroom.core.landmarks.names import JOINTS, Joint
from elbowroom.core.landmarks.types import RawLandmarks, Region
from rendering.bodies import Body, Build, obtain_bodies
from rendering.cameras import VIEWS, Phone, place_phone, project_points
from rendering.clothes import Look, dress_body
from rendering.delivery import Delivery, draw_delivery
from rendering.motion import RATE_HZ, Motion, build_throw, measure_foot
from rendering.picture import Actor, Studio
from rendering.rotations import Array
from rendering.scene import Place, render_background

SIZES = ((1280, 720), (1280, 720), (1920, 1080))
"""Picture sizes drawn from."""
FPS = 240.0
BURST = 15
"""Pictures between foot contact and just after release."""
LOOSE = 7
"""Pictures in the rest of the throw."""
ZOOM = (0.75, 1.45)
"""Focal lengths drawn from, as shares of the phone's own: people stand from near to far."""
BONES = {
    "SHOULDER": "upperarm01",
    "ELBOW": "lowerarm01",
    "WRIST": "wrist",
    "HIP": "upperleg01",
    "KNEE": "lowerleg01",
    "ANKLE": "foot",
}
"""Bone whose head is each joint centre."""


@dataclass(frozen=True, kw_only=True)
class Sample:
    """One picture with its truth."""

    picture: Array
    """(height, width, 3) RGB, whole numbers 0 to 255."""
    joints: Array
    """(19, 2) true joint centres in pixels, each at the time of its own row."""
    depths: Array
    """(19,) true depth from the middle of the hips along the camera's axis, metres."""
    time_s: float
    """Time in the throw."""


def draw_builds(rng: np.random.Generator, count: int) -> list[Build]:
    """Invented bodies of 8 to 30 years, named by number."""
    builds = []
    for k in range(count):
        age = float(rng.choice([rng.uniform(8, 13), rng.uniform(13, 18), rng.uniform(18, 30)]))
        sex = float(rng.uniform(0, 1) < 0.35)
        tall = np.interp(age, [8, 11, 14, 17, 30], [1.28, 1.44, 1.64, 1.76 - 0.1 * sex, 1.82 - 0.14 * sex])
        builds.append(
            Build(
                name=f"fit-{k:02d}",
                age_years=age,
                height_m=float(tall * rng.normal(1.0, 0.035)),
                sex=sex,
                muscle=float(rng.uniform(0.3, 0.85)),
                weight=float(rng.uniform(0.25, 0.75)),
                proportions=float(rng.uniform(0.2, 0.9)),
            )
        )
    return builds


def draw_look(rng: np.random.Generator) -> Look:
    """Random clothes over skins from dark to light."""
    shade = rng.uniform(0.25, 0.95)
    skin = tuple(float(c) for c in np.array([0.95, 0.76, 0.64]) * shade)
    hair = tuple(float(c) for c in np.array([0.5, 0.36, 0.22]) * rng.uniform(0.1, 1.3))
    colours = [tuple(float(c) for c in rng.uniform(0.05, 0.95, 3)) for _ in range(4)]
    return Look(
        skin=skin,  # type: ignore[arg-type]
        hair=hair,  # type: ignore[arg-type]
        shirt=colours[0],  # type: ignore[arg-type]
        trousers=colours[1],  # type: ignore[arg-type]
        shoes=colours[2],  # type: ignore[arg-type]
        cap=colours[3] if rng.uniform() < 0.6 else None,  # type: ignore[arg-type]
        long_sleeves=bool(rng.uniform() < 0.35),
        shorts=bool(rng.uniform() < 0.35),
        loose_m=float(rng.uniform(0.003, 0.02)),
    )


def draw_place(rng: np.random.Generator) -> Place:
    """Random ground and walls."""
    ground, wall = rng.uniform(0.2, 0.75, 3), rng.uniform(0.2, 0.85, 3)
    return Place(
        ground=(float(ground[0]), float(ground[1]), float(ground[2])),
        wall=(float(wall[0]), float(wall[1]), float(wall[2])),
        seed=int(rng.integers(1 << 30)),
        half_width_m=float(rng.uniform(7.0, 12.0)),
        ends_m=(float(-rng.uniform(7.0, 12.0)), float(rng.uniform(8.0, 16.0))),
        has_tape_cross=bool(rng.uniform() < 0.5),
    )


def draw_times(rng: np.random.Generator, motion: Motion) -> Array:
    """Increasing picture times on a 240 Hz grid: a burst with uneven gaps about layback, and some elsewhere."""
    at = motion.instants_s
    burst = rng.uniform(at["foot_contact"] - 0.04, at["release"] + 0.06, BURST)
    loose = rng.uniform(0.25, motion.times_s[-1] - 0.05, LOOSE)
    times = np.round(np.concatenate([burst, loose]) * FPS) / FPS
    return np.unique(times)


def list_rest_points(body: Body) -> tuple[Array, Array]:
    """For every joint the bone that carries it (19,) and its place at rest from that bone's head (19, 3)."""
    points = [find_rest_point(body, joint) for joint in Joint]
    bones = np.array([bone for bone, _ in points])
    return bones, np.stack([point for _, point in points]) - body.heads[bones]


def find_joints(motion: Motion, rest: tuple[Array, Array], times_s: Array) -> Array:
    """True joint centres (19, 3) in the field frame, each at its own time (19,) of the throw."""
    bones, arms = rest
    low = np.clip((times_s * RATE_HZ).astype(int), 0, len(motion.times_s) - 2)
    share = np.clip(times_s * RATE_HZ - low, 0.0, 1.0)[:, None]
    place = motion.placement
    ends = [place.heads[k, bones] + np.einsum("jab,jb->ja", place.rotations[k, bones], arms) for k in (low, low + 1)]
    return np.asarray((1 - share) * ends[0] + share * ends[1])


def find_rest_point(body: Body, joint: Joint) -> tuple[int, Array]:
    """The bone that carries a joint and the joint's place (3,) at rest: knuckles, mid-ear, heel and toe are points
    fixed in a bone, the others bone heads."""
    side, _, part = joint.name.rpartition("_")
    letter = side[:1]
    if part in BONES:
        return body.bone(f"{BONES[part]}.{letter}"), body.head(f"{BONES[part]}.{letter}")
    if part == "HAND":
        knuckles = [body.head(f"finger{n}-1.{letter}") for n in (2, 5)]
        return body.bone(f"wrist.{letter}"), np.mean(knuckles, axis=0)
    if part in ("HEEL", "TOE"):
        heel, toe = measure_foot(body, letter)
        return body.bone(f"foot.{letter}"), heel if part == "HEEL" else toe
    return body.bone("head"), find_mid_ear(body)


def find_mid_ear(body: Body) -> Array:
    """Middle (3,) between the outermost points of the head, which are its ears."""
    head = body.bone("head")
    mesh = body.vertices[body.bone_index[:, 0] == head]
    mesh = mesh[mesh[:, 2] > body.heads[head, 2]]
    ends = [mesh[np.argsort(sign * mesh[:, 1])[:20]].mean(axis=0) for sign in (-1.0, 1.0)]
    return np.asarray(0.5 * (ends[0] + ends[1]))


def see_joints(phone: Phone, motion: Motion, rest: tuple[Array, Array], time_s: float) -> tuple[Array, Array]:
    """Pixels (19, 2) and depths from mid-hip (19,) of the true joints, each at the time of its own row."""
    times = np.full(JOINTS, time_s)
    for _ in range(3):
        joints = find_joints(motion, rest, times)
        pixels = project_points(phone, joints)
        times = time_s + pixels[:, 1] * phone.row_time_s
    depths = joints @ phone.rotation[2]
    return pixels, depths - 0.5 * (depths[Joint.LEFT_HIP] + depths[Joint.RIGHT_HIP])


def zoom_phone(phone: Phone, factor: float) -> Phone:
    """The phone with a longer (factor > 1) or shorter lens."""
    return replace(phone, matrix=phone.matrix * np.array([[factor], [factor], [1.0]]) + _keep_centre(phone, factor))


def _keep_centre(phone: Phone, factor: float) -> Array:
    shift = np.zeros((3, 3))
    shift[:2, 2] = (1.0 - factor) * phone.matrix[:2, 2]
    return shift


def spoil_picture(rng: np.random.Generator, picture: Array) -> Array:
    """Sensor noise and the losses of compression (JPEG stands in for a video codec)."""
    noisy = picture + rng.normal(0, rng.uniform(1.0, 5.0), picture.shape)
    done, data = cv2.imencode(
        ".jpg", np.clip(noisy, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(55, 90))]
    )
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_COLOR)) if done else np.clip(noisy, 0, 255).astype(np.uint8)


def render_throw(rng: np.random.Generator, body: Body, view: str, studio: Studio) -> Iterator[Sample]:
    """Pictures of one random throw of a body from a view."""
    side = "L" if rng.uniform() < 0.35 else "R"
    motion = build_throw(body, draw_delivery(rng, Delivery(), 1.3), side, 12.0)
    phone = zoom_phone(place_phone(rng, view, side, SIZES[int(rng.integers(len(SIZES)))], FPS), rng.uniform(*ZOOM))
    background = render_background(phone, draw_place(rng))
    rest = list_rest_points(body)
    actor = Actor(mesh=dress_body(body, draw_look(rng), side), motion=motion, starts_s=0.0)
    for time_s in draw_times(rng, motion).tolist():
        layer, crop = studio.render_picture(phone, [actor], time_s, 3)
        picture = background.copy()
        x, y, w, h = crop
        alpha = layer[..., 3:] / 255.0
        picture[y : y + h, x : x + w] = picture[y : y + h, x : x + w] * (1 - alpha) + layer[..., :3]
        joints, depths = see_joints(phone, motion, rest, time_s)
        yield Sample(picture=spoil_picture(rng, picture), joints=joints, depths=depths, time_s=time_s)


def find_regions(model: LandmarkModel, samples: list[Sample]) -> list[Region | None]:
    """Region of the thrower in each picture: the found person nearest to the true hips."""
    regions: list[Region | None] = []
    for sample, people in zip(samples, model.find_people([s.picture for s in samples]), strict=True):
        hips = sample.joints[[Joint.LEFT_HIP, Joint.RIGHT_HIP]].mean(axis=0)
        near = min(people, key=lambda p: float(np.linalg.norm(p.region.centre_px - hips)), default=None)
        regions.append(near.region if near else None)
    return regions


def flatten_landmarks(raw: RawLandmarks, prefix: str) -> dict[str, Array]:
    """The landmarks as named arrays."""
    return {f"{prefix}_{name}": np.asarray(value, np.float32) for name, value in vars(raw).items()}


def collect_samples(seed: int, throws: range, bodies: list[Body], model: LandmarkModel) -> dict[str, Array]:
    """Render numbered throws and run both models: named arrays, one row a picture."""
    studio = Studio(1920, 1080)
    rows: list[dict[str, Array]] = []
    for number in throws:
        rng = np.random.default_rng([seed, number])
        body = number % len(bodies)
        view = list(VIEWS)[(number // len(bodies) + number) % len(VIEWS)]
        samples = list(render_throw(rng, bodies[body], view, studio))
        found = [(s, r) for s, r in zip(samples, find_regions(model, samples), strict=True) if r is not None]
        if not found:
            continue
        kept, regions = [s for s, _ in found], [r for _, r in found]
        row = {
            "throw": np.full(len(kept), number),
            "body": np.full(len(kept), body),
            "view": np.full(len(kept), list(VIEWS).index(view)),
            "time_s": np.array([s.time_s for s in kept]),
            "joints": np.stack([s.joints for s in kept]),
            "depths": np.stack([s.depths for s in kept]),
            "missed": np.full(len(kept), len(samples) - len(kept)),
        }
        for size in ("light", "large"):
            raw = model.detect_landmarks([s.picture for s in kept], regions, size)  # type: ignore[arg-type]
            row |= flatten_landmarks(raw, size)
        rows.append(row)
        print(f"throw {number}: {len(kept)} of {len(samples)} pictures, {view}", flush=True)
    return {name: np.concatenate([row[name] for row in rows]) for name in rows[0]}


def main() -> None:
    """Collect samples into one npz file."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("out", type=Path)
    parser.add_argument("--bodies", type=Path, required=True, help="folder of the baked bodies")
    parser.add_argument("--models", type=Path, required=True, help="folder of the landmark models")
    parser.add_argument("--body-count", type=int, default=30)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=270)
    parser.add_argument("--seed", type=int, default=20)
    arguments = parser.parse_args()
    builds = draw_builds(np.random.default_rng(arguments.seed), arguments.body_count)
    bodies = obtain_bodies(builds, arguments.bodies)
    throws = range(arguments.first, arguments.first + arguments.count)
    samples = collect_samples(arguments.seed, throws, bodies, LandmarkModel(arguments.models, cores=1))
    np.savez_compressed(arguments.out, **samples)


if __name__ == "__main__":
    main()
