"""An invented screening report: no number in it was measured."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import pi
from typing import Any

import numpy as np

from elbowroom.adapters.report.skeleton import PictureFacts, render_key_picture
from elbowroom.adapters.tables.bands import read_published_bands
from elbowroom.adapters.tables.tolerances import find_tolerances_digest, read_tolerances
from elbowroom.core.cameras.types import View
from elbowroom.core.findings.choose import choose_bands, choose_tolerance
from elbowroom.core.findings.judge import judge_measure
from elbowroom.core.findings.order import order_findings
from elbowroom.core.findings.report import (
    AthleteCard,
    ClipCard,
    Curve,
    CurveLine,
    KeyPicture,
    MadeWith,
    MethodPart,
    Missing,
    MotionTrack,
    ScreeningReport,
    SetUpCard,
    ThrowCard,
    ThrowingHand,
)
from elbowroom.core.findings.types import DecisionRule, Finding
from elbowroom.core.instants.types import InstantName, Instants
from elbowroom.core.landmarks.names import JOINTS, Joint
from elbowroom.core.loads.types import Sex
from elbowroom.core.measures.registry import MEASURES
from elbowroom.core.measures.types import MeasureDefinition, ThrowKind
from elbowroom.core.quantities.budget import build_uncertain
from elbowroom.core.quantities.types import Absent, Obtained, Source, Uncertain
from elbowroom.service import method
from tests.makers.loads import make_loads

ATHLETE = AthleteCard(
    name="Player 07",
    age_years=13.4,
    height_m=1.62,
    hand=ThrowingHand.RIGHT,
    kind=ThrowKind.MOUND_PITCH,
    sex=Sex.MALE,
    mass_kg=51.0,
)
TYPICAL = {"deg": 40.0, "m": 0.5, "s": 0.3, "deg/s": 900.0, "m/s": 20.0, "%": 84.0, "1": 1.0}
OWN = {"deg": 4.0, "m": 0.012, "s": 0.006, "deg/s": 60.0, "m/s": 0.8, "%": 1.5, "1": 0.05}
INVENTED = {
    "elbow_to_shoulder_line_at_foot_contact": -19.0,
    "elbow_to_shoulder_line_at_layback": -7.0,
    "ball_distance_share_at_layback": 1.12,
    "stride_offset": 0.021,
    "trunk_opening_at_foot_contact": 56.0,
    "elbow_flexion_at_layback": 72.0,
    "shoulder_abduction_at_release": 88.0,
    "stride_length_share": 78.0,
    "separation_at_foot_contact": 22.0,
    "trunk_opening_at_layback": 92.0,
    "trunk_opening_at_release": 121.0,
    "pelvis_opening_at_layback": 97.0,
    "pelvis_opening_at_release": 104.0,
    "forward_tilt_at_foot_contact": 1.0,
    "forward_tilt_at_layback": 16.0,
    "forward_tilt_at_release": 27.0,
    "time_from_lift_to_foot_contact": 0.8,
}
TOO_SLOW = Absent(
    reason="120 pictures a second are too few for the turning rates of the arm, which need 200.",
    advice="Film in slow motion at 240 pictures a second, and state the rate if the file does not.",
)
NO_FLIGHT = Absent(
    reason="Ball flight is not tracked yet; the hand speed at release is given.",
    advice="Use a radar gun for the speed of the ball.",
)
INSTANT_TIMES = {
    InstantName.LIFT: -0.82,
    InstantName.HANDS_APART: -0.46,
    InstantName.FOOT_CONTACT: 0.0,
    InstantName.LAYBACK: 0.118,
    InstantName.RELEASE: 0.151,
    InstantName.FINISH: 0.62,
}


def make_finding(definition: MeasureDefinition, generator: np.random.Generator) -> Finding:
    """Return an invented finding: four throws about an invented value, judged by the packaged tolerances."""
    row = choose_tolerance(
        read_tolerances(), definition.key, ATHLETE.age_years, ATHLETE.height_m, ThrowKind.MOUND_PITCH
    )
    throws = tuple(_make_throw(definition, generator) for _ in range(4))
    return judge_measure(definition, throws, row, DecisionRule())


def _make_throw(definition: MeasureDefinition, generator: np.random.Generator) -> Obtained:
    if definition.key in ("largest_internal_rotation_rate", "largest_elbow_extension_rate"):
        return TOO_SLOW
    if definition.key == "ball_speed":
        return NO_FLIGHT
    own = OWN[definition.unit]
    value = INVENTED.get(definition.key, TYPICAL[definition.unit]) + 0.7 * own * generator.normal()
    shares = {Source.LANDMARKS: 1.0, Source.JOINT_OFFSET: 0.4, Source.CAMERAS: 0.2, Source.TIMING: 0.3}
    parts = {source: share * own for source, share in shares.items()}
    return build_uncertain(value, definition.unit, parts)


def make_throw_card(number: int) -> ThrowCard:
    """Return an invented throw; of the third no finish was found."""
    start = 12.0 * number
    times: dict[InstantName, Obtained] = {
        name: build_uncertain(start + time * (1 + 0.01 * number), "s", {Source.TIMING: 0.003})
        for name, time in INSTANT_TIMES.items()
    }
    if number == 3:
        times[InstantName.FINISH] = Absent(
            reason="The clip ends before the trunk has bent through.",
            advice="Film from before the leg is lifted until the arm has swung through.",
        )
    return ThrowCard(
        number=number,
        clips=("open-side.mp4", "behind.mp4"),
        instants=Instants(times=times),
        notes=("Built from 2 views; landmarks and motion differ by 0.8 px (weighted mean).",) if number == 3 else (),
    )


def make_curve(key: str, words: str, low: float, high: float, throws: tuple[ThrowCard, ...]) -> Curve:
    """Return an invented curve that rises about foot contact, undefined for a stretch in the second throw."""
    lines = []
    for throw in throws:
        contact = throw.instants.find(InstantName.FOOT_CONTACT).value
        times = np.arange(-0.9, 0.65, 1 / 120)
        values = low + (high - low) / (1 + np.exp(-(times - 0.06) / 0.05)) + 3 * np.sin(times * 5 + throw.number)
        values[(times > -0.7) & (times < -0.6) & (throw.number == 2)] = np.nan
        widths = np.where(np.isnan(values), np.nan, 5 + 2 * np.cos(times * 2 * pi))
        lines.append(CurveLine(throw=throw.number, times_s=times + contact, values=values, half_widths=widths))
    return Curve(key=key, words=words, unit="deg", sign="0 straight, 90 a right angle", lines=tuple(lines))


def make_joints() -> np.ndarray:
    """Return an invented (19, 2) figure near layback, in a picture of 640 by 480 px."""
    joints = np.full((JOINTS, 2), np.nan)
    places = {
        Joint.HEAD: (330, 120), Joint.RIGHT_SHOULDER: (300, 165), Joint.LEFT_SHOULDER: (352, 172),
        Joint.RIGHT_ELBOW: (246, 180), Joint.RIGHT_WRIST: (222, 128), Joint.RIGHT_HAND: (214, 108),
        Joint.LEFT_ELBOW: (392, 204), Joint.LEFT_WRIST: (376, 240), Joint.LEFT_HAND: (370, 252),
        Joint.RIGHT_HIP: (304, 262), Joint.LEFT_HIP: (340, 264), Joint.RIGHT_KNEE: (262, 330),
        Joint.RIGHT_ANKLE: (206, 388), Joint.RIGHT_HEEL: (196, 386), Joint.RIGHT_TOE: (216, 406),
        Joint.LEFT_KNEE: (398, 318), Joint.LEFT_ANKLE: (402, 396), Joint.LEFT_HEEL: (392, 404),
        Joint.LEFT_TOE: (432, 408),
    }  # fmt: skip
    for joint, place in places.items():
        joints[joint] = place
    return joints


def make_picture(instant: InstantName, throw: int) -> KeyPicture:
    """Return a key picture of an invented figure before an invented field."""
    generator = np.random.default_rng(throw)
    rows = np.linspace(205, 120, 480)[:, None, None]
    picture = np.clip(rows * [0.92, 0.98, 1.0] + 4 * generator.normal(size=(480, 640, 1)), 0, 255).astype(np.uint8)
    picture[400:] = np.clip(picture[400:] * [0.8, 0.95, 0.6], 0, 255).astype(np.uint8)
    facts = PictureFacts(
        throw=throw,
        instant=instant,
        view=View.OPEN_SIDE,
        caption=f"Throw {throw} at {instant}, seen from the open side.",
    )
    return render_key_picture(picture, make_joints(), np.ones(JOINTS, dtype=bool), facts)


def make_motion(throw: ThrowCard) -> MotionTrack:
    """Return an invented motion: a figure that walks ahead and waves its throwing arm, 0.5 s about release."""
    times = throw.instants.find(InstantName.RELEASE).value + np.arange(-0.4, 0.1, 1 / 240)
    heights = {"HEAD": 1.5, "SHOULDER": 1.3, "ELBOW": 1.2, "WRIST": 1.1, "HAND": 1.0, "HIP": 0.9, "KNEE": 0.5}
    joints = np.zeros((len(times), JOINTS, 3))
    for joint in Joint:
        joints[:, joint, 0] = 0.8 * (times - times[0])
        joints[:, joint, 1] = 0.2 if joint.name.startswith("LEFT") else -0.2 * (joint is not Joint.HEAD)
        joints[:, joint, 2] = heights.get(joint.name.split("_")[-1], 0.05)
    joints[:, Joint.RIGHT_HAND, 0] += 0.3 * np.sin(8 * (times - times[0]))
    return MotionTrack(throw=throw.number, times_s=times, joints_m=joints, standards_m=np.full(joints.shape[:2], 0.012))


def make_set_up() -> SetUpCard:
    """Return an invented set-up of two phones."""

    def clip(name: str, view: View, digit: str) -> ClipCard:
        residual = build_uncertain(0.43, "px", {Source.CAMERAS: 0.02})
        return ClipCard(
            name=name, view=view, rate_hz=239.76, picture_count=14_400, residual_px=residual, digest=digit * 64,
            notes=("About 2 pictures were dropped in 1 places.",) if view is View.BEHIND else (),
        )  # fmt: skip

    return SetUpCard(
        how="board, seen by 2 cameras",
        clips=(clip("open-side.mp4", View.OPEN_SIDE, "a"), clip("behind.mp4", View.BEHIND, "b")),
        scale_share=build_uncertain(0.0, "%", {Source.SCALE: 0.3}),
        target_error=build_uncertain(0.0, "deg", {Source.TARGET: 0.5}),
        clock_error=build_uncertain(0.0, "s", {Source.CLOCKS: 0.0008}),
    )


def make_report(**changes: Any) -> ScreeningReport:
    """Return an invented report with every kind of content in it."""
    generator = np.random.default_rng(13)
    findings = tuple(make_finding(definition, generator) for definition in MEASURES)
    throws = tuple(make_throw_card(number) for number in (1, 2, 3, 4))
    bands = [band for item in MEASURES for band in choose_bands(read_published_bands(), item.key, ATHLETE.age_years)]
    report = ScreeningReport(
        athlete=ATHLETE,
        made_on=date(2026, 5, 16),
        set_up=make_set_up(),
        throws=throws,
        findings=findings,
        priorities=order_findings(findings),
        curves=(
            make_curve("trunk_opening", "trunk opening", -60, 118, throws),
            make_curve("pelvis_opening", "pelvis opening", -20, 102, throws),
            make_curve("elbow_flexion", "elbow flexion", 95, 25, throws),
            make_curve("side_tilt", "side tilt of the trunk", -4, 34, throws),
        ),
        pictures=tuple(
            make_picture(instant, 2) for instant in (InstantName.FOOT_CONTACT, InstantName.LAYBACK, InstantName.RELEASE)
        ),
        missing=(
            Missing(
                what="throw 5",
                absent=Absent(
                    reason="The throw is cut off: the clip starts after the throw has begun.",
                    advice="Film from two seconds before the throw to one second after it.",
                ),
            ),
        ),
        bands=tuple(bands),
        rule=DecisionRule(),
        method=(
            MethodPart(title="Clips", text=method.FILMING),
            MethodPart(title="Instants and measures", text=method.MEASURES),
        ),
        made_with=(
            MadeWith(name="elbowroom", version="0.1.0"),
            MadeWith(name="tolerances, tolerances.csv", version=find_tolerances_digest()),
        ),
        loads=make_loads({throw.number: throw.instants.find(InstantName.FOOT_CONTACT).value for throw in throws}),
        motions=tuple(make_motion(throw) for throw in throws),
        cautions=("One throw is too short to show a drift.",),
    )
    return replace(report, **changes)


def find_measured(report: ScreeningReport) -> list[Uncertain]:
    """Return the typical values that were measured."""
    return [item.typical for item in report.findings if isinstance(item.typical, Uncertain)]
