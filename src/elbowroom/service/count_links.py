"""Use cases: links by which a coach or parent sends counts without an account.

Whoever has the link sees the name that the clinic chose, the counts and when the athlete may pitch again, and may add
counts; nothing of health. The code has 256 bits, is kept as its SHA-256 only, and expires.
"""

from __future__ import annotations

import hashlib
from datetime import datetime, timedelta

from elbowroom.core.quantities.types import Absent
from elbowroom.errors import AccessError, PlanError
from elbowroom.service.record_tools import RecordTools, get_athlete, note_act
from elbowroom.service.record_types import Act
from elbowroom.service.record_values import Stamp
from elbowroom.service.week_types import CountLink, CountLinkEnd

LONGEST_DAYS = 200
"""Longest life of a link: a season."""
NO_LINK = Absent(
    reason="This link does not work: it has expired, was ended, or was not copied whole.",
    advice="Ask the clinic for a new one.",
)


def make_link(
    record: RecordTools, athlete_id: str, code: str, words: tuple[str, str], days: int, stamp: Stamp
) -> CountLink:
    """Make a link for a new secret code; `words` are the name that it shows and who gets it. Raises `PlanError`."""
    shown_name, holder = (text.strip() for text in words)
    get_athlete(record, athlete_id)
    if not shown_name or not holder:
        raise PlanError("Say what name the page shows and who gets the link.")
    if not 1 <= days <= LONGEST_DAYS:
        raise PlanError(f"A link lives from 1 to {LONGEST_DAYS} days: give a number between.")
    link = CountLink(
        id=record.make_id(),
        athlete_id=athlete_id,
        digest=digest_code(code),
        shown_name=shown_name,
        holder=holder,
        ends_at=stamp.at + timedelta(days=days),
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    record.entries.add_entries([link, note_act(record, stamp, Act.ADDED, athlete_id, "link for counts")])
    return link


def find_link(record: RecordTools, code: str, now: datetime) -> CountLink | Absent:
    """Find the link of a code that still works."""
    found = record.entries.find_entries(CountLink, digest=digest_code(code))
    if not found or now >= found[0].ends_at or _is_ended(record, found[0]):
        return NO_LINK
    return found[0]


def list_links(record: RecordTools, athlete_id: str, now: datetime) -> tuple[CountLink, ...]:
    """Return the links of an athlete that still work, newest first."""
    links = record.entries.find_entries(CountLink, athlete_id=athlete_id)
    working = [link for link in links if now < link.ends_at and not _is_ended(record, link)]
    return tuple(sorted(working, key=lambda link: link.recorded_at, reverse=True))


def close_link(record: RecordTools, link_id: str, stamp: Stamp) -> None:
    """End a link before its day; raises `AccessError` where it does not work any more."""
    found = record.entries.find_entries(CountLink, id=link_id)
    if not found or _is_ended(record, found[0]):
        raise AccessError("This link has ended already: load the page again.")
    end = CountLinkEnd(
        id=record.make_id(),
        athlete_id=found[0].athlete_id,
        count_link_id=link_id,
        recorded_at=stamp.at,
        recorded_by=stamp.by,
    )
    record.entries.add_entries([end, note_act(record, stamp, Act.CORRECTED, found[0].athlete_id, "link ended")])


def digest_code(code: str) -> str:
    """Return the SHA-256 of a link's code, in hexadecimal."""
    return hashlib.sha256(code.encode()).hexdigest()


def _is_ended(record: RecordTools, link: CountLink) -> bool:
    return bool(record.entries.find_entries(CountLinkEnd, count_link_id=link.id))
