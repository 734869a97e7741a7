"""Following people and picking the thrower.

Sides: tracks known by construction (crossing paths, missed pictures); linear interpolation in closed form; the captured
arm speeds replaced by a simple fast swing beside people who stand, walk or catch.
"""

from __future__ import annotations

import numpy as np
import pytest

from elbowroom.core.landmarks.names import Side
from elbowroom.core.landmarks.people import Candidate, interpolate_regions, link_people, pick_thrower
from elbowroom.core.landmarks.types import Person, Region
from elbowroom.core.quantities.types import Absent
from tests.makers.landmark_scenes import NOT_THROWS, Eye, see_body

TIMES_S = np.arange(0.0, 3.0, 1 / 30)


def person(x: float, y: float = 360.0, size: float = 500.0, turn: float = 0.0) -> Person:
    region = Region(centre_px=np.array([x, y]), size_px=size, rotation_rad=turn)
    return Person(region=region, score=0.9)


def candidate(movement: str, shift_m: float = 0.0) -> Candidate:
    eye = Eye(place=(0.3 - shift_m, -6.0, 1.2), aim=(0.2 - shift_m, 0.0, 0.9))
    raw = see_body(NOT_THROWS[movement](TIMES_S), eye, noise_px=2.0)
    moved = raw.pixels + np.array([shift_m * 230.0, 0.0])
    return Candidate(times_s=TIMES_S, landmarks=type(raw)(**{**vars(raw), "pixels": moved}))


def test_two_people_are_followed_in_any_order_of_detection() -> None:
    people = [[person(300 + 4 * k), person(900 - 3 * k, size=420)][:: 1 if k % 2 else -1] for k in range(30)]
    tracks = link_people(people, np.arange(0, 240, 8))
    assert [len(track.pictures) for track in tracks] == [30, 30]
    sizes = [{region.size_px for region in track.regions} for track in tracks]
    assert sorted(sizes, key=min) == [{420.0}, {500.0}]


def test_missed_pictures_do_not_end_a_track_and_long_gaps_do() -> None:
    short = [[] if 10 <= k < 14 else [person(300)] for k in range(30)]
    assert len(link_people(short, np.arange(30))) == 1
    long = [[] if 10 <= k < 22 else [person(300)] for k in range(40)]
    assert len(link_people(long, np.arange(40))) == 2


def test_somebody_found_twice_for_a_while_stays_one_person() -> None:
    """A double beside the body from picture 16 on; from 20 on only the double is found."""
    people = [[person(300 + 2 * k)] for k in range(20)] + [[] for _ in range(20)]
    for k in range(16, 40):
        people[k].append(person(340 + 2 * k, size=560))
    tracks = link_people(people, np.arange(0, 320, 8))
    assert [track.pictures.tolist() for track in tracks] == [list(range(0, 320, 8))]
    assert [region.size_px for region in tracks[0].regions] == [500.0] * 20 + [560.0] * 20


def test_somebody_who_comes_when_another_leaves_is_another_person_elsewhere() -> None:
    people = [[person(300)] if k < 20 else [person(900)] for k in range(40)]
    assert [len(track.pictures) for track in link_people(people, np.arange(40))] == [20, 20]


def test_regions_between_are_on_the_straight_line_and_turn_the_short_way() -> None:
    people = [[person(100, size=400, turn=3.0)], [person(140, size=440, turn=-3.0)]]
    track = link_people(people, np.array([10, 20]))[0]
    before, half = interpolate_regions(track, np.array([0, 15]))
    assert before.centre_px[0] == 100
    assert half.centre_px[0] == pytest.approx(120)
    assert half.size_px == pytest.approx(420)
    assert np.cos(half.rotation_rad) == pytest.approx(-1.0)


def test_thrower_is_picked_among_bystander_and_catcher() -> None:
    movements = ["standing", "practice swing of the arm, feet still", "catch"]
    assert pick_thrower([candidate(name, k - 1.0) for k, name in enumerate(movements)]) == 1


def test_two_throwers_are_refused_until_one_is_named() -> None:
    swing = "practice swing of the arm, feet still"
    both = [candidate(swing, 1.0), candidate("standing"), candidate(swing, -1.0)]
    refused = pick_thrower(both)
    assert isinstance(refused, Absent)
    assert "left or right of the picture" in refused.reason
    assert pick_thrower(both, Side.LEFT) == 2
    assert pick_thrower(both, Side.RIGHT) == 0


def test_nobody_is_said() -> None:
    nobody = pick_thrower([])
    assert isinstance(nobody, Absent)
    assert "No person" in nobody.reason
