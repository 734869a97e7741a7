"""Cameras from the thrower alone, on the captured pitch re-projected through two known cameras.

Data: subject 124, trial 01. The data used in this project was obtained from mocap.cs.cmu.edu. The database was
created with funding from NSF EIA-0196217. Landmarks are the re-projected joint centres with 2 px of noise; the second
clip's clock runs late on purpose.

Sides: the cameras that the landmarks were made with; the clock that was set wrong, found to a fifth of a picture where
the tables state the noise as it is; one clip alone refused; a second phone at the place of the first refused.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from elbowroom.adapters.tables.bones import read_bone_shares
from elbowroom.core.cameras.lens import assume_phone_lens
from elbowroom.core.cameras.pose import build_blank_camera
from elbowroom.core.cameras.types import FieldSetUp, Lens, LensEstimate
from elbowroom.core.chain.calibrating import ThrowerHints, calibrate_from_thrower
from elbowroom.core.chain.types import ChainSetting, ClipThrows
from elbowroom.core.chain.visit import measure_visit
from elbowroom.core.clocks.types import CheckedOffset, ClockSource
from elbowroom.core.findings.report import AthleteCard, ThrowingHand
from elbowroom.core.landmarks.provisional import build_provisional_tables
from elbowroom.core.measures.types import ThrowKind
from elbowroom.core.quantities.types import Absent
from elbowroom.core.reconstruction.priors import build_priors
from tests.makers.landmark_scenes import read_pitch
from tests.reference.test_reprojected_pitch import LATE_S, RATE_HZ, make_both

HEIGHT_M = 1.75
AT_ONCE_S = 1e-9
"""Row time of a shutter that is known to read all rows at once; 0 would mean unknown."""


def make_setting() -> ChainSetting:
    athlete = AthleteCard(
        name="124", age_years=25.0, height_m=HEIGHT_M, hand=ThrowingHand.RIGHT, kind=ThrowKind.FLAT_PITCH
    )
    tables = build_provisional_tables()
    # The noise is 2 px, about 9 mm here, and none of it stands; rows of pictures are seen at once.
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


def forget_cameras(clips: tuple[ClipThrows, ...]) -> tuple[tuple[ClipThrows, ...], ThrowerHints]:
    lenses = tuple(assume_lens(clip.camera.lens) for clip in clips)
    blank = tuple(
        replace(clip, camera=build_blank_camera(clip.camera.name, lens, AT_ONCE_S))
        for clip, lens in zip(clips, lenses, strict=True)
    )
    return blank, ThrowerHints(lenses=lenses, marks=tuple({} for _ in clips))


@pytest.fixture(scope="module")
def found() -> FieldSetUp:
    blank, hints = forget_cameras(make_both(read_pitch()[1]))
    set_up = calibrate_from_thrower(blank, make_setting(), hints, np.random.default_rng(1))
    assert isinstance(set_up, FieldSetUp), set_up
    return set_up


def test_the_clock_comes_out_as_it_was_set_wrong(found: FieldSetUp) -> None:
    (clock,) = found.clocks
    assert clock.offset_s == pytest.approx(LATE_S, abs=0.2 / RATE_HZ)
    assert abs(clock.offset_s - LATE_S) < 2.0 * clock.standard_s
    assert clock.standard_s < 1.0 / RATE_HZ


def test_the_chain_takes_the_clock_that_came_with_the_cameras(found: FieldSetUp) -> None:
    blank, _ = forget_cameras(make_both(read_pitch()[1]))
    clips = [replace(clip, camera=camera) for clip, camera in zip(blank, found.cameras, strict=True)]
    setting = replace(make_setting(), draws=4)
    visit = measure_visit(clips, found, setting, np.random.default_rng(1), lambda done, total: None)
    (clock,) = visit.clocks
    assert isinstance(clock, CheckedOffset)
    assert clock.offset.source is ClockSource.CAMERAS
    assert clock.offset.offset_s == found.clocks[0].offset_s
    assert clock.offset.standard_s == found.clocks[0].standard_s


def test_cameras_come_out_where_they_stood(found: FieldSetUp) -> None:
    clips = make_both(read_pitch()[1])
    true = [clip.camera for clip in clips]
    turn = found.cameras[1].rotation @ found.cameras[0].rotation.T
    gap = Rotation.from_matrix(turn @ (true[1].rotation @ true[0].rotation.T).T).magnitude()
    assert np.degrees(gap) < 5.0
    apart = [float(np.linalg.norm(pair[0].place - pair[1].place)) for pair in (found.cameras, true)]
    assert apart[0] == pytest.approx(apart[1], rel=0.10)
    spread = np.sqrt(np.diag(found.cameras[1].covariance))[7:10]
    assert np.all(spread > 0)


def test_one_clip_is_refused() -> None:
    blank, hints = forget_cameras(make_both(read_pitch()[1])[:1])
    refused = calibrate_from_thrower(blank, make_setting(), hints, np.random.default_rng(1))
    assert isinstance(refused, Absent)
    assert "second phone" in refused.advice


def test_two_phones_at_one_place_are_refused() -> None:
    first, second = make_both(read_pitch()[1])
    both, hints = forget_cameras((first, replace(first, camera=second.camera)))
    assert isinstance(calibrate_from_thrower(both, make_setting(), hints, np.random.default_rng(1)), Absent)
