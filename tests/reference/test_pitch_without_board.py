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

from elbowroom.core.cameras.types import FieldSetUp
from elbowroom.core.chain.calibrating import calibrate_from_thrower
from elbowroom.core.chain.visit import measure_visit
from elbowroom.core.clocks.types import CheckedOffset, ClockSource
from elbowroom.core.quantities.types import Absent
from tests.makers.landmark_scenes import read_pitch
from tests.makers.pitch_clips import build_pitch_setting, forget_cameras
from tests.reference.test_reprojected_pitch import LATE_S, RATE_HZ, make_both


@pytest.fixture(scope="module")
def found() -> FieldSetUp:
    blank, hints = forget_cameras(make_both(read_pitch()[1]))
    set_up = calibrate_from_thrower(blank, build_pitch_setting(), hints, np.random.default_rng(1))
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
    setting = replace(build_pitch_setting(), draws=4)
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
    refused = calibrate_from_thrower(blank, build_pitch_setting(), hints, np.random.default_rng(1))
    assert isinstance(refused, Absent)
    assert "second phone" in refused.advice


def test_two_phones_at_one_place_are_refused() -> None:
    first, second = make_both(read_pitch()[1])
    both, hints = forget_cameras((first, replace(first, camera=second.camera)))
    assert isinstance(calibrate_from_thrower(both, build_pitch_setting(), hints, np.random.default_rng(1)), Absent)
