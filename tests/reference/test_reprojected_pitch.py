"""The captured pitch through two cameras and the whole chain: sides, clocks, reconstruction, instants, measures.

Data: subject 124, trial 01. The data used in this project was obtained from mocap.cs.cmu.edu. The database was
created with funding from NSF EIA-0196217. Joint centres at 120 Hz; expected values and how far a fair filter moves
them stand in the data's README. Landmarks are the re-projected joint centres with noise: no detector, no pictures.

Sides: fixed numbers worked out elsewhere from the same recording; the recording's own places; a second clip whose
clock is set wrong on purpose; a second clip whose legs are exchanged for a stretch; the mirrored thrower.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from elbowroom.adapters.tables.bones import read_bone_shares
from elbowroom.core.cameras.types import Camera, FieldSetUp, Lens, View
from elbowroom.core.chain.types import ChainSetting, ClipThrows, MeasuredThrow, MeasuredVisit
from elbowroom.core.chain.visit import measure_visit
from elbowroom.core.clips.timing import mark_repeats, time_pictures
from elbowroom.core.clocks.types import CheckedOffset
from elbowroom.core.findings.report import AthleteCard, ThrowingHand
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.layout import LEGS, OTHER, mirror_landmarks, reorder_landmarks, select_pictures
from elbowroom.core.landmarks.names import Joint, Side
from elbowroom.core.landmarks.provisional import build_provisional_tables
from elbowroom.core.landmarks.types import RawLandmarks
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.types import Absent, Uncertain
from elbowroom.core.reconstruction.draws import locate_joints
from elbowroom.core.reconstruction.priors import build_priors
from elbowroom.core.throws.types import PictureChoice, SeenThrow, ThrowWindow
from tests.conftest import shared_dir
from tests.makers.landmark_scenes import VIEWS, Body, Eye, read_pitch, see_body

shared_dir()
RATE_HZ = 120.0
ROWS = np.arange(300, 500)
LATE_S = 0.0123
"""How much later the second clip's clock runs."""
EYES = {View.OPEN_SIDE: VIEWS["open side"], View.FRONT: VIEWS["front"]}


def make_camera(name: str, eye: Eye) -> Camera:
    lens = Lens(width_px=1280, height_px=720, focal_px=eye.focal_px, centre_px=(639.5, 359.5))
    axes = eye.axes()
    spread = np.diag([4.0, 1, 1, 1e-5, 1e-5, 1e-8, 1e-8, *[1e-6] * 3, *[2.5e-5] * 3])
    return Camera(
        name=name,
        lens=lens,
        rotation=axes,
        translation=-axes @ np.array(eye.place),
        covariance=spread,
        residual_px=0.2,
    )


def make_clip(view: View, landmarks: RawLandmarks, camera: Camera, late_s: float) -> ClipThrows:
    times = time_pictures(np.arange(len(ROWS)) / RATE_HZ)
    start = ROWS[0] / RATE_HZ
    window = ThrowWindow(
        start_s=0.05 - late_s,
        contact_guess_s=435 / RATE_HZ - start - late_s,
        release_guess_s=447 / RATE_HZ - start - late_s,
        end_s=1.6 - late_s,
        side=Side.RIGHT,
    )
    every = np.arange(len(ROWS))
    choice = PictureChoice(dense=every, sparse=every[:0], window_count=len(every))
    return ClipThrows(
        camera=camera,
        view=view,
        times=mark_repeats(replace(times, times_s=times.times_s - late_s), np.zeros(len(ROWS), dtype=bool)),
        throws=(SeenThrow(window=window, choice=choice, landmarks=landmarks),),
        sound=Absent(reason="The recording has no sound."),
    )


def see(body: Body, view: View, seed: int) -> RawLandmarks:
    return select_pictures(see_body(body, EYES[view], 2.0, seed), ROWS)


def measure(clips: tuple[ClipThrows, ...], hand: ThrowingHand = ThrowingHand.RIGHT) -> MeasuredVisit:
    athlete = AthleteCard(name="124", age_years=25.0, height_m=1.75, hand=hand, kind=ThrowKind.FLAT_PITCH)
    set_up = FieldSetUp(
        cameras=tuple(clip.camera for clip in clips),
        scale_standard=0.002,
        target_standard_rad=0.01,
        upright_standard_rad=0.005,
    )
    # The landmarks are joint centres with 2 px of noise: about 9 mm here, none of it standing.
    tables = build_provisional_tables()
    coefficients = np.tile([2.0 * np.log(0.009), 0.0, 0.0, 0.0, 0.0, 0.0], (10, 2, 1))
    noise = replace(tables.noise, coefficients=coefficients, standing_share=np.full(10, 0.02), noise_time_s=0.002)
    setting = ChainSetting(
        athlete=athlete,
        tables=replace(tables, noise=noise),
        priors=build_priors(read_bone_shares(), 1.75, -0.05),
        target_m=(18.0, 0.0, 0.7),
        draws=60,
    )
    return measure_visit(clips, set_up, setting, np.random.default_rng(3), lambda done, total: None)


