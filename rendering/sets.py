"""Named sets of rendered visits: sample, demo, test, and clips of things that are not throws or oddly filmed."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np

from rendering.actions import build_catch, build_dry_swing, build_return, build_standing, build_walk
from rendering.athletes import list_athletes, list_builds
from rendering.board import stand_board
from rendering.bodies import Body, Build, obtain_bodies
from rendering.cameras import Phone, aim_phone, build_matrix, place_phone
from rendering.clips import Recording
from rendering.clothes import Look
from rendering.delivery import Delivery, scatter_delivery
from rendering.motion import Motion, build_throw
from rendering.rotations import Array
from rendering.scene import Place
from rendering.visits import Visit

YARD = Place(ground=(0.45, 0.36, 0.27), wall=(0.38, 0.45, 0.40), seed=1, half_width_m=9.0, ends_m=(-8.0, 14.0))
HALL = Place(ground=(0.33, 0.42, 0.36), wall=(0.62, 0.60, 0.55), seed=4, half_width_m=7.0, ends_m=(-6.0, 12.0))
LANE = Place(ground=(0.50, 0.45, 0.38), wall=(0.45, 0.48, 0.58), seed=7, half_width_m=8.0, ends_m=(-7.0, 13.0))
TARGET_M = 9.0
Happenings = tuple[list[tuple[Motion, str]], list[Delivery | None]]
SAMPLE_BUILD = Build(name="sample", age_years=13, height_m=1.58, sex=0.0, muscle=0.55, weight=0.45, proportions=0.6)
DEMO_BUILD = Build(
    name="tavi-brandlund", age_years=13, height_m=1.60, sex=0.0, muscle=0.5, weight=0.42, proportions=0.6
)
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
DEMO_RECORDING = Recording(quality=29, noise=0.7, samples=3, preset="slow")
TEST_RECORDING = Recording(quality=28, noise=1.2, samples=2)
DEMO_FAULTS = Delivery(
    elbow_line_contact_deg=-18.0,
    elbow_line_layback_deg=-9.0,
    trunk_contact_deg=52.0,
    pelvis_contact_deg=54.0,
    pelvis_drive_deg=20.0,
    pelvis_apart_deg=2.0,
    stride_offset_m=0.12,
    foot_angle_deg=22.0,
    flexion_contact_deg=70.0,
    flexion_layback_deg=66.0,
    wait_s=0.3,
    hold_s=0.18,
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


def build_throws(body: Body, deliveries: list[Delivery], throwing_side: str) -> Happenings:
    """Throws one after another, with the steps back to the plate between them."""
    motions: list[tuple[Motion, str]] = []
    numbers: list[Delivery | None] = []
    for k, delivery in enumerate(deliveries):
        if k:
            motions.append((build_return(body, deliveries[k - 1], delivery, throwing_side), "going back"))
            numbers.append(None)
        motions.append((build_throw(body, delivery, throwing_side, TARGET_M), "throw"))
        numbers.append(delivery)
    return motions, numbers


@dataclass(frozen=True, kw_only=True)
class Plan:
    """A visit that can be built when it is needed."""

    name: str
    """Folder of the visit."""
    build: Callable[[Path], Visit]
    """Builds the visit, given the folder of baked bodies."""
    phone_count: int
    """How many phones it has."""
    how: Recording
    """How the phones write their clips."""


def list_sample() -> list[Plan]:
    """One athlete of 13, one throw, two phones: `sample/`."""
    return [Plan(name="sample", build=_build_sample, phone_count=2, how=Recording())]


def _build_sample(bodies: Path) -> Visit:
    body = obtain_bodies([SAMPLE_BUILD], bodies)[0]
    rng = np.random.default_rng(11)
    delivery = scatter_delivery(rng, replace(Delivery(), elbow_line_contact_deg=-12.0, stride_offset_m=0.09))
    phones = (
        place_by_hand("open-side", (0.75, -4.3, 1.30), -0.04, 1),
        place_by_hand("front", (5.1, 0.35, 1.40), 0.07, 2),
    )
    return _gather("sample", (build_throws(body, [delivery], "R"), phones), SAMPLE_LOOK, YARD, 11)


def _gather(name: str, seen: tuple[Happenings, tuple[Phone, ...]], look: Look, place: Place, seed: int) -> Visit:
    (motions, numbers), phones = seen
    return Visit(
        name=name,
        look=look,
        motions=tuple(motions),
        deliveries=tuple(numbers),
        phones=phones,
        place=place,
        target_m=TARGET_M,
        rest_pose=find_rest_pose(phones),
        seed=seed,
    )


def list_demo() -> list[Plan]:
    """The screening day of an invented club: one pitcher of 13, three throws, two phones: `demo/`."""
    return [Plan(name="demo", build=_build_demo, phone_count=2, how=DEMO_RECORDING)]


def _build_demo(bodies: Path) -> Visit:
    body = obtain_bodies([DEMO_BUILD], bodies)[0]
    rng = np.random.default_rng(77)
    deliveries = [scatter_delivery(rng, DEMO_FAULTS, 0.6) for _ in range(3)]
    phones = (
        place_by_hand("open-side", (0.70, -4.1, 1.30), -0.03, 21),
        place_by_hand("front", (4.75, 0.40, 1.40), 0.05, 22),
    )
    look = replace(SAMPLE_LOOK, shirt=(0.66, 0.30, 0.12), cap=(0.20, 0.22, 0.25), trousers=(0.30, 0.32, 0.36))
    visit = _gather("demo", (build_throws(body, deliveries, "R"), phones), look, LANE, 77)
    return replace(visit, truth_step=4)


def list_test() -> list[Plan]:
    """Fourteen athletes, three throws each, two phones: `test/test-01` to `test/test-14`."""
    return [
        Plan(name=f"test/{build.name}", build=partial(_build_test, number=k), phone_count=2, how=TEST_RECORDING)
        for k, build in enumerate(list_builds())
    ]


def _build_test(bodies: Path, number: int) -> Visit:
    rng = np.random.default_rng([9003, number])
    athlete = list_athletes()[number]
    side = athlete.throwing_side
    body, other = obtain_bodies([athlete.build, list_builds()[number - 4]], bodies)
    deliveries = [scatter_delivery(rng, athlete.delivery) for _ in range(3)]
    far_m = (3.9 * body.build.height_m / 1.65, 5.0 * body.build.height_m / 1.65)
    phones = tuple(place_phone(rng, view, side, (1280, 720), 240.0, far_m) for view in athlete.views)
    place = (YARD, HALL, LANE)[number % 3]
    visit = _gather(
        f"test/{athlete.build.name}", (build_throws(body, deliveries, side), phones), athlete.look, place, number
    )
    return replace(visit, bystanders=(_build_bystander(other),)) if number % 5 == 4 else visit


def _build_bystander(body: Body) -> tuple[Motion, Look]:
    """Somebody who stands in the background, aside of the line to the target."""
    motion = build_standing(body, "R")
    shift = np.array([-1.6, 2.4, 0.0])
    place = replace(motion.placement, heads=motion.placement.heads + shift)
    look = replace(SAMPLE_LOOK, shirt=(0.5, 0.2, 0.45), cap=None, trousers=(0.2, 0.2, 0.22))
    return replace(motion, placement=place, ball=motion.ball + shift), look


ACTIONS = {"walk": build_walk, "dry-swing": build_dry_swing, "catch": build_catch, "standing": build_standing}


def list_controls() -> list[Plan]:
    """What is not a throw, one visit each: a walk, a dry swing, a catch, standing: `controls/<name>`."""
    return [
        Plan(name=f"controls/{name}", build=partial(_build_control, name=name), phone_count=1, how=TEST_RECORDING)
        for name in ACTIONS
    ]


def _build_control(bodies: Path, name: str) -> Visit:
    athlete = list_athletes()[6]
    body = obtain_bodies([athlete.build], bodies)[0]
    phones = (place_by_hand("open-side", (0.75, -4.5, 1.30), 0.02, 31),)
    happenings: Happenings = ([(ACTIONS[name](body, "R"), name)], [None])
    return _gather(f"controls/{name}", (happenings, phones), athlete.look, HALL, 40)


ODD_WAYS = {
    "slow-motion-file": (240.0, replace(TEST_RECORDING, container_fps=30.0, has_sound=False)),
    "uneven-pictures": (240.0, replace(TEST_RECORDING, time_jitter_s=0.0008)),
    "repeated-pictures": (240.0, replace(TEST_RECORDING, repeat_every=4)),
    "hevc": (240.0, replace(TEST_RECORDING, codec="libx265")),
    "25-a-second": (25.0, TEST_RECORDING),
    "60-a-second": (60.0, TEST_RECORDING),
    "120-a-second": (120.0, TEST_RECORDING),
}


def list_odd() -> list[Plan]:
    """One throw filmed in ways that must be noticed or borne: `odd/<name>`."""
    return [
        Plan(name=f"odd/{name}", build=partial(_build_odd, name=name), phone_count=1, how=how)
        for name, (_, how) in ODD_WAYS.items()
    ]


def _build_odd(bodies: Path, name: str) -> Visit:
    athlete = list_athletes()[4]
    body = obtain_bodies([athlete.build], bodies)[0]
    phone = replace(place_by_hand("open-side", (0.75, -4.3, 1.30), 0.02, 51), fps=ODD_WAYS[name][0])
    throws = build_throws(body, [athlete.delivery], athlete.throwing_side)
    return _gather(f"odd/{name}", (throws, (phone,)), athlete.look, HALL, 60)


SETS = {
    "sample": list_sample,
    "demo": list_demo,
    "test": list_test,
    "controls": list_controls,
    "odd": list_odd,
}
