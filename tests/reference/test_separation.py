"""Sign and sum rule of separation against a published table.

Sides: Kageyama, Sugiyama, Kanehisa and Maeda 2015, J Sports Sci Med 14:246-255, tables 2-4, read in the source:
upper torso minus pelvis = trunk twist in all six cells; design: separation has the opposite sign of trunk twist.
"""

from __future__ import annotations

import numpy as np
import pytest

from elbowroom.core.landmarks.names import Joint
from elbowroom.core.measures.trunk import measure_pelvis_opening, measure_separation, measure_trunk_opening

ROWS = [
    ("adolescent, foot contact", -32.1, 16.7, -48.8),
    ("adolescent, layback", 82.7, 93.8, -11.1),
    ("adolescent, release", 118.0, 100.9, 17.1),
    ("collegiate, foot contact", -33.4, 14.8, -48.2),
    ("collegiate, layback", 79.8, 90.2, -10.4),
    ("collegiate, release", 122.5, 101.9, 20.6),
]


@pytest.mark.parametrize(("trunk_deg", "pelvis_deg", "twist_deg"), [row[1:] for row in ROWS], ids=[r[0] for r in ROWS])
def test_separation_is_minus_trunk_twist(trunk_deg: float, pelvis_deg: float, twist_deg: float) -> None:
    joints = np.zeros((1, len(Joint), 3))
    for side, sign in (("LEFT", 0.5), ("RIGHT", -0.5)):
        for part, opening, height in (("SHOULDER", trunk_deg, 1.4), ("HIP", pelvis_deg, 0.9)):
            turn = np.radians(opening)
            joints[0, Joint[f"{side}_{part}"]] = [sign * np.cos(turn), sign * np.sin(turn), height]
    assert measure_trunk_opening(joints)[0] == pytest.approx(trunk_deg)
    assert measure_pelvis_opening(joints)[0] == pytest.approx(pelvis_deg)
    assert measure_separation(joints)[0] == pytest.approx(-twist_deg, abs=0.05)
