"""Corrections of a screened visit.

Sides: the screening itself (no correction gives its numbers to the last digit; a correction taken back as well); the
known motion that the landmarks were made from; a landmark spoilt on purpose and put back by hand; the measures' own
definitions at a moved instant; another way through (all corrections at once or one by one) gives the same numbers.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from elbowroom.adapters.workings.files import read_workings, render_workings
from elbowroom.core.cameras.project import project_points
from elbowroom.core.chain.correcting import apply_corrections, draw_planned, measure_planned
from elbowroom.core.chain.types import (
    DroppedThrow,
    JoinedThrow,
    MovedInstant,
    MovedLandmark,
    SplitThrow,
)
from elbowroom.core.chain.visit import DrawnThrow
from elbowroom.core.chain.workings import ThrowResult, Workings
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.quantities.types import Uncertain
from elbowroom.core.reconstruction.draws import locate_joints
from elbowroom.errors import CorrectionError, RecordError
from elbowroom.service.correcting import Remembered, build_setting, make_generator, measure_changes
from tests.makers.kept_visit import CONTACT_S, make_places, make_tools, screen_invented


@pytest.fixture(scope="module")
def workings() -> Workings:
    return screen_invented()[1]


def find_values(result: ThrowResult) -> list[object]:
    return [repr(value) for value in result.measures.values.values()]


def draw(workings: Workings, *changes: object) -> tuple[DrawnThrow, ThrowResult]:
    setting = build_setting(workings, make_tools(), workings.draws)
    planned = apply_corrections(workings, changes)[0]  # type: ignore[arg-type]
    drawn = draw_planned(planned, workings, setting, make_generator(planned.kept.seed))
    assert isinstance(drawn, DrawnThrow)
    return drawn, measure_planned(planned, drawn, workings, setting)  # type: ignore[return-value]


def find_picture(workings: Workings, time_s: float) -> int:
    return int(np.argmin(np.abs(workings.clips[0].times.times_s - time_s)))


def place_joint(workings: Workings, time_s: float, joint: Joint, shift_px: float = 0.0) -> MovedLandmark:
    """Return the true place of a joint of the first throw in the first clip, or one beside it."""
    picture = find_picture(workings, time_s)
    true_s = workings.clips[0].times.times_s[picture : picture + 1]
    x, y = project_points(workings.clips[0].camera, make_places(true_s)[0])[joint]
    return MovedLandmark(throw=1, clip=0, picture=picture, joint=joint, place_px=(float(x + shift_px), float(y)))


def test_without_corrections_the_numbers_are_those_of_the_screening(workings: Workings) -> None:
    visit, _ = screen_invented()
    assert len(visit.throws) == 3
    drawn, again = draw(workings)
    first = visit.throws[0]
    assert np.array_equal(drawn.motion.coefficients_m, first.motion.coefficients_m)
    assert [repr(value) for value in again.measures.values.values()] == [
        repr(value) for value in first.measures.values.values()
    ]
    assert repr(again.loads) == repr(first.loads)


def test_workings_come_back_from_their_file(workings: Workings) -> None:
    back = read_workings(render_workings(workings))
    assert render_workings(back) == render_workings(workings)
    _, result = draw(back)
    assert find_values(result) == find_values(draw(workings)[1])


@pytest.mark.parametrize("harm", ["cut", "other", "turned"])
def test_a_strange_file_is_refused(workings: Workings, harm: str) -> None:
    content = render_workings(workings)
    spoilt = {"cut": content[:-200], "other": b"no archive at all", "turned": content[::-1]}[harm]
    with pytest.raises(RecordError, match="screen the visit again"):
        read_workings(spoilt)


def test_a_correction_taken_back_gives_the_screening_again(workings: Workings) -> None:
    remembered, tools = Remembered(), make_tools()
    before = measure_changes(workings, (), tools, remembered)
    moved = place_joint(workings, CONTACT_S, Joint.RIGHT_ELBOW, 40.0)
    measure_changes(workings, (moved,), tools, remembered)
    after = measure_changes(workings, (), tools, remembered)
    assert [find_values(result) for result in after.results] == [find_values(result) for result in before.results]
    assert repr(after.report.findings) == repr(workings.report.findings)


def test_the_way_to_the_corrections_does_not_matter(workings: Workings) -> None:
    tools, first = make_tools(), place_joint(workings, CONTACT_S, Joint.RIGHT_ELBOW, 25.0)
    second = MovedInstant(throw=1, instant=InstantName.RELEASE, time_s=2.15)
    remembered = Remembered()
    measure_changes(workings, (first,), tools, remembered)
    stepwise = measure_changes(workings, (first, second), tools, remembered)
    at_once = measure_changes(workings, (first, second), tools, Remembered())
    assert find_values(stepwise.results[0]) == find_values(at_once.results[0])


def test_a_moved_instant_is_taken_as_it_is(workings: Workings) -> None:
    later_s = CONTACT_S + 0.03
    drawn, result = draw(workings, MovedInstant(throw=1, instant=InstantName.FOOT_CONTACT, time_s=later_s))
    found = result.instants.find(InstantName.FOOT_CONTACT)
    assert isinstance(found, Uncertain)
    assert found.value == later_s
    release = result.instants.find(InstantName.RELEASE)
    assert isinstance(release, Uncertain)
    gap = result.measures.values["time_from_foot_contact_to_release"]
    assert isinstance(gap, Uncertain)
    assert gap.value == pytest.approx(release.value - later_s, abs=1e-12)
    joints = locate_joints(drawn.motion, np.array([later_s]))[0]
    line = joints[Joint.LEFT_SHOULDER] - joints[Joint.RIGHT_SHOULDER]
    opening = result.measures.values["trunk_opening_at_foot_contact"]
    assert isinstance(opening, Uncertain)
    assert opening.value == pytest.approx(float(np.degrees(np.arctan2(line[1], line[0]))), abs=1e-9)


def test_a_moved_landmark_pulls_the_joint_there_and_nothing_far_away(workings: Workings) -> None:
    moved = place_joint(workings, CONTACT_S, Joint.LEFT_HAND, 30.0)
    before, _ = draw(workings)
    after, _ = draw(workings, moved)
    camera = workings.clips[0].camera
    time_s = workings.clips[0].times.times_s[moved.picture : moved.picture + 1]
    there = [project_points(camera, locate_joints(d.motion, time_s)[0])[Joint.LEFT_HAND] for d in (before, after)]
    gaps = [float(np.linalg.norm(place - np.array(moved.place_px))) for place in there]
    assert gaps[1] < 0.6 * gaps[0]
    far = np.array([CONTACT_S - 0.5])
    shift = np.abs(locate_joints(after.motion, far) - locate_joints(before.motion, far)).max()
    assert shift < 0.005
    foot = (
        locate_joints(after.motion, time_s)[0, Joint.RIGHT_TOE]
        - locate_joints(before.motion, time_s)[0, Joint.RIGHT_TOE]
    )
    assert np.linalg.norm(foot) < 0.003


def test_true_places_by_hand_mend_a_spoilt_stretch(workings: Workings) -> None:
    """The detector sees the wrist 60 px off for 60 ms; five places by hand undo most of the harm."""
    kept = workings.throws[0]
    member = kept.members[0]
    track = member.track
    inside = np.abs(track.times_s - CONTACT_S) < 0.03
    pixels = track.pixels.copy()
    pixels[inside, Joint.RIGHT_WRIST] += [60.0, -40.0]
    spoilt_member = replace(member, track=replace(track, pixels=pixels))
    spoilt = replace(workings, throws=(replace(kept, members=(spoilt_member, *kept.members[1:])), *workings.throws[1:]))
    hands = tuple(
        place_joint(spoilt, CONTACT_S + shift, Joint.RIGHT_WRIST) for shift in (-0.02, -0.01, 0.0, 0.01, 0.02)
    )
    far = MovedLandmark(throw=1, clip=0, picture=find_picture(spoilt, 0.6), joint=Joint.HEAD, place_px=(10.0, 10.0))
    times = CONTACT_S + np.linspace(-0.025, 0.025, 9)
    truth = make_places(times)[:, Joint.RIGHT_WRIST]

    def find_error(drawn: DrawnThrow) -> float:
        return float(np.linalg.norm(locate_joints(drawn.motion, times)[:, Joint.RIGHT_WRIST] - truth, axis=1).max())

    # The far change makes the search run on the spoilt landmarks, whose solution was found on the clean ones.
    clean = find_error(draw(workings)[0])
    bad, good = find_error(draw(spoilt, far)[0]), find_error(draw(spoilt, far, *hands)[0])
    # What unspoilt landmarks leave is what can be reached at best.
    assert bad > clean + 0.02
    assert good < clean + 0.3 * (bad - clean)


def test_a_dropped_throw_leaves_the_others_alone(workings: Workings) -> None:
    measured = measure_changes(workings, (DroppedThrow(throw=2),), make_tools(), Remembered())
    assert [result.number for result in measured.results] == [1, 3]
    assert measured.results[0] is workings.throws[0].result
    assert {card.number for card in measured.report.throws} == {1, 3}
    assert all(len(finding.throws) == 2 for finding in measured.report.findings)
    assert all(line.throw != 2 for curve in measured.report.curves for line in curve.lines)


def test_dropping_every_throw_is_refused(workings: Workings) -> None:
    with pytest.raises(CorrectionError, match="put one of them back"):
        measure_changes(workings, tuple(DroppedThrow(throw=n) for n in (1, 2, 3)), make_tools(), Remembered())


def test_a_throw_split_and_joined_again_is_the_same_throw(workings: Workings) -> None:
    """A split throw is one view each; joined again its places are those of the screening."""
    split = apply_corrections(workings, (SplitThrow(throw=1),))
    assert [(throw.kept.number, len(throw.kept.members)) for throw in split] == [(1, 1), (2, 2), (3, 2), (4, 1)]
    both = apply_corrections(workings, (SplitThrow(throw=1), JoinedThrow(throw=1, other=4)))
    assert [(throw.kept.number, len(throw.kept.members)) for throw in both] == [(1, 2), (2, 2), (3, 2)]
    again, _ = draw(workings, SplitThrow(throw=1), JoinedThrow(throw=1, other=4))
    visit, _ = screen_invented()
    times = np.linspace(0.6, 2.9, 40)
    apart = locate_joints(again.motion, times) - locate_joints(visit.throws[0].motion, times)
    assert np.abs(apart).max() < 1e-9


def test_throws_of_one_clip_cannot_be_joined(workings: Workings) -> None:
    with pytest.raises(CorrectionError, match="a clip shows a throw once"):
        apply_corrections(workings, (JoinedThrow(throw=1, other=2),))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (MovedLandmark(throw=9, clip=0, picture=300, joint=Joint.HEAD, place_px=(5.0, 5.0)), "no throw 9"),
        (MovedLandmark(throw=1, clip=0, picture=99_999, joint=Joint.HEAD, place_px=(5.0, 5.0)), "no picture 99999"),
        (MovedLandmark(throw=1, clip=7, picture=300, joint=Joint.HEAD, place_px=(5.0, 5.0)), "not seen by clip 8"),
        (MovedLandmark(throw=1, clip=0, picture=300, joint=Joint.HEAD, place_px=(-9.0, 5.0)), "inside the picture"),
        (DroppedThrow(throw=7), "no throw 7"),
    ],
)
def test_what_does_not_fit_is_refused_in_a_sentence(workings: Workings, change: object, words: str) -> None:
    with pytest.raises(CorrectionError, match=words):
        apply_corrections(workings, (change,))  # type: ignore[arg-type]


def test_the_first_answer_is_near_the_full_one(workings: Workings) -> None:
    moved = place_joint(workings, CONTACT_S, Joint.RIGHT_ELBOW, 30.0)
    first = measure_changes(workings, (moved,), make_tools(), Remembered(), is_first=True)
    full = measure_changes(workings, (moved,), make_tools(), Remembered())
    for key in ("elbow_to_shoulder_line_at_foot_contact", "elbow_flexion_at_foot_contact"):
        one, other = first.results[0].measures.values[key], full.results[0].measures.values[key]
        assert isinstance(one, Uncertain)
        assert isinstance(other, Uncertain)
        assert one.value == pytest.approx(other.value, abs=other.standard)
