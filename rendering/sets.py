"""Named sets of rendered visits: a quick sample and the demo; the test set and the fit pictures have their own files."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from rendering.bodies import Body, Build, obtain_bodies
from rendering.board import stand_board
from rendering.cameras import Phone, aim_phone, build_matrix
from rendering.clips import Recording
from rendering.clothes import Look
from rendering.delivery import Delivery, scatter_delivery
from rendering.motion import build_throw
from rendering.picture import Studio
from rendering.rotations import Array
from rendering.scene import Place
from rendering.visits import Visit, render_visit

YARD = Place(ground=(0.45, 0.36, 0.27), wall=(0.38, 0.45, 0.40), seed=1, half_width_m=9.0, ends_m=(-8.0, 14.0))
HALL = Place(ground=(0.33, 0.42, 0.36), wall=(0.62, 0.60, 0.55), seed=4, half_width_m=7.0, ends_m=(-6.0, 12.0))
SAMPLE_LOOK = Look(
    skin=(0.78, 0.58, 0.46),
    hair=(0.20, 0.13, 0.08),
    shirt=(0.15, 0.30, 0.62),
    trousers=(0.82, 0.82, 0.80),
    shoes=(0.12, 0.12, 0.12),
    cap=(0.10, 0.18, 0.40),
    long_sleeves=False,
    shorts=False,
    loose_m=0.012,
)


def place_by_hand(name: str, place: tuple[float, float, float], start_s: float, seed: int) -> Phone:
    """A 720p, 240 pictures-a-second phone at a place (metres, field frame), lens drawn by seed."""
    rng = np.random.default_rng(seed)
    rotation, translation = aim_phone(np.array(place), np.array([0.55, 0.0, 0.95]), float(rng.normal(0, 0.7)))
    k1 = float(rng.uniform(0.02, 0.09))
    return Phone(
        name=name,
        width=1280,
        height=720,
        fps=240.0,
        matrix=build_matrix(1280, 720, float(rng.uniform(61, 67)), (float(rng.normal(0, 4)), 3.0)),
        distortion=np.array([k1, -1.6 * k1, 4e-4, -3e-4, 0.6 * k1]),
        rotation=rotation,
        translation=translation,
        row_time_s=float(rng.uniform(3.0e-6, 4.2e-6)),
        exposure_s=1 / 1000,
        start_s=start_s,
        drift=float(rng.normal(0, 1.5e-5)),
    )


def find_rest_pose(phones: tuple[Phone, ...]) -> Array:
    """The board at rest: on its long edge on the ground, facing between the first two phones, leaning back 20 deg."""
    middle = np.array([0.55, 0.0])
    ways = [(phone.centre[:2] - middle) / np.linalg.norm(phone.centre[:2] - middle) for phone in phones[:2]]
    between = np.sum(ways, axis=0)
    return stand_board((0.55, 0.0), float(np.degrees(np.arctan2(between[1], between[0]))), 20.0)


def render_sample(out: Path, bodies: Path) -> Path:
    """One athlete of 13, one throw, two phones, as soon as can be: `sample/`."""
    build = Build(name="sample", age_years=13, height_m=1.58, sex=0.0, muscle=0.55, weight=0.45, proportions=0.6)
    body = obtain_bodies([build], bodies)[0]
    rng = np.random.default_rng(11)
    delivery = scatter_delivery(rng, replace(Delivery(), elbow_line_contact_deg=-12.0, stride_offset_m=0.09))
    phones = (
        place_by_hand("open-side", (0.75, -4.3, 1.30), -0.04, 1),
        place_by_hand("front", (5.1, 0.35, 1.40), 0.07, 2),
    )
    visit = Visit(
        name="sample",
        look=SAMPLE_LOOK,
        motions=((build_throw(body, delivery, "R", 9.0), "throw"),),
        deliveries=(delivery,),
        phones=phones,
        place=YARD,
        target_m=9.0,
        rest_pose=find_rest_pose(phones),
        seed=11,
    )
    render_visit(visit, out / visit.name, Recording(), Studio(1280, 720))
    return out / visit.name


def bake_one(build: Build, bodies: Path) -> Body:
    """One baked body."""
    return obtain_bodies([build], bodies)[0]
