"""Drawing the skeleton on a picture.

Sides: known pixels on and off the lines, equivariance (mirrored joints on a mirrored picture), a control without
seen joints, decoding of the encoded picture by OpenCV.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from elbowroom.adapters.report.skeleton import PictureFacts, choose_cut, draw_skeleton, render_key_picture
from elbowroom.core.cameras.types import View
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import JOINTS, Joint
from tests.makers.reports import make_joints

GREY = np.full((480, 640, 3), 128, dtype=np.uint8)
ALL = np.ones(JOINTS, dtype=bool)
FACTS = PictureFacts(throw=1, instant=InstantName.LAYBACK, view=View.OPEN_SIDE, caption="Invented.")


def _find_dark_share(drawn: np.ndarray, start: np.ndarray, end: np.ndarray) -> float:
    """Share of the points between two places where the picture is darker than its ground."""
    points = np.rint(start + np.linspace(0.1, 0.9, 80)[:, None] * (end - start)).astype(int)
    return float(np.mean(drawn[points[:, 1], points[:, 0]].mean(axis=1) < 80))


def test_the_picture_given_is_not_changed() -> None:
    before = GREY.copy()
    drawn = draw_skeleton(GREY, make_joints(), ALL)
    assert np.array_equal(GREY, before)
    assert drawn.shape == GREY.shape
    assert not np.array_equal(drawn, before)


def test_arm_is_unbroken_and_shoulder_line_is_dashed_and_produced() -> None:
    joints = make_joints()
    drawn = draw_skeleton(GREY, joints, ALL)
    arm = _find_dark_share(drawn, joints[Joint.RIGHT_ELBOW], joints[Joint.RIGHT_WRIST])
    throwing, glove = joints[Joint.RIGHT_SHOULDER], joints[Joint.LEFT_SHOULDER]
    line = _find_dark_share(drawn, glove, throwing)
    produced = _find_dark_share(drawn, throwing + 0.15 * (throwing - glove), throwing + 0.7 * (throwing - glove))
    assert arm > 0.95
    assert 0.2 < line < 0.95
    assert 0.2 < produced < 0.95


def test_nothing_is_drawn_where_nothing_was_seen() -> None:
    assert np.array_equal(draw_skeleton(GREY, make_joints(), np.zeros(JOINTS, dtype=bool)), GREY)
    lost = make_joints()
    lost[:] = np.nan
    assert np.array_equal(draw_skeleton(GREY, lost, ALL), GREY)


def test_a_joint_that_was_not_seen_takes_its_bones_with_it() -> None:
    joints, seen = make_joints(), ALL.copy()
    seen[Joint.RIGHT_WRIST] = False
    drawn = draw_skeleton(GREY, joints, seen)
    assert _find_dark_share(drawn, joints[Joint.RIGHT_ELBOW], joints[Joint.RIGHT_WRIST]) < 0.2
    assert _find_dark_share(drawn, joints[Joint.RIGHT_SHOULDER], joints[Joint.RIGHT_ELBOW]) > 0.8


def test_a_mirrored_picture_has_mirrored_lines() -> None:
    joints = make_joints()
    mirrored = joints.copy()
    mirrored[:, 0] = 639 - mirrored[:, 0]
    one, other = draw_skeleton(GREY, joints, ALL), draw_skeleton(GREY, mirrored, ALL)
    legs = slice(280, 480)
    differs = np.mean(np.abs(one[legs].astype(int) - other[legs, ::-1].astype(int)) > 60)
    assert differs < 0.002


def test_key_picture_is_a_readable_jpeg_cut_about_the_athlete() -> None:
    picture = render_key_picture(GREY, make_joints(), ALL, FACTS)
    decoded = cv2.imdecode(np.frombuffer(picture.encoded, np.uint8), cv2.IMREAD_COLOR)
    assert decoded.shape == (picture.height_px, picture.width_px, 3)
    assert max(picture.width_px, picture.height_px) <= 720
    assert picture.media_type == "image/jpeg"
    assert "layback" in picture.description


def test_skeleton_stays_on_the_athlete_after_cutting_and_scaling() -> None:
    """A red dot at the wrist must lie under the wrist's mark in the key picture."""
    joints = make_joints()
    rows, columns = choose_cut(joints, ALL, (480, 640))
    picture = render_key_picture(GREY, joints, ALL, FACTS)
    scale = picture.width_px / (columns.stop - columns.start)
    decoded = cv2.imdecode(np.frombuffer(picture.encoded, np.uint8), cv2.IMREAD_GRAYSCALE)
    x, y = (joints[Joint.RIGHT_WRIST] - [columns.start, rows.start] + 0.5) * scale - 0.5
    patch = decoded[round(y) - 1 : round(y) + 2, round(x) - 1 : round(x) + 2]
    assert patch.mean() > 225


@given(
    st.lists(st.tuples(st.floats(-900, 1500), st.floats(-900, 1500)), min_size=JOINTS, max_size=JOINTS),
    st.lists(st.booleans(), min_size=JOINTS, max_size=JOINTS),
)
def test_joints_anywhere_never_break_the_drawing(places: list[tuple[float, float]], seen: list[bool]) -> None:
    joints, mask = np.array(places), np.array(seen)
    rows, columns = choose_cut(joints, mask, (480, 640))
    assert 0 <= rows.start < rows.stop <= 480
    assert 0 <= columns.start < columns.stop <= 640
    assert draw_skeleton(GREY, joints, mask).shape == GREY.shape


@pytest.mark.parametrize("size", [(1920, 1080), (120, 90)])
def test_pictures_of_any_size(size: tuple[int, int]) -> None:
    picture = np.full((*size, 3), 90, dtype=np.uint8)
    scale = size[0] / 480
    key = render_key_picture(picture, make_joints() * [size[1] / 640, scale], ALL, FACTS)
    assert key.encoded[:2] == b"\xff\xd8"
