"""Invented athletes of the test set: bodies, clothes, hands, faults; none of them is used for fitting."""

from dataclasses import dataclass, replace

import numpy as np

from rendering.bodies import Build
from rendering.clothes import Colour, Look
from rendering.delivery import Delivery, draw_delivery

AGES = (9, 10, 11, 12, 13, 13, 14, 15, 15, 16, 17, 18, 24, 31)
HEIGHTS_M = (1.35, 1.42, 1.47, 1.53, 1.60, 1.52, 1.68, 1.72, 1.62, 1.78, 1.74, 1.83, 1.88, 1.70)
GIRLS = (1, 5, 8, 13)
LEFT_HANDERS = (2, 6, 8, 11)
VIEW_PAIRS = (
    ("open-side", "front"),
    ("open-side", "behind"),
    ("open-side", "behind-oblique"),
    ("open-side", "front"),
    ("front-oblique", "behind-oblique"),
    ("open-side", "front-oblique"),
    ("open-side", "front"),
)
FAULTS: tuple[dict[str, float], ...] = (
    {},
    {"elbow_line_contact_deg": -24.0, "elbow_line_layback_deg": -13.0},
    {"trunk_contact_deg": 56.0, "pelvis_contact_deg": 58.0, "pelvis_drive_deg": 22.0},
    {"stride_offset_m": 0.15, "foot_angle_deg": 26.0},
    {"stride_offset_m": -0.13, "foot_angle_deg": -8.0},
    {"flexion_layback_deg": 62.0, "flexion_contact_deg": 60.0},
    {"elbow_line_contact_deg": -15.0, "stride_offset_m": 0.10, "trunk_contact_deg": 44.0},
)


@dataclass(frozen=True, kw_only=True)
class Athlete:
    """An invented athlete of the test set."""

    build: Build
    """Body."""
    look: Look
    """Clothes."""
    delivery: Delivery
    """Typical delivery."""
    throwing_side: str
    """'R' or 'L'."""
    views: tuple[str, str]
    """Where the two phones stand."""


def list_builds() -> list[Build]:
    """Bodies of the test set."""
    rng = np.random.default_rng(9001)
    return [
        Build(
            name=f"test-{k + 1:02d}",
            age_years=float(age),
            height_m=HEIGHTS_M[k],
            sex=float(k in GIRLS),
            muscle=float(rng.uniform(0.4, 0.7)),
            weight=float(rng.uniform(0.35, 0.62)),
            proportions=float(rng.uniform(0.35, 0.75)),
        )
        for k, age in enumerate(AGES)
    ]


def list_athletes() -> list[Athlete]:
    """Fourteen athletes of 9 to 31 years, four left-handed, with faults set in turn over a drawn delivery."""
    rng = np.random.default_rng(9002)
    return [
        Athlete(
            build=build,
            look=draw_look(rng),
            delivery=replace(draw_delivery(rng, Delivery(), 0.6), **FAULTS[k % len(FAULTS)]),
            throwing_side="L" if k in LEFT_HANDERS else "R",
            views=VIEW_PAIRS[k % len(VIEW_PAIRS)],
        )
        for k, build in enumerate(list_builds())
    ]


def draw_look(rng: np.random.Generator) -> Look:
    """Clothes in team colours, as seen at a field."""
    skins: tuple[Colour, ...] = ((0.87, 0.68, 0.56), (0.72, 0.52, 0.40), (0.50, 0.34, 0.25), (0.34, 0.22, 0.16))
    red, green, gold = (0.62, 0.14, 0.13), (0.12, 0.40, 0.22), (0.7, 0.5, 0.1)
    shirts: tuple[Colour, ...] = (red, green, (0.85, 0.85, 0.83), (0.16, 0.17, 0.2), gold)
    trousers: tuple[Colour, ...] = ((0.8, 0.8, 0.78), (0.35, 0.36, 0.38), (0.16, 0.2, 0.34), (0.55, 0.5, 0.42))
    pick = [int(rng.integers(len(x))) for x in (skins, shirts, trousers, shirts)]
    return Look(
        skin=skins[pick[0]],
        hair=(0.22, 0.15, 0.09) if rng.uniform() < 0.7 else (0.5, 0.36, 0.2),
        shirt=shirts[pick[1]],
        trousers=trousers[pick[2]],
        shoes=(0.15, 0.15, 0.16) if rng.uniform() < 0.6 else (0.8, 0.8, 0.8),
        cap=shirts[pick[3]] if rng.uniform() < 0.65 else None,
        long_sleeves=bool(rng.uniform() < 0.3),
        shorts=bool(rng.uniform() < 0.25),
        loose_m=float(rng.uniform(0.008, 0.015)),
    )
