"""What the pages work with; a part that needs more adds a field here and wires it in `bootstrap_web`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from elbowroom.service.paper_ports import PaperMaker
from elbowroom.service.people_ports import PasswordHasher
from elbowroom.service.record_tools import RecordTools


@dataclass(frozen=True, kw_only=True)
class WebTools:
    """The opened record and what else the pages need from outside."""

    record: RecordTools
    """The opened record."""
    hasher: PasswordHasher
    """Hashes passwords."""
    now: Callable[[], datetime]
    """Gives the time, UTC."""
    make_secret: Callable[[], str]
    """Gives a new random text that nobody can guess."""
    papers: PaperMaker
    """Makes papers of kept reports."""
    lock_after_s: float = 600.0
    """Seconds without a touch after which a session locks."""
    hosts: tuple[str, ...] = ("127.0.0.1", "localhost")
    """Names by which this machine may be asked."""
    is_sealed: bool = False
    """Whether the pages are served under TLS."""
