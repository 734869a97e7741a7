"""Who is logged in. Sessions live in memory: when the server ends, everybody logs in again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from threading import Lock

from elbowroom.core.quantities.types import Absent

LONGEST_SESSION = timedelta(hours=12)
"""A session ends after this long, however busy it is."""
NO_SESSION = Absent(reason="Nobody is logged in.", advice="Log in.")


@dataclass(frozen=True, kw_only=True)
class Session:
    """One person logged in from one browser."""

    person_id: str
    """Who is logged in."""
    token: str
    """What every request that changes something has to repeat."""
    begun_at: datetime
    """When it began, UTC."""
    seen_at: datetime
    """When the person last did something, UTC."""
    is_locked: bool
    """Whether the password has to be given again."""
    must_change_password: bool
    """Whether somebody else set the password, so that the person has to choose one first."""


class Sessions:
    """The sessions by their ids, which only the browsers know."""

    def __init__(self, make_secret: Callable[[], str], lock_after_s: float) -> None:
        """`lock_after_s` is how long nobody may do anything before a session locks."""
        self._make_secret, self._lock_after = make_secret, timedelta(seconds=lock_after_s)
        self._sessions: dict[str, Session] = {}
        self._guard = Lock()
        self.log_in_guard = Lock()
        """Held while a password is tried: one at a time, so that many at once cannot slip past the waiting time."""

    def begin_session(self, person_id: str, now: datetime, *, must_change_password: bool) -> str:
        """Begin a session and return its id."""
        session_id = self._make_secret()
        session = Session(
            person_id=person_id,
            token=self._make_secret(),
            begun_at=now,
            seen_at=now,
            is_locked=False,
            must_change_password=must_change_password,
        )
        with self._guard:
            self._sessions = {key: one for key, one in self._sessions.items() if now - one.begun_at < LONGEST_SESSION}
            self._sessions[session_id] = session
        return session_id

    def find_session(self, session_id: str, now: datetime, *, is_touched: bool) -> Session | Absent:
        """Find a session, locked where nobody did anything for too long; `is_touched` where somebody does now."""
        with self._guard:
            session = self._sessions.get(session_id)
            if session is None or now - session.begun_at >= LONGEST_SESSION:
                self._sessions.pop(session_id, None)
                return NO_SESSION
            if now - session.seen_at >= self._lock_after:
                session = replace(session, is_locked=True)
            if is_touched and not session.is_locked:
                session = replace(session, seen_at=now)
            self._sessions[session_id] = session
            return session

    def lock_session(self, session_id: str) -> None:
        """Lock a session until the password is given again."""
        with self._guard:
            if session_id in self._sessions:
                self._sessions[session_id] = replace(self._sessions[session_id], is_locked=True)

    def close_session(self, session_id: str) -> None:
        """End a session."""
        with self._guard:
            self._sessions.pop(session_id, None)

    def close_all(self, person_id: str) -> None:
        """End every session of a person, as when the password or the role changed."""
        with self._guard:
            self._sessions = {key: one for key, one in self._sessions.items() if one.person_id != person_id}
