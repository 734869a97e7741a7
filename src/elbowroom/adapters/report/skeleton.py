"""Drawing the skeleton on a picture: throwing arm, shoulder line and trunk stand out by their lines, not by colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from elbowroom.core.cameras.types import View
from elbowroom.core.findings.report import EncodedPicture, KeyPicture
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import BONES, Joint
from elbowroom.errors import ScreeningError

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Picture = NDArray[np.uint8]
Point = NDArray[np.float64]

INK, CASING = (20, 26, 38), (255, 255, 255)
THROWING_ARM = (Joint.RIGHT_SHOULDER, Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST, Joint.RIGHT_HAND)
PRODUCED = 0.7
"""How far the shoulder line is drawn on past the throwing shoulder, as a share of its length."""
MARGIN = 0.18
"""Room about the athlete in a key picture, as a share of the larger side."""
LONGEST_PX = 720
JPEG_QUALITY = 85


@dataclass(frozen=True, kw_only=True)
class PictureFacts:
    """What a key picture shows."""

    throw: int
    """Number of the throw."""
    instant: InstantName
    """The instant that it shows."""
    view: View
    """Where the camera stood."""
    caption: str
    """One sentence under the picture."""


@dataclass(frozen=True, kw_only=True)
class Stroke:
    """How a line is drawn."""

    width: int
    """Width in pixels; a light casing is added on both sides."""
    on_px: float
    """Length of a dash in pixels; infinite for an unbroken line."""
    off_px: float
    """Gap after a dash in pixels."""


def draw_skeleton(picture: Picture, joints_px: Array, seen: Mask) -> Picture:
    """Return a copy of an RGB picture (h, w, 3) with the skeleton drawn on it.

    `joints_px` (19, 2) places as filmed, (0, 0) the centre of the top left pixel, RIGHT the throwing side; `seen`
    (19,) tells which may be drawn. Thick unbroken: throwing arm; dashes: shoulder line, produced past the throwing
    shoulder; dots: long axis of the trunk; thin: all other bones.
    """
    drawn: Picture = np.ascontiguousarray(picture).copy()
    unit = max(1.0, max(picture.shape[:2]) / LONGEST_PX)
    usable = seen & np.isfinite(joints_px).all(axis=1)
    _draw_bones(drawn, joints_px, usable, unit)
    if _has(usable, Joint.RIGHT_SHOULDER, Joint.LEFT_SHOULDER):
        _draw_shoulder_line(drawn, joints_px, unit)
    if _has(usable, Joint.RIGHT_SHOULDER, Joint.LEFT_SHOULDER, Joint.RIGHT_HIP, Joint.LEFT_HIP):
        _draw_trunk(drawn, joints_px, unit)
    _draw_throwing_arm(drawn, joints_px, usable, unit)
    return drawn


def render_key_picture(picture: Picture, joints_px: Array, seen: Mask, facts: PictureFacts) -> KeyPicture:
    """Return a key picture with what it shows; see `SkeletonDrawer.draw_key_picture`."""
    drawn = SkeletonDrawer().draw_key_picture(picture, joints_px, seen)
    return KeyPicture(
        throw=facts.throw,
        instant=facts.instant,
        view=facts.view,
        encoded=drawn.encoded,
        media_type=drawn.media_type,
        width_px=drawn.width_px,
        height_px=drawn.height_px,
        caption=facts.caption,
        description=f"The athlete at {facts.instant}, throw {facts.throw}, seen from {facts.view}, "
        "with throwing arm, shoulder line and trunk drawn.",
    )


class SkeletonDrawer:
    """A `PictureDrawer`: cuts, draws and encodes."""

    def draw_key_picture(self, picture: Picture, joints_px: Array, seen: Mask) -> EncodedPicture:
        """Return the picture cut about the athlete, at most 720 px long, skeleton drawn, as JPEG.

        Raises `ScreeningError` where the picture cannot be encoded.
        """
        rows, columns = choose_cut(joints_px, seen, (picture.shape[0], picture.shape[1]))
        cut: Picture = np.ascontiguousarray(picture[rows, columns])
        scale = min(2.0, LONGEST_PX / max(cut.shape[:2]))
        size = (max(1, round(cut.shape[1] * scale)), max(1, round(cut.shape[0] * scale)))
        way = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
        resized = np.asarray(cv2.resize(cut, size, interpolation=way), dtype=np.uint8)
        # Pixel centres: (x + 1/2) scales, not x.
        moved = (joints_px - [columns.start, rows.start] + 0.5) * scale - 0.5
        drawn = draw_skeleton(resized, moved, seen)
        is_done, encoded = cv2.imencode(".jpg", drawn[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, JPEG_QUALITY])
        if not is_done:
            raise ScreeningError("A key picture could not be written: run the same line again.")
        return EncodedPicture(encoded=encoded.tobytes(), media_type="image/jpeg", width_px=size[0], height_px=size[1])


def choose_cut(joints_px: Array, seen: Mask, shape: tuple[int, int]) -> tuple[slice, slice]:
    """Return rows and columns that hold all drawable joints with room about them; the whole picture without joints."""
    usable = seen & np.isfinite(joints_px).all(axis=1)
    if not usable.any():
        return slice(0, shape[0]), slice(0, shape[1])
    low, high = joints_px[usable].min(axis=0), joints_px[usable].max(axis=0)
    room = MARGIN * max(float((high - low).max()), 40.0)
    left, top = np.clip(np.floor(low - room), 0, [shape[1] - 2, shape[0] - 2]).astype(int)
    right, bottom = np.clip(np.ceil(high + room) + 1, [left + 2, top + 2], [shape[1], shape[0]]).astype(int)
    return slice(int(top), int(bottom)), slice(int(left), int(right))


def _has(usable: Mask, *joints: Joint) -> bool:
    return all(bool(usable[joint]) for joint in joints)


def _draw_bones(drawn: Picture, joints_px: Array, usable: Mask, unit: float) -> None:
    stroke = Stroke(width=round(2 * unit), on_px=np.inf, off_px=0.0)
    for first, second in BONES:
        if _has(usable, first, second):
            _draw_line(drawn, joints_px[first], joints_px[second], stroke)


def _draw_shoulder_line(drawn: Picture, joints_px: Array, unit: float) -> None:
    glove, throwing = joints_px[Joint.LEFT_SHOULDER], joints_px[Joint.RIGHT_SHOULDER]
    end = throwing + PRODUCED * (throwing - glove)
    _draw_line(drawn, glove, end, Stroke(width=round(2 * unit), on_px=11 * unit, off_px=7 * unit))
    _write(drawn, "shoulder line", glove + np.array([0.0, -8 * unit]), unit)


def _draw_trunk(drawn: Picture, joints_px: Array, unit: float) -> None:
    hips = (joints_px[Joint.RIGHT_HIP] + joints_px[Joint.LEFT_HIP]) / 2
    shoulders = (joints_px[Joint.RIGHT_SHOULDER] + joints_px[Joint.LEFT_SHOULDER]) / 2
    _draw_line(drawn, hips, shoulders, Stroke(width=round(3 * unit), on_px=1.0, off_px=9 * unit))
    _write(drawn, "trunk", (hips + shoulders) / 2 + np.array([8 * unit, 0.0]), unit)


def _draw_throwing_arm(drawn: Picture, joints_px: Array, usable: Mask, unit: float) -> None:
    stroke = Stroke(width=round(4.5 * unit), on_px=np.inf, off_px=0.0)
    for first, second in pairwise(THROWING_ARM):
        if _has(usable, first, second):
            _draw_line(drawn, joints_px[first], joints_px[second], stroke)
    for joint in THROWING_ARM[:3]:
        if usable[joint]:
            centre = _round(joints_px[joint])
            cv2.circle(drawn, centre, round(6 * unit), INK, -1, cv2.LINE_AA)
            cv2.circle(drawn, centre, round(4 * unit), CASING, -1, cv2.LINE_AA)
    if _has(usable, Joint.RIGHT_ELBOW, Joint.RIGHT_SHOULDER):
        elbow, shoulder = joints_px[Joint.RIGHT_ELBOW], joints_px[Joint.RIGHT_SHOULDER]
        is_left = elbow[0] < shoulder[0]
        _write(drawn, "throwing arm", elbow + np.array([-135.0 if is_left else 14.0, 24.0]) * unit, unit)


def _draw_line(drawn: Picture, start: Point, end: Point, stroke: Stroke) -> None:
    """Draw a line with a light casing, dash by dash."""
    dashes = _find_dashes(start, end, stroke)
    for colour, width in ((CASING, stroke.width + 4), (INK, stroke.width)):
        for first, second in dashes:
            cv2.line(drawn, _round(first), _round(second), colour, max(1, width), cv2.LINE_AA)


def _find_dashes(start: Point, end: Point, stroke: Stroke) -> Sequence[tuple[Point, Point]]:
    length = float(np.linalg.norm(end - start))
    if length <= stroke.on_px or length == 0:
        return [(start, end)]
    along = (end - start) / length
    starts = np.arange(0.0, length, stroke.on_px + stroke.off_px)
    return [(start + along * s, start + along * min(s + stroke.on_px, length)) for s in starts]


def _write(drawn: Picture, text: str, place: Point, unit: float) -> None:
    """Write a word on a light plate, held inside the picture."""
    font, size, weight = cv2.FONT_HERSHEY_SIMPLEX, 0.62 * unit, max(1, round(1.3 * unit))
    (width, height), base = cv2.getTextSize(text, font, size, weight)
    x = int(np.clip(place[0], 2, max(2, drawn.shape[1] - width - 4)))
    y = int(np.clip(place[1], height + 3, max(height + 3, drawn.shape[0] - base - 3)))
    cv2.rectangle(drawn, (x - 2, y - height - 3), (x + width + 2, y + base), CASING, -1)
    cv2.putText(drawn, text, (x, y), font, size, INK, weight, cv2.LINE_AA)


def _round(point: Point) -> tuple[int, int]:
    return round(float(point[0])), round(float(point[1]))
