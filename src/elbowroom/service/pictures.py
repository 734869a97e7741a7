"""Key pictures: what the cameras showed at the instants, with the reconstructed skeleton drawn in."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from elbowroom.core.cameras.project import project_points
from elbowroom.core.cameras.types import FieldSetUp, View
from elbowroom.core.chain.types import MeasuredThrow, MeasuredVisit, TrackedThrow
from elbowroom.core.clocks.types import CheckedOffset
from elbowroom.core.findings.report import KeyPicture, ThrowingHand
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import OTHER_SIDE, Joint
from elbowroom.core.reconstruction.draws import locate_joints
from elbowroom.service.ports import OpenClip, PictureDrawer

KEY_INSTANTS = (InstantName.FOOT_CONTACT, InstantName.LAYBACK, InstantName.RELEASE)
"""Instants of which the report shows pictures."""

Sources = Sequence[tuple[View, OpenClip]]


def take_key_pictures(
    visit: MeasuredVisit, set_up: FieldSetUp, sources: Sources, hand: ThrowingHand, drawer: PictureDrawer
) -> tuple[KeyPicture, ...]:
    """Return pictures of the first measured throw at the key instants, one a view that shows it."""
    throw = visit.throws[0]
    pictures = []
    for name in KEY_INSTANTS:
        if name not in throw.times_s:
            continue
        for tracked in throw.tracked:
            offset_s = find_offset_s(visit, tracked)
            time_s = float(throw.times_s[name][0])
            pictures.append(
                take_picture(
                    throw, (name, time_s, offset_s), set_up, (hand, tracked.clip, *sources[tracked.clip]), drawer
                )
            )
    return tuple(pictures)


def find_offset_s(visit: MeasuredVisit, tracked: TrackedThrow) -> float:
    """Return what to add to a clip's times to get the visit's, 0 for the first clip, seconds."""
    if tracked.clip == 0:
        return 0.0
    clock = visit.clocks[tracked.clip - 1]
    middle = tracked.seen.window.release_guess_s
    if not isinstance(clock, CheckedOffset):
        return 0.0
    return float(clock.offset.convert_times(np.array([middle]))[0]) - middle


def take_picture(
    throw: MeasuredThrow,
    moment: tuple[InstantName, float, float],
    set_up: FieldSetUp,
    seen_by: tuple[ThrowingHand, int, View, OpenClip],
    drawer: PictureDrawer,
) -> KeyPicture:
    """Return the picture nearest to a moment (instant, visit time, clock offset), skeleton and throwing arm drawn."""
    (name, time_s, offset_s), (hand, number, view, source) = moment, seen_by
    index = int(np.argmin(np.abs(source.times.times_s + offset_s - time_s)))
    _, picture = next(iter(source.read_pictures([index])))
    moment_s = float(source.times.times_s[index]) + offset_s
    joints = project_points(set_up.cameras[number], locate_joints(throw.motion, np.array([moment_s]))[0])
    if hand is ThrowingHand.LEFT:
        # The drawer marks the RIGHT arm as the throwing one.
        joints = joints[[OTHER_SIDE[joint] for joint in Joint]]
    drawn = drawer.draw_key_picture(picture, joints, np.asarray(np.isfinite(joints).all(axis=1)))
    return KeyPicture(
        throw=throw.number,
        instant=name,
        view=view,
        encoded=drawn.encoded,
        media_type=drawn.media_type,
        width_px=drawn.width_px,
        height_px=drawn.height_px,
        caption=f"Throw {throw.number} at {name}, seen from the {view}.",
        description=f"The athlete at {name}, seen from the {view}, with the measured skeleton drawn in.",
    )
