"""Rendered truth as the chain's own types: curves, instants, cameras, and the visit as its file would describe it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import make_lsq_spline

from elbowroom.core.cameras.types import Camera, FieldSetUp, Lens, View
from elbowroom.core.findings.report import AthleteCard, ThrowingHand
from elbowroom.core.geometry.splines import DEGREE, build_knots
from elbowroom.core.geometry.vectors import turn_about_vertical
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import JOINTS, Joint
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.reconstruction.draws import mirror_curves
from elbowroom.core.reconstruction.types import Curves
from elbowroom.service.visit_plan import ClipPlan, MarkedPoint, MarkSizes, VisitPlan

Array = NDArray[np.float64]

KNOT_STEP_S = 0.004
"""Step of the splines through the true joints, which are given every millisecond."""
PLATE_M = (0.61, 0.152)
"""Width and depth of the rendered plate."""
CROSS_M = (0.5, 0.5, 0.5, 0.5)
"""Arms of the rendered tape cross."""
CROSS_NAMES = {
    "tape_middle": "cross_middle",
    "tape_far": "cross_front",
    "tape_near": "cross_back",
    "tape_left": "cross_left",
    "tape_right": "cross_right",
}
"""Marks of the truth by the names that a visit file uses."""
POINTING_PX = 1.0
"""Standard deviation of the error put on every mark that a person would point at."""
VIEWS = {
    "open-side": View.OPEN_SIDE,
    "front": View.FRONT,
    "behind": View.BEHIND,
    "glove-side": View.GLOVE_SIDE,
}
"""Phones whose name is a view; all others stand obliquely."""
TRUE_STANDARDS = (0.5, 0.5, 0.5, 1e-3, 2e-3, 1e-4, 1e-4, *[2e-4] * 3, *[1e-3] * 3)
"""Standard uncertainties stated for the true cameras: next to nothing, but not singular."""


@dataclass(frozen=True, kw_only=True)
class VisitTruth:
    """One rendered visit."""

    folder: Path
    """Folder with the clips and the truth."""
    story: dict[str, Any]
    """What truth.json says."""
    arrays: dict[str, Array]
    """What truth.npz holds."""

    @property
    def name(self) -> str:
        """Name of the visit's folder."""
        return self.folder.name

    @property
    def phones(self) -> list[dict[str, Any]]:
        """What is said of each phone, in the order of the clips."""
        return list(self.story["phones"].values())

    @property
    def is_left(self) -> bool:
        """Whether a left-hander throws."""
        return str(self.story["athlete"]["throwing_side"]).startswith("L")


def read_truth(folder: Path) -> VisitTruth:
    """Read a visit's truth."""
    story = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    with np.load(folder / "truth.npz") as arrays:
        return VisitTruth(folder=folder, story=story, arrays={name: arrays[name] for name in arrays})


def find_visits(folder: Path) -> list[Path]:
    """Find all whole visits in a folder or under it, by name; those still being rendered are left out."""
    return sorted(path.parent for path in folder.rglob("truth.json") if is_whole(path.parent))


def is_whole(folder: Path) -> bool:
    """Whether all clips that the truth names are there."""
    phones = json.loads((folder / "truth.json").read_text(encoding="utf-8"))["phones"].values()
    return all((folder / phone[kind]).is_file() for phone in phones for kind in ("clip", "board_clip"))


def list_throws(truth: VisitTruth) -> list[int]:
    """List the numbers of the motions that are throws."""
    return [number for number, motion in enumerate(truth.story["motions"]) if motion["kind"] == "throw"]


def find_true_instants(truth: VisitTruth, number: int) -> dict[InstantName, float]:
    """Find the true instants of a throw, world seconds."""
    said = truth.story["motions"][number]["instants_s"]
    return {name: float(said[name.value.replace(" ", "_")]) for name in InstantName}


