"""Set-ups that are more or less than two bare phones that stand still, on the captured pitch thrown several times.

Data: subject 124, trial 01. The data used in this project was obtained from mocap.cs.cmu.edu. The database was
created with funding from NSF EIA-0196217. Landmarks are the re-projected joint centres with 2 px of noise.

Sides: the cameras that the landmarks were made with (four; one or two of them known by a board); a phone that was moved
or turned by a known amount in one throw, set apart, and the others as if it had not been; the same in one of two
throws, refused; a second phone that is only turned against the first, refused; a thrower out of the picture, refused;
a wrong height beside a known camera, refused.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from elbowroom.core.cameras.types import Camera, FieldSetUp, View
from elbowroom.core.chain.calibrating import calibrate_from_thrower
from elbowroom.core.chain.placing import ThrowerHints
from elbowroom.core.chain.types import ChainSetting, ClipThrows, FailedThrow
from elbowroom.core.chain.visit import measure_visit
from elbowroom.core.quantities.types import Absent
from tests.makers.landmark_scenes import Eye, read_pitch
from tests.makers.pitch_clips import HEIGHT_M, Phone, build_pitch_setting, film, forget_cameras

SIDE = Eye(place=(0.3, -6.0, 1.2))
FRONT = Eye(place=(8.0, 0.5, 1.3))
BEHIND = Eye(place=(-6.5, -0.6, 1.4))
GLOVE = Eye(place=(0.5, 6.0, 1.2))


def film_all(*eyes: tuple[View, tuple[Eye, ...]]) -> tuple[ClipThrows, ...]:
    body = read_pitch()[1]
    return tuple(
        film(body, Phone(view=view, eyes=places, late_s=0.005 * number, seed=number + 1))
        for number, (view, places) in enumerate(eyes)
    )


def calibrate(
    clips: tuple[ClipThrows, ...], setting: ChainSetting | None = None, known: dict[int, Camera] | None = None
) -> FieldSetUp | Absent:
    blank, hints = forget_cameras(clips)
    if known:
        blank, hints = tell_cameras(blank, hints, known)
    return calibrate_from_thrower(blank, setting or build_pitch_setting(), hints, np.random.default_rng(1))


def tell_cameras(
    blank: tuple[ClipThrows, ...], hints: ThrowerHints, known: dict[int, Camera]
) -> tuple[tuple[ClipThrows, ...], ThrowerHints]:
    ground = FieldSetUp(
        cameras=tuple(known.values()),
        scale_standard=0.005,
        target_standard_rad=np.radians(1.0),
        upright_standard_rad=np.radians(0.5),
        ground_height_m=find_floor_m(),
        how="board",
    )
    clips = tuple(
        replace(clip, camera=replace(clip.camera, lens=known[number].lens)) if number in known else clip
        for number, clip in enumerate(blank)
    )
    lenses = tuple(
        replace(lens, lens=known[number].lens, covariance=known[number].covariance[:7, :7]) if number in known else lens
        for number, lens in enumerate(hints.lenses)
    )
    anchors = tuple(known.get(number, hints.anchors[number]) for number in range(len(blank)))
    return clips, replace(hints, lenses=lenses, anchors=anchors, ground=ground)


def find_floor_m() -> float:
    """Height of the floor in the recording: the lowest heel and toe."""
    body = read_pitch()[1]
    return float(min(body[f"{side}_{part}"][:, 2].min() for side in ("left", "right") for part in ("heel", "toe")))


def measure_turn_error_deg(found: FieldSetUp, clips: tuple[ClipThrows, ...], number: int) -> float:
    """How far a camera is turned against the first one, found less true, degrees."""
    turns = [
        cameras[number].rotation @ cameras[0].rotation.T for cameras in (found.cameras, [clip.camera for clip in clips])
    ]
    return float(np.degrees(Rotation.from_matrix(turns[0] @ turns[1].T).magnitude()))


def test_four_cameras_come_out_where_they_stood() -> None:
    clips = film_all(
        (View.OPEN_SIDE, (SIDE,)), (View.FRONT, (FRONT,)), (View.BEHIND, (BEHIND,)), (View.GLOVE_SIDE, (GLOVE,))
    )
    found = calibrate(clips)
    assert isinstance(found, FieldSetUp), found
    assert (len(found.cameras), len(found.clocks)) == (4, 3)
    for number in range(1, 4):
        assert measure_turn_error_deg(found, clips, number) < 3.0
        assert found.clocks[number - 1].offset_s == pytest.approx(0.005 * number, abs=0.002)


def test_known_camera_stays_and_the_other_comes_out_in_the_field() -> None:
    clips = film_all((View.OPEN_SIDE, (SIDE,)), (View.FRONT, (FRONT,)))
    found = calibrate(clips, known={0: clips[0].camera})
    assert isinstance(found, FieldSetUp), found
    assert found.cameras[0].translation == pytest.approx(clips[0].camera.translation, abs=1e-9)
    assert found.cameras[0].rotation == pytest.approx(clips[0].camera.rotation, abs=1e-9)
    assert np.linalg.norm(found.cameras[1].place - np.array(FRONT.place)) < 0.4
    turn = Rotation.from_matrix(found.cameras[1].rotation @ FRONT.axes().T).magnitude()
    assert np.degrees(turn) < 1.5
    assert found.target_standard_rad == pytest.approx(np.radians(1.0))
    assert "1 more from the thrower" in found.how


def test_two_known_cameras_tell_the_scale_for_a_third() -> None:
    clips = film_all((View.OPEN_SIDE, (SIDE,)), (View.FRONT, (FRONT,)), (View.BEHIND, (BEHIND,)))
    known = {0: clips[0].camera, 1: clips[1].camera}
    found = calibrate(clips, known=known)
    assert isinstance(found, FieldSetUp), found
    for number in known:
        assert found.cameras[number].translation == pytest.approx(clips[number].camera.translation, abs=1e-9)
    assert np.linalg.norm(found.cameras[2].place - np.array(BEHIND.place)) < 0.4


def test_height_that_board_contradicts_is_refused() -> None:
    clips = film_all((View.OPEN_SIDE, (SIDE,)), (View.FRONT, (FRONT,)))
    setting = build_pitch_setting()
    shrunk = replace(setting, athlete=replace(setting.athlete, height_m=0.8 * HEIGHT_M))
    refused = calibrate(clips, shrunk, known={0: clips[0].camera})
    assert isinstance(refused, Absent)
    assert "taller than the visit file says" in refused.reason


@pytest.mark.parametrize("moved", [replace(FRONT, place=(7.9, 1.1, 1.3)), replace(FRONT, aim=(0.2, 0.4, 0.9))])
def test_throw_with_a_moved_phone_is_set_apart(moved: Eye) -> None:
    clips = film_all((View.OPEN_SIDE, (SIDE,) * 3), (View.FRONT, (FRONT, moved, FRONT)))
    found = calibrate(clips)
    assert isinstance(found, FieldSetUp), found
    assert found.apart == (1,)
    assert measure_turn_error_deg(found, clips, 1) < 3.0


def test_nothing_is_set_apart_where_nothing_moved() -> None:
    found = calibrate(film_all((View.OPEN_SIDE, (SIDE,) * 2), (View.FRONT, (FRONT,) * 2)))
    assert isinstance(found, FieldSetUp), found
    assert found.apart == ()


def test_throw_set_apart_is_not_measured_and_says_why() -> None:
    clips = film_all((View.OPEN_SIDE, (SIDE,) * 2), (View.FRONT, (FRONT,) * 2))
    set_up = FieldSetUp(
        cameras=tuple(clip.camera for clip in clips),
        scale_standard=0.01,
        target_standard_rad=0.01,
        upright_standard_rad=0.01,
        apart=(0,),
    )
    visit = measure_visit(
        clips, set_up, replace(build_pitch_setting(), draws=4), np.random.default_rng(1), lambda done, total: None
    )
    assert [throw.number for throw in visit.throws] == [2]
    (failed,) = visit.failed
    assert isinstance(failed, FailedThrow)
    assert (failed.number, "stood elsewhere" in failed.absent.reason) == (1, True)


def test_phone_moved_between_two_throws_is_refused() -> None:
    moved = replace(FRONT, place=(7.9, 1.1, 1.3))
    refused = calibrate(film_all((View.OPEN_SIDE, (SIDE,) * 2), (View.FRONT, (FRONT, moved))))
    assert isinstance(refused, Absent)
    assert "a visit of its own" in refused.advice


def test_phone_that_is_only_turned_is_refused() -> None:
    turned = replace(SIDE, aim=(0.6, 0.0, 1.1))
    refused = calibrate(film_all((View.OPEN_SIDE, (SIDE,)), (View.OBLIQUE, (turned,))))
    assert isinstance(refused, Absent)
    assert "quarter turn" in refused.advice


def test_thrower_out_of_the_picture_is_refused_by_name() -> None:
    side, front = film_all((View.OPEN_SIDE, (SIDE,)), (View.FRONT, (FRONT,)))
    seen = front.throws[0]
    presence = seen.landmarks.presence.copy()
    presence[60:] = 0.0
    lost = replace(front, throws=(replace(seen, landmarks=replace(seen.landmarks, presence=presence)),))
    refused = calibrate((side, lost))
    assert isinstance(refused, Absent)
    assert "picture of front" in refused.reason
    assert "stays in the picture" in refused.advice
