"""Names of the body points: the 33 landmarks of the detector and the joint centres that the product measures with."""

from __future__ import annotations

from enum import IntEnum, StrEnum


class Side(StrEnum):
    """A side of the athlete's own body."""

    LEFT = "left"
    RIGHT = "right"


OPPOSITE: dict[Side, Side] = {Side.LEFT: Side.RIGHT, Side.RIGHT: Side.LEFT}
"""The other side of each."""


class Landmark(IntEnum):
    """The detector's landmarks, in its order; left and right are the athlete's own."""

    NOSE = 0
    LEFT_EYE_INNER = 1
    LEFT_EYE = 2
    LEFT_EYE_OUTER = 3
    RIGHT_EYE_INNER = 4
    RIGHT_EYE = 5
    RIGHT_EYE_OUTER = 6
    LEFT_EAR = 7
    RIGHT_EAR = 8
    MOUTH_LEFT = 9
    MOUTH_RIGHT = 10
    LEFT_SHOULDER = 11
    RIGHT_SHOULDER = 12
    LEFT_ELBOW = 13
    RIGHT_ELBOW = 14
    LEFT_WRIST = 15
    RIGHT_WRIST = 16
    LEFT_PINKY = 17
    RIGHT_PINKY = 18
    LEFT_INDEX = 19
    RIGHT_INDEX = 20
    LEFT_THUMB = 21
    RIGHT_THUMB = 22
    LEFT_HIP = 23
    RIGHT_HIP = 24
    LEFT_KNEE = 25
    RIGHT_KNEE = 26
    LEFT_ANKLE = 27
    RIGHT_ANKLE = 28
    LEFT_HEEL = 29
    RIGHT_HEEL = 30
    LEFT_TOE = 31
    RIGHT_TOE = 32


class Joint(IntEnum):
    """The body points that are reconstructed; for a left-hander RIGHT means the throwing side after mirroring."""

    HEAD = 0
    RIGHT_SHOULDER = 1
    RIGHT_ELBOW = 2
    RIGHT_WRIST = 3
    RIGHT_HAND = 4
    LEFT_SHOULDER = 5
    LEFT_ELBOW = 6
    LEFT_WRIST = 7
    LEFT_HAND = 8
    RIGHT_HIP = 9
    RIGHT_KNEE = 10
    RIGHT_ANKLE = 11
    RIGHT_HEEL = 12
    RIGHT_TOE = 13
    LEFT_HIP = 14
    LEFT_KNEE = 15
    LEFT_ANKLE = 16
    LEFT_HEEL = 17
    LEFT_TOE = 18


JOINTS = len(Joint)
"""Number of reconstructed points."""

JOINT_LANDMARKS: dict[Joint, tuple[Landmark, ...]] = {
    Joint.HEAD: (Landmark.LEFT_EAR, Landmark.RIGHT_EAR),
    Joint.RIGHT_SHOULDER: (Landmark.RIGHT_SHOULDER,),
    Joint.RIGHT_ELBOW: (Landmark.RIGHT_ELBOW,),
    Joint.RIGHT_WRIST: (Landmark.RIGHT_WRIST,),
    Joint.RIGHT_HAND: (Landmark.RIGHT_INDEX, Landmark.RIGHT_PINKY),
    Joint.LEFT_SHOULDER: (Landmark.LEFT_SHOULDER,),
    Joint.LEFT_ELBOW: (Landmark.LEFT_ELBOW,),
    Joint.LEFT_WRIST: (Landmark.LEFT_WRIST,),
    Joint.LEFT_HAND: (Landmark.LEFT_INDEX, Landmark.LEFT_PINKY),
    Joint.RIGHT_HIP: (Landmark.RIGHT_HIP,),
    Joint.RIGHT_KNEE: (Landmark.RIGHT_KNEE,),
    Joint.RIGHT_ANKLE: (Landmark.RIGHT_ANKLE,),
    Joint.RIGHT_HEEL: (Landmark.RIGHT_HEEL,),
    Joint.RIGHT_TOE: (Landmark.RIGHT_TOE,),
    Joint.LEFT_HIP: (Landmark.LEFT_HIP,),
    Joint.LEFT_KNEE: (Landmark.LEFT_KNEE,),
    Joint.LEFT_ANKLE: (Landmark.LEFT_ANKLE,),
    Joint.LEFT_HEEL: (Landmark.LEFT_HEEL,),
    Joint.LEFT_TOE: (Landmark.LEFT_TOE,),
}
"""Landmarks whose mean stands for each joint before the standing offset is taken off; HEAD is mid-ear, HAND
mid-knuckle."""

BONES: tuple[tuple[Joint, Joint], ...] = (
    (Joint.RIGHT_SHOULDER, Joint.RIGHT_ELBOW),
    (Joint.RIGHT_ELBOW, Joint.RIGHT_WRIST),
    (Joint.RIGHT_WRIST, Joint.RIGHT_HAND),
    (Joint.LEFT_SHOULDER, Joint.LEFT_ELBOW),
    (Joint.LEFT_ELBOW, Joint.LEFT_WRIST),
    (Joint.LEFT_WRIST, Joint.LEFT_HAND),
    (Joint.RIGHT_HIP, Joint.RIGHT_KNEE),
    (Joint.RIGHT_KNEE, Joint.RIGHT_ANKLE),
    (Joint.RIGHT_ANKLE, Joint.RIGHT_HEEL),
    (Joint.RIGHT_ANKLE, Joint.RIGHT_TOE),
    (Joint.RIGHT_HEEL, Joint.RIGHT_TOE),
    (Joint.LEFT_HIP, Joint.LEFT_KNEE),
    (Joint.LEFT_KNEE, Joint.LEFT_ANKLE),
    (Joint.LEFT_ANKLE, Joint.LEFT_HEEL),
    (Joint.LEFT_ANKLE, Joint.LEFT_TOE),
    (Joint.LEFT_HEEL, Joint.LEFT_TOE),
    (Joint.LEFT_HIP, Joint.RIGHT_HIP),
)
"""Pairs of joints whose distance stays the same through a throw."""

OTHER_SIDE: dict[Joint, Joint] = {
    joint: Joint[joint.name.replace("RIGHT", "LEFT") if "RIGHT" in joint.name else joint.name.replace("LEFT", "RIGHT")]
    for joint in Joint
}
"""The joint of the other side; HEAD is its own."""
