"""Corrections between the record's text and the chain's values.

`after` and `before` of an entry are JSON objects. A landmark: {"clip", "picture", "joint", "x_px", "y_px"}, or
{"clip", "picture", "joint", "as": "found"}. An instant: {"instant", "time_s"} or {"instant", "as": "found"}. A throw:
{"as": "found"}, {"as": "dropped"}, {"as": "joined", "other": 4} or {"as": "split"}.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from math import isfinite
from typing import Any

from elbowroom.core.chain.types import Change, DroppedThrow, JoinedThrow, MovedInstant, MovedLandmark, SplitThrow
from elbowroom.core.instants.types import InstantName
from elbowroom.core.landmarks.names import Joint
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import CorrectionError
from elbowroom.service.record_types import CorrectionEntry, CorrectionKind

FOUND = "found"
"""Says that what the screening found is to hold again."""
AS_FOUND = Absent(reason="As the screening found it.")
"""Stands for a change that takes an earlier one back."""
Said = Mapping[str, Any]


def name_joint(joint: Joint) -> str:
    """Return a joint in words: `right elbow`."""
    return joint.name.lower().replace("_", " ")


def read_joint(words: str) -> Joint:
    """Return the joint of words; raises `CorrectionError` where there is none."""
    try:
        return Joint[str(words).strip().upper().replace(" ", "_")]
    except KeyError as e:
        raise CorrectionError(
            f"There is no joint {words!r}: take one of {', '.join(name_joint(joint) for joint in Joint)}."
        ) from e


def read_instant(words: str) -> InstantName:
    """Return the instant of words; raises `CorrectionError` where there is none."""
    try:
        return InstantName(str(words).strip().lower())
    except ValueError as e:
        raise CorrectionError(f"There is no instant {words!r}: take one of {', '.join(InstantName)}.") from e


def read_change(kind: CorrectionKind, throw: int, after: str) -> tuple[tuple[object, ...], Change | Absent]:
    """Return what a correction is about, and the change, or absent where it takes an earlier one back.

    Raises `CorrectionError` where the text says no correction.
    """
    try:
        said: Said = json.loads(after)
        match kind:
            case CorrectionKind.LANDMARK:
                return _read_landmark(throw, said)
            case CorrectionKind.INSTANT:
                return _read_instant(throw, said)
            case CorrectionKind.THROW:
                return ("throw", throw), _read_throw(throw, said)
    except (ValueError, KeyError, TypeError) as e:
        raise CorrectionError("The correction cannot be read: make it again on the page of the review.") from e


def _read_landmark(throw: int, said: Said) -> tuple[tuple[object, ...], Change | Absent]:
    joint, clip, picture = read_joint(said["joint"]), int(said["clip"]), int(said["picture"])
    about = ("landmark", throw, clip, picture, joint)
    if said.get("as") == FOUND:
        return about, AS_FOUND
    place = _read_number(said["x_px"]), _read_number(said["y_px"])
    return about, MovedLandmark(throw=throw, clip=clip, picture=picture, joint=joint, place_px=place)


def _read_instant(throw: int, said: Said) -> tuple[tuple[object, ...], Change | Absent]:
    instant = read_instant(said["instant"])
    about = ("instant", throw, instant)
    if said.get("as") == FOUND:
        return about, AS_FOUND
    return about, MovedInstant(throw=throw, instant=instant, time_s=_read_number(said["time_s"]))


def _read_throw(throw: int, said: Said) -> Change | Absent:
    act = str(said["as"])
    if act == "joined":
        return JoinedThrow(throw=throw, other=int(said["other"]))
    changes: dict[str, Change | Absent] = {
        "dropped": DroppedThrow(throw=throw),
        "split": SplitThrow(throw=throw),
        FOUND: AS_FOUND,
    }
    return changes[act]


def _read_number(value: Any) -> float:
    number = float(value)
    if not isfinite(number):
        raise ValueError("not a finite number")
    return number


def list_changes(entries: Sequence[CorrectionEntry]) -> tuple[Change, ...]:
    """Return the changes in force: of several on one thing the last holds."""
    return tuple(change for _, change in _find_last(entries).values() if not isinstance(change, Absent))


def list_versions_in_force(entries: Sequence[CorrectionEntry]) -> frozenset[int]:
    """Return the versions of the corrections that still hold."""
    return frozenset(version for version, change in _find_last(entries).values() if not isinstance(change, Absent))


def _find_last(entries: Sequence[CorrectionEntry]) -> dict[tuple[object, ...], tuple[int, Change | Absent]]:
    last: dict[tuple[object, ...], tuple[int, Change | Absent]] = {}
    for entry in sorted(entries, key=lambda entry: entry.version):
        about, change = read_change(entry.kind, entry.throw_number, entry.after)
        last.pop(about, None)
        last[about] = entry.version, change
    return last


def describe_change(kind: CorrectionKind, throw: int, after: str) -> str:
    """Return a correction in words: `right elbow moved in picture 412 of clip 1`."""
    about, change = read_change(kind, throw, after)
    match change:
        case MovedLandmark():
            place = f"{change.place_px[0]:.0f}, {change.place_px[1]:.0f}"
            return f"{name_joint(change.joint)} placed at {place} in picture {change.picture} of clip {change.clip + 1}"
        case MovedInstant():
            return f"{change.instant} moved to {change.time_s:.4f} s"
        case DroppedThrow():
            return "throw dropped"
        case JoinedThrow():
            return f"throw joined with throw {change.other}"
        case SplitThrow():
            return "throw split, a throw a clip"
        case Absent():
            subject = name_joint(about[-1]) if isinstance(about[-1], Joint) else str(about[-1])
            return f"{'throw' if about[0] == 'throw' else subject} put back as it was found"
