"""The review as JSON for its scripts; lengths in metres, times in seconds, places in pixels."""

from __future__ import annotations

from typing import Any

from elbowroom.core.findings.report import Curve
from elbowroom.core.landmarks.names import BONES, Joint
from elbowroom.core.quantities.types import Absent, Obtained
from elbowroom.service.correction_values import VisitChange
from elbowroom.service.correction_words import name_joint
from elbowroom.service.review_values import MemberView, ReviewView, ThrowView


def write_review(view: ReviewView) -> dict[str, Any]:
    """Return what the page needs once."""
    return {
        "visit": view.visit_id,
        "version": view.version,
        "is_current": view.is_current,
        "clips": [vars(clip) for clip in view.clips],
        "throws": [throw.number for throw in view.throws],
        "joints": [name_joint(joint) for joint in Joint],
        "bones": [[int(first), int(second)] for first, second in BONES],
    }


def write_throw(view: ReviewView, throw: ThrowView) -> dict[str, Any]:
    """Return one throw with its joints in every picture, in space, and its curves."""
    return {
        "number": throw.number,
        "version": view.version,
        "instants": [
            {"name": item.name, "time": write_obtained(item.time), "by_hand": item.is_by_hand}
            for item in throw.instants
        ],
        "members": [write_member(member) for member in throw.members],
        "motion": {
            "times_s": [round(time, 5) for time in throw.motion.times_s.tolist()],
            "joints_m": throw.motion.joints_m.round(4).tolist(),
        },
        "curves": [curve for item in view.report.curves for curve in write_curve(item, throw.number)],
    }


def write_member(member: MemberView) -> dict[str, Any]:
    """Return one clip's view of a throw."""
    return {
        "clip": member.clip,
        "first_picture": member.first_picture,
        "times_s": [round(time, 6) for time in member.times_s.tolist()],
        "joints_px": member.joints_px.round(1).tolist(),
        "placed": [list(item) for item in member.placed],
    }


def write_curve(curve: Curve, number: int) -> list[dict[str, Any]]:
    """Return one throw's line of a curve, in a list of none or one; unknown values are null."""
    return [
        {
            "key": curve.key,
            "words": curve.words,
            "unit": "" if curve.unit == "1" else curve.unit,
            "sign": curve.sign,
            "times_s": [round(time, 5) for time in line.times_s.tolist()],
            "values": write_numbers(line.values.tolist()),
            "half_widths": write_numbers(line.half_widths.tolist()),
        }
        for line in curve.lines
        if line.throw == number
    ]


def write_numbers(numbers: list[float]) -> list[float | None]:
    """Return numbers with null for what is not known."""
    return [round(number, 3) if number == number else None for number in numbers]


def write_obtained(quantity: Obtained) -> dict[str, Any]:
    """Return a value with half of its 95 % interval, or why there is none."""
    if isinstance(quantity, Absent):
        return {"absent": quantity.reason, "advice": quantity.advice}
    return {"value": quantity.value, "half_width": quantity.half_width}


def write_change(change: VisitChange) -> dict[str, Any]:
    """Return before and after of every measure that changed."""
    return {
        "is_first": change.is_first,
        "draws": change.draws,
        "unchanged": change.unchanged,
        "measures": [
            {
                "measure": item.measure,
                "words": item.words,
                "before": write_obtained(item.before),
                "after": write_obtained(item.after),
                "words_before": item.words_before,
                "words_after": item.words_after,
                "verdict_before": item.verdict_before,
                "verdict_after": item.verdict_after,
                "is_verdict_changed": item.is_verdict_changed,
            }
            for item in change.measures
        ],
    }
