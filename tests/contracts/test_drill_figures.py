"""Figures of drills: joints by trigonometry, segments keep their lengths, every drill draws, nothing leaves its frame.

Sides: joint positions worked by hand; segment lengths measured back; the SVG parsed as XML.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from math import hypot

import pytest

from elbowroom.adapters.figures.drill import HEIGHT_PX, STEP_PX, render_drill_figure
from elbowroom.adapters.figures.skeleton import place_joints
from elbowroom.adapters.figures.things import THINGS
from elbowroom.adapters.tables.drill_tables import read_poses
from tests.makers.intakes import find_drills

POSES = {pose.key: pose for pose in read_poses()}
SVG = "{http://www.w3.org/2000/svg}"


def test_standing_arms_level_by_hand() -> None:
    joints = place_joints(POSES["mirror_arms"])
    shoulder, elbow, hand = joints.limbs["throwing"]
    assert elbow[0] - shoulder[0] == pytest.approx(-0.17)
    assert elbow[1] == pytest.approx(shoulder[1])
    assert hand[0] == pytest.approx(elbow[0])
    assert hand[1] - elbow[1] == pytest.approx(-0.17)
    assert max(point[1] for point in joints.list_points()) == pytest.approx(0.0)


@pytest.mark.parametrize("key", POSES)
def test_segments_keep_their_lengths(key: str) -> None:
    pose, joints = POSES[key], place_joints(POSES[key])
    limbs = {"throwing": pose.throwing_arm, "glove": pose.glove_arm, "lead": pose.lead_leg, "pivot": pose.pivot_leg}
    for name, segments in limbs.items():
        points = joints.limbs[name]
        for first, last, segment in zip(points, points[1:], segments, strict=False):
            assert hypot(last[0] - first[0], last[1] - first[1]) == pytest.approx(segment.length_share)
    assert set(pose.things) <= set(THINGS)


@pytest.mark.parametrize("drill", find_drills(), ids=lambda drill: drill.key)
def test_every_drill_draws_inside_its_frame(drill) -> None:  # type: ignore[no-untyped-def]
    root = ET.fromstring(render_drill_figure(drill, list(POSES.values())))
    groups = root.findall(f"{SVG}g")
    assert len(groups) == len(drill.figure)
    assert drill.name in root.attrib["aria-label"]
    for group in groups:
        for line in group.findall(f"{SVG}polyline"):
            points = [tuple(map(float, pair.split(","))) for pair in line.attrib["points"].split()]
            assert all(0 <= x <= STEP_PX and 0 <= y <= HEIGHT_PX for x, y in points)
        assert "".join(group.itertext()).strip()


def test_left_handers_see_the_mirror_image() -> None:
    for drill in find_drills():
        first, second = (render_drill_figure(drill, list(POSES.values()), way) for way in (False, True))
        for one, other in zip(ET.fromstring(first), ET.fromstring(second), strict=True):
            for line, mirrored in zip(one.iter(f"{SVG}polyline"), other.iter(f"{SVG}polyline"), strict=True):
                pairs = zip(line.attrib["points"].split(), mirrored.attrib["points"].split(), strict=True)
                for (x, y), (u, v) in ((a.split(","), b.split(",")) for a, b in pairs):
                    assert float(x) + float(u) == pytest.approx(STEP_PX, abs=0.11)
                    assert y == v
        assert 'width="-' not in second
        assert 'r="-' not in second


def test_figures_bring_no_style_or_script() -> None:
    for drill in find_drills():
        text = render_drill_figure(drill, list(POSES.values()))
        assert "style=" not in text
        assert "<style" not in text
        assert "<script" not in text
