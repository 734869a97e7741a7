"""Measures in words for a reader of twelve: what was seen, and what to try.

Nothing here promises anything: a cue says what the limits of the tolerance table ask for. That these cues are the
usual ones is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from elbowroom.service.paper_values import BodyPart


@dataclass(frozen=True, kw_only=True)
class PlainWords:
    """What to say of one measure."""

    title: str
    """Two or three words."""
    part: BodyPart
    """What a drawing makes stand out."""
    good: str
    """Said when the measure keeps its limits."""
    low: str
    """Said when it is below its lower limit."""
    low_cue: str
    """What to try then."""
    high: str
    """Said when it is above its upper limit."""
    high_cue: str
    """What to try then."""


WHEN = {
    "foot_contact": "when your front foot lands",
    "layback": "when your arm is laid back",
    "release": "when you let go of the ball",
}
"""How a moment is called on the family page."""

STEMS = {
    "elbow_to_shoulder_line": PlainWords(
        title="Elbow height",
        part=BodyPart.ARM,
        good="Your elbow is up with your shoulders {when}.",
        low="Your elbow is low {when}.",
        low_cue="Lift your elbow up to the line of your shoulders.",
        high="Your elbow is high {when}.",
        high_cue="Let your elbow come down to the line of your shoulders.",
    ),
    "ball_distance_share": PlainWords(
        title="Ball close to you",
        part=BodyPart.ARM,
        good="You keep the ball close to your head {when}.",
        low="The ball is very close to your head {when}.",
        low_cue="Give your arm a little more room.",
        high="The ball is far from your head {when}.",
        high_cue="Bend your elbow more. Keep the ball close.",
    ),
    "elbow_flexion": PlainWords(
        title="Elbow bend",
        part=BodyPart.ARM,
        good="Your elbow has a good bend {when}.",
        low="Your arm is quite straight {when}.",
        low_cue="Bend your elbow more, like the corner of a box.",
        high="Your elbow is bent a lot {when}.",
        high_cue="Let your elbow open a little.",
    ),
    "shoulder_abduction": PlainWords(
        title="Upper arm",
        part=BodyPart.ARM,
        good="Your upper arm is at a good height {when}.",
        low="Your upper arm hangs low {when}.",
        low_cue="Lift your upper arm to your shoulder.",
        high="Your upper arm is very high {when}.",
        high_cue="Let your upper arm come down to your shoulder.",
    ),
    "lead_knee_flexion": PlainWords(
        title="Front knee",
        part=BodyPart.FRONT_LEG,
        good="Your front knee has a good bend {when}.",
        low="Your front leg is quite straight {when}.",
        low_cue="Land on a soft knee.",
        high="Your front knee bends a lot {when}.",
        high_cue="Land strong. Stand tall on your front leg.",
    ),
    "trunk_opening": PlainWords(
        title="Chest turn",
        part=BodyPart.CHEST,
        good="Your chest turns at the right time. We looked {when}.",
        low="Your chest has not turned far enough {when}.",
        low_cue="Turn your chest to the target a bit sooner.",
        high="Your chest has turned too far {when}.",
        high_cue="Land first. Then turn your chest.",
    ),
    "pelvis_opening": PlainWords(
        title="Hip turn",
        part=BodyPart.HIPS,
        good="Your hips turn at the right time. We looked {when}.",
        low="Your hips have not turned far enough {when}.",
        low_cue="Turn your hips to the target a bit sooner.",
        high="Your hips have turned too far {when}.",
        high_cue="Wait a bit. Then turn your hips.",
    ),
    "separation": PlainWords(
        title="Hips, then chest",
        part=BodyPart.CHEST,
        good="Your hips turn first, and your chest comes next.",
        low="Your hips and your chest turn at the same time.",
        low_cue="Turn your hips first. Then let your chest come.",
        high="Your chest comes a long way after your hips.",
        high_cue="Let your chest come a bit sooner.",
    ),
    "forward_tilt": PlainWords(
        title="Lean",
        part=BodyPart.CHEST,
        good="You lean just right {when}.",
        low="You lean back {when}.",
        low_cue="Bring your chest out to your front foot.",
        high="You lean far to the front {when}.",
        high_cue="Stay a bit taller.",
    ),
    "stride_offset": PlainWords(
        title="Front foot",
        part=BodyPart.FRONT_LEG,
        good="Your front foot lands on the line to the target.",
        low="Your front foot lands out to your glove side.",
        low_cue="Step straight at the target.",
        high="Your front foot lands across the line.",
        high_cue="Step straight at the target.",
    ),
    "stride_length_share": PlainWords(
        title="Length of step",
        part=BodyPart.FRONT_LEG,
        good="Your step has a good length.",
        low="Your step is short.",
        low_cue="Push off. Reach out with your front foot.",
        high="Your step is very long.",
        high_cue="Take a step that keeps you in balance.",
    ),
    "time_from_lift_to_foot_contact": PlainWords(
        title="Rhythm",
        part=BodyPart.WHOLE,
        good="Your throw has a good rhythm.",
        low="You rush from leg lift to landing.",
        low_cue="Take your time. Start slow.",
        high="You take long from leg lift to landing.",
        high_cue="Keep moving to the target.",
    ),
}
"""Plain words by the part of a measure's key before its instant."""

SIGNS = (
    "Your arm hurts.",
    "Your hand feels numb or tingles.",
    "Your elbow or shoulder locks, or swells up.",
    "You felt a pop.",
    "You can not move your arm as far as before.",
)
"""Warning signs (design, section 5) in plain words."""
SIGNS_TITLE = "Stop throwing if"
SIGNS_ACT = "Then tell a grown-up, and have your arm looked at by a doctor."
CAUTIONS = (
    "This sheet helps you and your clinician to look at your throw. It does not say if you are hurt or not.",
    "What your clinician says comes first, and so do the rules where you play.",
)
"""What the family page is and is not, in plain words."""


def find_plain_words(key: str) -> PlainWords | None:
    """Find the plain words of a measure; None where there are none, as for a measure that a clinic added."""
    stem, _, _ = key.partition("_at_")
    return STEMS.get(stem)


def find_when(key: str) -> str:
    """Return how the moment of a measure is called, or an empty text where it has none."""
    return WHEN.get(key.partition("_at_")[2], "")
