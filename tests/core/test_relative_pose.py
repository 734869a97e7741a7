"""Relative pose from matches, field frame from postures, and hints of target and tape.

Sides: the pose that the matches were made with; OpenCV's essential matrix as second algorithm; a turned-only camera and
too few matches refused; the field frame in turned, shifted and scaled worlds (identity); marks projected from known
places (round trip); contradicting scales refused (table).
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.bony import build_essential
from elbowroom.core.cameras.hints import TAPE_LAID_DEG, Expected, Observed, estimate_tape_standard, measure_marks
from elbowroom.core.cameras.lens import assume_phone_lens
from elbowroom.core.cameras.observing import combine_marks
from elbowroom.core.cameras.pose import build_blank_camera
from elbowroom.core.cameras.project import project_points
from elbowroom.core.cameras.relative import Matches, RelativePose, estimate_relative_pose
from elbowroom.core.cameras.types import Array, Camera
from elbowroom.core.chain.anchoring import AGREEING_RATIO
from elbowroom.core.chain.placing import refuse_scale
from elbowroom.core.landmarks.names import JOINTS
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.field_frame import Postures, find_field_frame

NOISE = 0.002
TURN = Rotation.from_euler("yx", [75.0, 4.0], degrees=True).as_matrix()
SHIFT = np.array([-4.0, 0.3, 3.2])


def make_matches(
    generator: np.random.Generator, turn: Array, shift: Array, wrong_share: float, noise: float = NOISE
) -> Matches:
    points = generator.normal([0.0, 0.0, 4.5], [0.6, 0.7, 0.5], (1500, 3))
    other = points @ turn.T + shift
    first = points[:, :2] / points[:, 2:] + noise * generator.standard_normal((1500, 2))
    second = other[:, :2] / other[:, 2:] + noise * generator.standard_normal((1500, 2))
    wrong = generator.random(1500) < wrong_share
    second[wrong] += generator.normal(0.0, 0.1, (np.count_nonzero(wrong), 2))
    return Matches(first=first, second=second, standards=np.full((1500, 2), noise))


def measure_gap_deg(pose: RelativePose, turn: Array, shift: Array) -> tuple[float, float]:
    turned = float(np.degrees(Rotation.from_matrix(pose.rotation @ turn.T).magnitude()))
    aligned = float(pose.direction @ shift / np.linalg.norm(shift))
    return turned, float(np.degrees(np.arccos(np.clip(aligned, -1.0, 1.0))))


@pytest.mark.parametrize("wrong_share", [0.0, 0.2])
def test_pose_is_found(wrong_share: float) -> None:
    matches = make_matches(np.random.default_rng(4), TURN, SHIFT, wrong_share)
    pose = estimate_relative_pose(matches, np.random.default_rng(5))
    assert isinstance(pose, RelativePose)
    assert max(measure_gap_deg(pose, TURN, SHIFT)) < 1.0


def test_pose_agrees_with_opencv() -> None:
    matches = make_matches(np.random.default_rng(8), TURN, SHIFT, 0.1, noise=2e-4)
    pose = estimate_relative_pose(matches, np.random.default_rng(9))
    assert isinstance(pose, RelativePose)
    found, mask = cv2.findEssentialMat(
        matches.first, matches.second, np.eye(3), method=cv2.RANSAC, prob=0.999, threshold=6e-4
    )
    _, rotation, direction, _ = cv2.recoverPose(found, matches.first, matches.second, np.eye(3), mask=mask)
    assert max(measure_gap_deg(pose, np.asarray(rotation), np.asarray(direction).ravel())) < 2.0


def test_turned_camera_is_refused() -> None:
    turn = Rotation.from_euler("y", 8.0, degrees=True).as_matrix()
    matches = make_matches(np.random.default_rng(6), turn, np.zeros(3), 0.0)
    refused = estimate_relative_pose(matches, np.random.default_rng(7))
    assert isinstance(refused, Absent)
    assert "quarter turn" in refused.advice


def test_few_matches_are_refused() -> None:
    matches = make_matches(np.random.default_rng(6), TURN, SHIFT, 0.0)
    few = Matches(first=matches.first[:20], second=matches.second[:20], standards=matches.standards[:20])
    assert isinstance(estimate_relative_pose(few, np.random.default_rng(7)), Absent)


def test_essential_holds_exact_points() -> None:
    points = np.random.default_rng(2).normal([0.0, 0.0, 4.5], 0.6, (30, 3))
    other = points @ TURN.T + SHIFT
    essential = build_essential(TURN, SHIFT)
    assert np.abs(np.einsum("ni,ij,nj->n", other, essential, points)).max() < 1e-12


def make_postures(generator: np.random.Generator) -> Postures:
    return Postures(
        lift=generator.normal([0.0, 0.0, 1.0], 0.3, (3, JOINTS, 3)),
        contact=generator.normal([1.2, 0.0, 0.9], 0.3, (3, JOINTS, 3)),
        throwing_right=True,
        height_m=1.7,
        is_level=True,
        levels=np.array([[1.0, 0.1, 0.02], [0.1, 1.0, -0.01]]),
    )


@pytest.mark.parametrize("seed", range(5))
def test_field_frame_does_not_depend_on_the_frame(seed: int) -> None:
    generator = np.random.default_rng(seed)
    postures = make_postures(generator)
    turn, shift, scale = Rotation.random(random_state=seed).as_matrix(), generator.normal(0.0, 5.0, 3), 1.7
    moved = replace(
        postures,
        lift=scale * postures.lift @ turn.T + shift,
        contact=scale * postures.contact @ turn.T + shift,
        levels=postures.levels @ turn.T,
    )
    before, after = find_field_frame(postures), find_field_frame(moved)
    point = generator.normal(0.0, 1.0, 3)
    placed = before.scale_factor * before.turn @ (point - before.origin)
    placed_after = after.scale_factor * after.turn @ (scale * turn @ point + shift - after.origin)
    assert placed_after == pytest.approx(placed, abs=1e-9)


def make_cameras() -> list[Camera]:
    cameras = []
    for place in (np.array([1.0, -4.5, 1.4]), np.array([-5.0, 0.6, 1.3])):
        forward = np.array([1.5, 0.0, 0.7]) - place
        forward /= np.linalg.norm(forward)
        right = np.cross(forward, [0.0, 0.0, 1.0])
        right /= np.linalg.norm(right)
        rotation = np.stack([right, np.cross(forward, right), forward])
        blank = build_blank_camera("c", assume_phone_lens(1280, 720))
        cameras.append(replace(blank, rotation=rotation, translation=-rotation @ place))
    return cameras


def read_marks(camera: Camera, **places: Array) -> dict[str, tuple[float, float]]:
    spots = {name: project_points(camera, place[None])[0] for name, place in places.items()}
    return {name: (float(x), float(y)) for name, (x, y) in spots.items()}


def expect(**changes: float) -> Expected:
    loose = Expected(distance_m=18.0, tape_m=0.0, turn_standard_deg=60.0, scale_standard=3.0, upright_rad=0.01)
    return replace(loose, **changes)


def measure_tape(observed: Observed, marks: list[dict[str, tuple[float, float]]]) -> tuple[float, float]:
    """Direction, degrees, and length of the tape as the cameras now show it."""
    _, direction, length = measure_marks(observed.cameras, marks, 18.0)
    return direction, length


def test_tape_tells_scale_and_direction_where_little_else_does() -> None:
    cameras, angle = make_cameras(), np.radians(5.0)
    ahead = np.array([np.cos(angle), np.sin(angle), 0.0])
    marks = [read_marks(camera, tape_start=0.1 * ahead, tape_end=2.1 * ahead) for camera in cameras]
    found = combine_marks(cameras, marks, expect(tape_m=2.2))
    direction, length = measure_tape(found, marks)
    assert direction == pytest.approx(0.0, abs=0.01)
    assert length == pytest.approx(2.2, abs=0.001)
    place = np.linalg.norm(found.cameras[0].place) / np.linalg.norm(cameras[0].place)
    assert place == pytest.approx(1.1, abs=0.001)
    assert found.turn_standard_deg == pytest.approx(TAPE_LAID_DEG, rel=0.15)


def test_tape_and_height_share_by_their_uncertainty() -> None:
    cameras = make_cameras()
    ends = {"tape_start": np.zeros(3), "tape_end": np.array([2.0, 0.0, 0.0])}
    marks = [read_marks(camera, **ends) for camera in cameras]
    own = estimate_tape_standard(cameras, 2.06)
    found = combine_marks(cameras, marks, expect(tape_m=2.06, scale_standard=own))
    assert measure_tape(found, marks)[1] == pytest.approx(2.0 * np.sqrt(1.03), abs=0.001)
    assert found.scale_standard == pytest.approx(own / np.sqrt(2.0), rel=1e-3)


def test_errors_that_cameras_share_are_told_by_the_tape() -> None:
    """One shared error stretches the field, which the tape sees; the other it cannot see."""
    hidden = np.zeros(13)
    hidden[0] = 1.0
    cameras = [
        replace(camera, shared=np.column_stack([place_change(camera, 0.05), hidden])) for camera in make_cameras()
    ]
    stretch = cameras[0].shared
    ends = {"tape_start": np.zeros(3), "tape_end": np.array([2.0, 0.0, 0.0])}
    marks = [read_marks(camera, **ends) for camera in cameras]
    found = combine_marks(cameras, marks, expect(tape_m=2.0, scale_standard=0.015))
    left = found.cameras[0].shared
    assert np.linalg.norm(left[10:]) < 0.4 * np.linalg.norm(stretch[10:, 0])
    assert np.linalg.norm(left[0]) > 0.8


def place_change(camera: Camera, share: float) -> Array:
    """Change (13,) of a camera in a field that is larger by `share`."""
    change = np.zeros(13)
    change[10:] = share * camera.translation
    return change


def test_target_in_one_view_tells_direction() -> None:
    cameras, angle = make_cameras(), np.radians(-3.0)
    target = np.array([14.0 * np.cos(angle), 14.0 * np.sin(angle), 0.7])
    marks = [{}, read_marks(cameras[1], target=target)]
    found = combine_marks(cameras, marks, expect(distance_m=14.0, scale_standard=0.015))
    assert measure_marks(found.cameras, marks, 14.0)[0] == pytest.approx(0.0, abs=0.01)
    assert found.scale_standard == pytest.approx(0.015, rel=1e-3)
    assert not found.has_tape


def test_no_mark_changes_nothing() -> None:
    cameras = make_cameras()
    found = combine_marks(cameras, [{}, {}], expect(tape_m=2.0, scale_standard=0.015))
    assert found.cameras[1].translation == pytest.approx(cameras[1].translation)
    assert (found.scale_standard, found.turn_standard_deg) == pytest.approx((0.015, 60.0))
    assert not found.has_direction


@pytest.mark.parametrize(("factor", "words"), [(1.12, "12 % larger"), (0.85, "15 % smaller")])
def test_wrong_height_is_refused(factor: float, words: str) -> None:
    cameras = make_cameras()
    ends = {"tape_start": np.zeros(3), "tape_end": np.array([2.0, 0.0, 0.0])}
    marks = [read_marks(camera, **ends) for camera in cameras]
    found = combine_marks(cameras, marks, expect(tape_m=factor * 2.0, scale_standard=0.015))
    assert abs(found.tape_misfit_ratio) > AGREEING_RATIO
    assert words in refuse_scale(found.tape_ratio, "the tape").reason


def test_agreeing_tape_is_not_refused() -> None:
    cameras = make_cameras()
    ends = {"tape_start": np.zeros(3), "tape_end": np.array([2.0, 0.0, 0.0])}
    marks = [read_marks(camera, **ends) for camera in cameras]
    found = combine_marks(cameras, marks, expect(tape_m=2.05, scale_standard=0.015))
    assert abs(found.tape_misfit_ratio) < AGREEING_RATIO