def build_true_curves(truth: VisitTruth, number: int, laid_deg: float = 0.0) -> Curves:
    """Build the true joint curves of a throw on the world clock, mirrored for a left-hander.

    `laid_deg` is how far the marks were laid off the line to the target: the truth is turned back by it.
    """
    names = [str(name) for name in truth.arrays["joint_names"]]
    order = [names.index(joint.name.lower()) for joint in Joint]
    times = truth.arrays[f"joint_times_{number}"].astype(np.float64)
    points = turn_about_vertical(truth.arrays[f"joints_{number}"][:, order].astype(np.float64), np.array(-laid_deg))
    knots = build_knots(np.linspace(times[0], times[-1], int((times[-1] - times[0]) / KNOT_STEP_S)))
    spline = make_lsq_spline(times, points.reshape(len(times), -1), knots, DEGREE)
    curves = Curves(knots_s=knots, coefficients_m=spline.c.reshape(1, -1, JOINTS, 3))
    return mirror_curves(curves) if truth.is_left else curves


def convert_to_world(phone: dict[str, Any], times_s: Array) -> Array:
    """Convert times on a phone's own clock, from its first picture, to world times."""
    return np.asarray(phone["start_s"] + times_s * (1.0 + phone["drift"]))


def convert_from_world(phone: dict[str, Any], times_s: Array) -> Array:
    """Convert world times to a phone's own clock."""
    return np.asarray((times_s - phone["start_s"]) / (1.0 + phone["drift"]))


def build_true_camera(phone: dict[str, Any]) -> Camera:
    """Build a phone's true camera; the sixth-order term of the lens is left out, as the product knows none."""
    matrix = np.array(phone["matrix"])
    lens = Lens(
        width_px=phone["width"],
        height_px=phone["height"],
        focal_px=float(matrix[0, 0]),
        centre_px=(float(matrix[0, 2]), float(matrix[1, 2])),
        distortion=(*(float(value) for value in phone["distortion"][:4]),),  # type: ignore[arg-type]
    )
    return Camera(
        name=phone["name"],
        lens=lens,
        rotation=np.array(phone["rotation"]),
        translation=np.array(phone["translation"]),
        covariance=np.diag(np.square(TRUE_STANDARDS)),
        residual_px=0.0,
        row_time_s=phone["row_time_s"],
    )


def build_true_set_up(truth: VisitTruth) -> FieldSetUp:
    """Build the set-up with the true cameras."""
    return FieldSetUp(
        cameras=tuple(build_true_camera(phone) for phone in truth.phones),
        scale_standard=0.0005,
        target_standard_rad=0.0005,
        upright_standard_rad=0.0005,
        how="rendered truth",
    )


def build_card(truth: VisitTruth) -> AthleteCard:
    """Build the athlete's card."""
    athlete = truth.story["athlete"]
    return AthleteCard(
        name=athlete["name"],
        age_years=athlete["age_years"],
        height_m=athlete["height_m"],
        hand=ThrowingHand.LEFT if truth.is_left else ThrowingHand.RIGHT,
        kind=ThrowKind.MOUND_PITCH,
    )


def plan_visit(truth: VisitTruth, laid_deg: float, *, are_rows_known: bool) -> VisitPlan:
    """Plan the visit as its file would describe it: boards, marks pointed at by hand, views, athlete."""
    generator = np.random.default_rng([77, len(truth.name), *truth.name.encode()])
    clips = tuple(
        ClipPlan(
            path=truth.folder / phone["clip"],
            view=VIEWS.get(phone["name"], View.OBLIQUE),
            stated_rate_hz=None,
            board_path=truth.folder / phone["board_clip"],
            marks=point_at_marks(phone, generator),
            thrower=None,
            row_time_s=phone["row_time_s"] if are_rows_known else 0.0,
        )
        for phone in truth.phones
    )
    sizes = MarkSizes(plate_m=PLATE_M, target_distance_m=truth.story["target_m"][0], cross_m=CROSS_M)
    return VisitPlan(
        athlete=build_card(truth),
        made_on=date(2026, 11, 25),
        clips=clips,
        sizes=sizes,
        target_standard_deg=abs(laid_deg),
        tolerances_path=None,
    )


def point_at_marks(phone: dict[str, Any], generator: np.random.Generator) -> tuple[MarkedPoint, ...]:
    """Point at every mark in a phone's picture, with a hand's error; marks outside the picture are left out."""
    points = []
    for name, pixel in phone["marks_px"].items():
        x, y = np.array(pixel) + generator.normal(0.0, POINTING_PX, 2)
        if 0.0 <= x < phone["width"] and 0.0 <= y < phone["height"]:
            points.append(MarkedPoint(name=CROSS_NAMES.get(name, name), pixel=(float(x), float(y))))
    return tuple(points)
