"""Clips of the captured pitch thrown several times, through cameras of which one may be moved between throws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from elbowroom.adapters.tables.bones import read_bone_shares
from elbowroom.core.cameras.lens import assume_phone_lens
from elbowroom.core.cameras.pose import build_blank_camera
from elbowroom.core.cameras.types import Camera, Lens, LensEstimate, View
from elbowroom.core.chain.placing import ThrowerHints
from elbowroom.core.chain.types import ChainSetting, ClipThrows
from elbowroom.core.clips.timing import mark_repeats, time_pictures
from elbowroom.core.findings.report import AthleteCard, ThrowingHand
from elbowroom.core.landmarks.layout import select_pictures
from elbowroom.core.landmarks.names import Side
from elbowroom.core.landmarks.provisional import build_provisional_tables
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.priors import build_priors
from elbowroom.core.throws.types import PictureChoice, SeenThrow, ThrowWindow
from tests.makers.landmark_scenes import Body, Eye, see_body

RATE_HZ = 120.0
ROWS = np.arange(300, 500)
CONTACT, RELEASE = 435, 447
"""Rows of the recording near foot contact and release."""
HEIGHT_M = 1.75
AT_ONCE_S = 1e-9
"""Row time of a shutter that is known to read all rows at once; 0 would mean unknown."""
UNKNOWN = Absent(reason="No board and no marks.")


@dataclass(frozen=True, kw_only=True)
class Phone:
    """One camera of a visit, a place for each throw, and how late its clock runs."""

    view: View
    eyes: tuple[Eye, ...]
    late_s: float = 0.0
    seed: int = 1


def build_camera(name: str, eye: Eye) -> Camera:
    """The camera of an eye, known to a hair."""
    lens = Lens(width_px=eye.width_px, height_px=eye.height_px, focal_px=eye.focal_px, centre_px=(639.5, 359.5))
    axes = eye.axes()
    spread = np.diag([4.0, 1, 1, 1e-5, 1e-5, 1e-8, 1e-8, *[1e-6] * 3, *[2.5e-5] * 3])
    return Camera(
        name=name,
        lens=lens,
        rotation=axes,
        translation=-axes @ np.array(eye.place),
        covariance=spread,
        residual_px=0.2,
        row_time_s=AT_ONCE_S,
    )


def film(body: Body, phone: Phone, *, noise_px: float = 2.0) -> ClipThrows:
    """One clip with a throw for each of the phone's places, one after another without a break."""
    count = len(ROWS)
    clock = np.arange(count * len(phone.eyes)) / RATE_HZ - phone.late_s
    throws = []
    for number, eye in enumerate(phone.eyes):
        landmarks = select_pictures(see_body(body, eye, noise_px, 10 * phone.seed + number), ROWS)
        every = np.arange(count) + number * count
        begin = number * count / RATE_HZ - phone.late_s
        window = ThrowWindow(
            start_s=begin + 0.05,
            contact_guess_s=begin + (CONTACT - ROWS[0]) / RATE_HZ,
            release_guess_s=begin + (RELEASE - ROWS[0]) / RATE_HZ,
            end_s=begin + 1.6,
            side=Side.RIGHT,
        )
        choice = PictureChoice(dense=every, sparse=every[:0], window_count=count)
        throws.append(SeenThrow(window=window, choice=choice, landmarks=landmarks))
    times = replace(time_pictures(np.arange(len(clock)) / RATE_HZ), times_s=clock)
    return ClipThrows(
        camera=build_camera(phone.view.value, phone.eyes[0]),
        view=phone.view,
        times=mark_repeats(times, np.zeros(len(clock), dtype=bool)),
        throws=tuple(throws),
        sound=Absent(reason="The recording has no sound."),
    )


def build_pitch_setting() -> ChainSetting:
    """What the chain needs: the noise stated as it is, 2 px or about 9 mm, none of it standing."""
    athlete = AthleteCard(
        name="124", age_years=25.0, height_m=HEIGHT_M, hand=ThrowingHand.RIGHT, kind=ThrowKind.FLAT_PITCH
    )
    tables = build_provisional_tables()
    coefficients = np.tile([2.0 * np.log(0.009), 0.0, 0.0, 0.0, 0.0, 0.0], (10, 2, 1))
    noise = replace(tables.noise, coefficients=coefficients, standing_share=np.full(10, 0.02), noise_time_s=0.002)
    return ChainSetting(
        athlete=athlete,
        tables=replace(tables, noise=noise),
        priors=build_priors(read_bone_shares(), HEIGHT_M, 0.0),
        target_m=(18.0, 0.0, 0.7),
    )


def assume_lens(true: Lens) -> LensEstimate:
    """A lens like that of a phone whose field of view is about known: 3 % too long, uncertain by 5 %."""
    usual = assume_phone_lens(true.width_px, true.height_px)
    lens = replace(usual.lens, focal_px=1.03 * true.focal_px)
    covariance = usual.covariance.copy()
    covariance[0, 0] = (0.05 * true.focal_px) ** 2
    return replace(usual, lens=lens, covariance=covariance)


def forget_cameras(clips: Sequence[ClipThrows]) -> tuple[tuple[ClipThrows, ...], ThrowerHints]:
    """The clips with cameras that stand nowhere yet, and what is assumed of the lenses."""
    lenses = tuple(assume_lens(clip.camera.lens) for clip in clips)
    blank = tuple(
        replace(clip, camera=build_blank_camera(clip.camera.name, lens, AT_ONCE_S))
        for clip, lens in zip(clips, lenses, strict=True)
    )
    return blank, ThrowerHints(lenses=lenses, marks=tuple({} for _ in clips), anchors=(UNKNOWN,) * len(clips))
