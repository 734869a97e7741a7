"""What every camera finder must do, held against the one that looks at boards and marks and against its
double.

Sides: the contract's sentences, each on both; for the real one, cameras that drew the pictures and the
marks.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from elbowroom.adapters.boards.set_up import BoardAndMarkFinder, locate_marks
from elbowroom.core.cameras.project import project_points
from elbowroom.core.cameras.set_up import Ground, build_set_up
from elbowroom.core.cameras.types import Camera, Lens, View
from elbowroom.core.clips.types import Clip
from elbowroom.core.findings.report import AthleteCard, ThrowingHand
from elbowroom.core.measures.types import ThrowKind
from elbowroom.errors import SetUpError
from elbowroom.service.doubles import StatedCameraFinder
from elbowroom.service.ports import CameraFinder
from elbowroom.service.visit_plan import ClipPlan, MarkedPoint, MarkSizes, VisitPlan
from tests.makers.boards import Fading, aim_camera, draw_board, hold_board

LENS = Lens(width_px=1280, height_px=720, focal_px=1040.0, centre_px=(641.0, 358.0), distortion=(0.04, -0.05, 0, 0))
SIZES = MarkSizes(plate_m=(0.61, 0.152), target_distance_m=14.0, cross_m=(0.5, 0.5, 0.5, 0.5))
CAMERAS = (
    replace(aim_camera(LENS, (0.75, -4.4, 1.3), (0.6, 0.0, 0.9)), name="side"),
    replace(aim_camera(LENS, (5.4, 0.4, 1.4), (0.6, 0.0, 0.9)), name="front"),
)
AHEAD_M = 2.2


def describe_clip(name: str, count: int = 100, width_px: int = 1280) -> Clip:
    return Clip(
        name=name,
        width_px=width_px,
        height_px=720,
        turned_deg=0,
        is_mirrored=False,
        codec="h264",
        duration_s=count / 30,
        has_sound=False,
        picture_count=count,
    )


class DrawnClip:
    """The pictures of a board clip and no more: enough of a `ClipSource` for the finder."""

    def __init__(self, pictures: list[np.ndarray], width_px: int = 1280) -> None:
        self.clip = describe_clip("board.mp4", len(pictures), width_px)
        self._pictures = pictures

    def read_pictures(self, numbers: range) -> list[tuple[int, np.ndarray]]:
        return [(number, self._pictures[number]) for number in numbers]


@pytest.fixture(name="board_pictures", scope="module")
def draw_board_clip() -> list[np.ndarray]:
    rng = np.random.default_rng(2)
    return [draw_board(hold_board(rng, LENS, number), Fading(), rng) for number in range(12)]


def mark_clip(camera: Camera) -> tuple[MarkedPoint, ...]:
    plates, cross = locate_marks(SIZES)
    places = {**plates, **{name: place + np.array([AHEAD_M, 0, 0]) for name, place in cross.items()}}
    pixels = {name: project_points(camera, place) for name, place in places.items() if not name.startswith("home")}
    return tuple(MarkedPoint(name=name, pixel=(float(x), float(y))) for name, (x, y) in pixels.items())


def plan_visit(
    *, has_marks: bool = True, board: str | None = "board.mp4", cameras: tuple[Camera, ...] = CAMERAS
) -> VisitPlan:
    clips = tuple(
        ClipPlan(
            path=Path(f"{camera.name}.mp4"),
            view=View.OBLIQUE,
            stated_rate_hz=None,
            board_path=Path(board) if board else None,
            marks=mark_clip(camera) if has_marks else (),
            thrower=None,
            row_time_s=2e-5,
        )
        for camera in cameras
    )
    athlete = AthleteCard(name="A1", age_years=13.0, height_m=1.6, hand=ThrowingHand.RIGHT, kind=ThrowKind.FLAT_PITCH)
    return VisitPlan(
        athlete=athlete,
        made_on=date(2026, 5, 2),
        clips=clips,
        sizes=SIZES,
        target_standard_deg=0.7,
        tolerances_path=None,
    )


@pytest.fixture(name="finder", params=["double", "real"])
def build_finder(request: pytest.FixtureRequest, board_pictures: list[np.ndarray]) -> CameraFinder:
    if request.param == "double":
        return StatedCameraFinder(build_set_up(CAMERAS, Ground.PLATE))
    return BoardAndMarkFinder(lambda path, rate_hz: DrawnClip(board_pictures))  # type: ignore[arg-type, return-value]


CLIPS = [describe_clip(f"{camera.name}.mp4") for camera in CAMERAS]


def test_one_camera_a_clip_in_the_order_of_the_plan(finder: CameraFinder) -> None:
    set_up = finder.find_set_up(plan_visit(), CLIPS)
    assert [camera.name for camera in set_up.cameras] == ["side", "front"]
    for camera, true in zip(set_up.cameras, CAMERAS, strict=True):
        assert np.linalg.norm(camera.place - true.place) < 0.15
    assert set_up.how


def test_nothing_to_go_by_is_a_set_up_error_with_advice(finder: CameraFinder) -> None:
    with pytest.raises(SetUpError, match="board"):
        finder.find_set_up(plan_visit(has_marks=False, board=None), CLIPS)


def build_real(pictures: list[np.ndarray], width_px: int = 1280) -> BoardAndMarkFinder:
    open_clip: Callable[..., DrawnClip] = lambda path, rate_hz: DrawnClip(pictures, width_px)  # noqa: E731
    return BoardAndMarkFinder(open_clip)  # type: ignore[arg-type]


def test_what_the_visit_states_is_carried(board_pictures: list[np.ndarray]) -> None:
    set_up = build_real(board_pictures).find_set_up(plan_visit(), CLIPS)
    assert set_up.target_standard_rad == pytest.approx(np.radians(0.7))
    assert [camera.row_time_s for camera in set_up.cameras] == [2e-5, 2e-5]
    assert all(camera.lens.focal_px == pytest.approx(1040.0, rel=0.01) for camera in set_up.cameras)


def test_a_board_clip_without_the_board_names_the_clip() -> None:
    empty = [np.full((720, 1280, 3), 90, np.uint8)] * 8
    with pytest.raises(SetUpError, match=r"board\.mp4.*0 places"):
        build_real(empty).find_set_up(plan_visit(), CLIPS)


def test_a_board_clip_of_another_size_is_refused(board_pictures: list[np.ndarray]) -> None:
    with pytest.raises(SetUpError, match="same phone and the same setting"):
        build_real(board_pictures, width_px=1920).find_set_up(plan_visit(), CLIPS)


def test_nearly_equal_views_are_refused_with_where_to_go(board_pictures: list[np.ndarray]) -> None:
    beside = replace(aim_camera(LENS, (1.6, -4.2, 1.3), (0.6, 0.0, 0.9)), name="front")
    with pytest.raises(SetUpError, match=r"degrees apart.*Move camera front"):
        build_real(board_pictures).find_set_up(plan_visit(cameras=(CAMERAS[0], beside)), CLIPS)
