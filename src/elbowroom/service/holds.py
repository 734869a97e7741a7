"""Use cases: whether a warning sign stops an athlete, and its release by a clinician with name and reason.

`check_not_held` is the one gate: whatever tests an athlete's throwing or plans it calls it first.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from datetime import date

from elbowroom.core.plan.intake import Intake
from elbowroom.core.plan.warnings import (
    Clear,
    Hold,
    HoldReason,
    Release,
    Standing,
    Urgency,
    WarningSign,
    apply_releases,
    judge_intake,
    phrase_hold,
)
from elbowroom.core.quantities.types import Absent
from elbowroom.errors import AccessError, HoldError, IntakeError
from elbowroom.service.intake_types import IntakeEntry, ReleaseEntry
from elbowroom.service.record_tools import RecordTools, get_athlete, list_people, note_act
from elbowroom.service.record_types import Act, Role
from elbowroom.service.record_values import Stamp

SHORTEST_REASON = 8
"""Fewest letters of a reason for a release; a word alone says nothing."""
NO_INTAKE = Absent(
    reason="No intake was taken, so nobody knows of warning signs.",
    advice="Ask the questions: `elbowroom record intake`.",
)


def check_not_held(tools: RecordTools, athlete_id: str, what: str, on: date) -> None:
    """Raise `HoldError` where a warning sign stops an athlete on a day; `what` is what was asked for, in the plural.

    Holds by the newest intake taken on that day or before; where none was taken, nothing is held.
    """
    standing = find_standing(tools, athlete_id, on)
    if isinstance(standing, Hold):
        raise HoldError(phrase_hold(standing, what))


def find_standing(
    tools: RecordTools, athlete_id: str, on: date, signs: Sequence[WarningSign] = ()
) -> Standing | Absent:
    """Find whether an athlete is clear, on hold or released on a day, or that no intake was taken.

    What holds was judged when the intake was recorded, by the table of that day; `signs` only give it back its words.
    """
    entry = find_intake_entry(tools, athlete_id, on)
    if isinstance(entry, Absent):
        return entry
    known = {sign.key: sign for sign in signs}
    reasons = tuple(
        HoldReason(sign=known.get(key, _build_bare_sign(key)), because=because)
        for key, because in json.loads(entry.signs)
    )
    if not reasons:
        return Clear(reason="All warning signs were asked for and none shows.")
    return apply_releases(Hold(reasons=reasons), list_releases(tools, entry))


def list_stops(tools: RecordTools, athlete_ids: Iterable[str], on: date) -> dict[str, str]:
    """Return what stands in the way of throwing on a day, in two or three words, for those athletes who have it."""
    words = {Hold: "on hold", Absent: "no intake yet"}
    found = {athlete_id: find_standing(tools, athlete_id, on) for athlete_id in athlete_ids}
    return {athlete_id: words[type(item)] for athlete_id, item in found.items() if type(item) in words}


def find_intake_entry(tools: RecordTools, athlete_id: str, on: date) -> IntakeEntry | Absent:
    """Find the newest intake that was taken on a day or before."""
    get_athlete(tools, athlete_id)
    entries = tools.entries.find_entries(IntakeEntry, athlete_id=athlete_id)
    taken = [entry for entry in entries if entry.taken_on <= on]
    return max(taken, key=lambda entry: (entry.taken_on, entry.version)) if taken else NO_INTAKE


def list_releases(tools: RecordTools, entry: IntakeEntry) -> tuple[Release, ...]:
    """Return the releases of one intake's signs, oldest first."""
    people = list_people(tools)
    found = tools.entries.find_entries(ReleaseEntry, intake_id=entry.id)
    return tuple(
        Release(
            signs=tuple(json.loads(item.signs)),
            by=people[item.recorded_by].name,
            on=item.released_on,
            reason=item.reason,
        )
        for item in found
    )


def release_hold(
    tools: RecordTools, athlete_id: str, keys: Sequence[str], reason: str, stamp: Stamp
) -> Standing | Absent:
    """Release warning signs of the newest intake, all that hold where no key is given, and return the new standing.

    Only a clinician may, and has to say why. Raises `AccessError` or `IntakeError`.
    """
    person = list_people(tools).get(stamp.by)
    if person is None or person.role is not Role.CLINICIAN:
        raise AccessError("Only a clinician may release a warning sign: let a clinician do it under their own name.")
    today = stamp.at.date()
    entry, standing = find_intake_entry(tools, athlete_id, today), find_standing(tools, athlete_id, today)
    if isinstance(entry, Absent) or not isinstance(standing, Hold):
        raise IntakeError("No warning sign holds for this athlete, so there is none to release.")
    holding = [item.sign.key for item in standing.reasons]
    released = _choose_released(holding, keys)
    if len(reason.strip()) < SHORTEST_REASON:
        raise IntakeError("The release has no reason: say in a sentence what was examined and why throwing is allowed.")
    release = ReleaseEntry(
        id=tools.make_id(),
        athlete_id=athlete_id,
        version=1 + len(tools.entries.find_entries(ReleaseEntry, athlete_id=athlete_id)),
        intake_id=entry.id,
        signs=json.dumps(released),
        released_on=today,
        reason=reason.strip(),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    act = note_act(tools, stamp, Act.ADDED, athlete_id, f"release of {', '.join(released)}")
    tools.entries.add_entries([release, act])
    return find_standing(tools, athlete_id, today)


def note_look(tools: RecordTools, athlete_id: str, what: str, stamp: Stamp) -> None:
    """Note in the trail that somebody looked at something of an athlete; `what` holds no name of an athlete."""
    get_athlete(tools, athlete_id)
    tools.entries.add_entries([note_act(tools, stamp, Act.LOOKED, athlete_id, what)])


def describe_signs(intake: Intake, signs: Sequence[WarningSign]) -> str:
    """Return the signs that hold by an intake as the record keeps them: a JSON list of key and clause."""
    standing = judge_intake(intake, signs)
    reasons = standing.reasons if isinstance(standing, Hold) else ()
    return json.dumps([[item.sign.key, item.because] for item in reasons], ensure_ascii=False)


def _choose_released(holding: Sequence[str], keys: Sequence[str]) -> list[str]:
    strange = [key for key in keys if key not in holding]
    if strange:
        raise IntakeError(f"{', '.join(strange)} does not hold here: release some of {', '.join(holding)}.")
    return [key for key in holding if key in (keys or holding)]


def _build_bare_sign(key: str) -> WarningSign:
    """Return a sign of which only the key is known."""
    return WarningSign(
        key=key,
        question="",
        places=(),
        moments=(),
        sides=(),
        least_worst=0,
        least_days=0,
        ages_years=(0, 120),
        urgency=Urgency.BEFORE_THROWING,
        clinician="",
        family="Let it be examined before the next throw.",
        source="the intake of that day",
        mark="seen",
        version="",
    )