def make_both(body: Body) -> tuple[ClipThrows, ClipThrows]:
    open_side, front = (
        make_clip(view, see(body, view, seed), make_camera(view.value, EYES[view]), late)
        for view, seed, late in ((View.OPEN_SIDE, 1, 0.0), (View.FRONT, 2, LATE_S))
    )
    return open_side, front


@pytest.fixture(scope="module")
def measured() -> MeasuredVisit:
    return measure(make_both(read_pitch()[1]))


def check_pitch(throw: MeasuredThrow) -> None:
    start = ROWS[0]
    for name, frame, allowed in (
        (InstantName.LIFT, 358, 3),
        (InstantName.FOOT_CONTACT, 435, 5),
        (InstantName.LAYBACK, 441, 2),
        (InstantName.RELEASE, 447, 3),
    ):
        found = throw.instants.find(name)
        assert isinstance(found, Uncertain), name
        # The README counts frames from 1, the rows here from 0.
        assert found.value * RATE_HZ + start + 1 == pytest.approx(frame, abs=allowed), name
    for key, expected, spread in (
        ("elbow_flexion_at_foot_contact", 70.0, 4.0),
        ("shoulder_abduction_at_foot_contact", 104.0, 1.0),
        ("lead_knee_flexion_at_foot_contact", 59.0, 1.0),
        ("separation_at_foot_contact", 9.0, 1.0),
    ):
        value = throw.measures.values[key]
        assert isinstance(value, Uncertain), key
        # Within what a fair filter moves and three standard uncertainties of this measurement.
        assert abs(value.value - expected) < spread + 3.0 * value.standard, key


def test_the_pitch_is_measured_from_two_views(measured: MeasuredVisit) -> None:
    assert measured.failed == ()
    check_pitch(measured.throws[0])


def test_the_clock_of_the_second_clip_is_found(measured: MeasuredVisit) -> None:
    clock = measured.clocks[0]
    assert isinstance(clock, CheckedOffset)
    assert clock.offset.offset_s == pytest.approx(LATE_S, abs=0.2 / RATE_HZ)


def test_the_stride_is_as_long_as_recorded(measured: MeasuredVisit) -> None:
    throw = measured.throws[0]
    lift, contact = (throw.times_s[name][:1] for name in (InstantName.LIFT, InstantName.FOOT_CONTACT))
    pivot = locate_joints(throw.motion, lift)[0, Joint.RIGHT_ANKLE]
    lead = locate_joints(throw.motion, contact)[0, Joint.LEFT_ANKLE]
    # Over the ground and along the stride's own line, as the README takes it.
    assert float(np.linalg.norm((lead - pivot)[:2])) == pytest.approx(1.14, abs=0.02)


def test_places_come_back(measured: MeasuredVisit) -> None:
    times, body = read_pitch()
    rows = np.arange(400, 450)
    motion = measured.throws[0].motion
    for joint in (Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST, Joint.LEFT_ANKLE, Joint.RIGHT_HIP):
        found = locate_joints(motion, times[rows] - ROWS[0] / RATE_HZ)[:, joint]
        away = np.linalg.norm(found - body[joint.name.lower()][rows], axis=1)
        assert np.sqrt(np.mean(away**2)) < 0.02, joint.name


def test_exchanged_legs_of_one_view_are_put_right_by_the_other(measured: MeasuredVisit) -> None:
    body = read_pitch()[1]
    open_side, front = make_both(body)
    order = np.tile(np.arange(33), (len(ROWS), 1))
    order[60:, LEGS] = OTHER[LEGS]
    # Exchanged to the clip's end, which one view alone takes for a body that turned.
    spoilt = replace(front.throws[0], landmarks=reorder_landmarks(front.throws[0].landmarks, order))
    visit = measure((open_side, replace(front, throws=(spoilt,))))
    check_pitch(visit.throws[0])
    assert any("exchanged" in change.what for change in visit.throws[0].corrections)


def test_a_mirrored_thrower_gives_the_same_numbers(measured: MeasuredVisit) -> None:
    clips = []
    for clip in make_both(read_pitch()[1]):
        flipped = mirror_landmarks(clip.throws[0].landmarks, 1280)
        eye = EYES[clip.view]
        mirrored = replace(eye, place=(eye.place[0], -eye.place[1], eye.place[2]))
        camera = make_camera(clip.view.value, mirrored)
        clips.append(replace(clip, camera=camera, throws=(replace(clip.throws[0], landmarks=flipped),)))
    visit = measure(tuple(clips), ThrowingHand.LEFT)
    check_pitch(visit.throws[0])
    for key in ("trunk_opening_at_foot_contact", "elbow_to_shoulder_line_at_layback", "stride_offset"):
        one, other = measured.throws[0].measures.values[key], visit.throws[0].measures.values[key]
        assert isinstance(one, Uncertain)
        assert isinstance(other, Uncertain)
        assert other.value == pytest.approx(one.value, abs=0.3 * one.standard + 1e-3), key
