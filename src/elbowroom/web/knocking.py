"""How often a door without a lock may be knocked at: counts of attempts by key, kept in memory only."""

from __future__ import annotations

from datetime import datetime, timedelta
from threading import Lock

from fastapi import FastAPI, Request


class Knocks:
    """Attempts by key within a span of time."""

    def __init__(self, most: int, within: timedelta) -> None:
        """`most` attempts of a key are free `within` a span; what is older is forgotten."""
        self._most, self._within = most, within
        self._times: dict[str, list[datetime]] = {}
        self._guard = Lock()

    def add_knock(self, key: str, now: datetime) -> None:
        """Count an attempt."""
        with self._guard:
            self._forget_old(now)
            self._times.setdefault(key, []).append(now)

    def has_too_many(self, key: str, now: datetime) -> bool:
        """Say whether a key has used up its attempts."""
        with self._guard:
            self._forget_old(now)
            return len(self._times.get(key, ())) >= self._most

    def _forget_old(self, now: datetime) -> None:
        recent = {key: [at for at in times if now - at < self._within] for key, times in self._times.items()}
        self._times = {key: times for key, times in recent.items() if times}


def add_knocks(app: FastAPI) -> None:
    """Give an app its counts of attempts: wrong codes by address, and counts sent by link."""
    app.state.wrong_codes = Knocks(10, timedelta(minutes=15))
    app.state.sent_counts = Knocks(60, timedelta(hours=1))


def find_wrong_codes(request: Request) -> Knocks:
    """Return the codes that did not work, by the address from which they were tried."""
    knocks = request.app.state.wrong_codes
    assert isinstance(knocks, Knocks)
    return knocks


def find_sent_counts(request: Request) -> Knocks:
    """Return the counts that were sent, by link."""
    knocks = request.app.state.sent_counts
    assert isinstance(knocks, Knocks)
    return knocks
