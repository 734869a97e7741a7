"""What the pages work with; a part that needs more adds a field here and wires it in `bootstrap_web`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from elbowroom.core.quantities.types import Absent
from elbowroom.service.paper_ports import PaperMaker
from elbowroom.service.people_ports import PasswordHasher
from elbowroom.service.plan_tables import PlanTables
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.record_values import Stamp
from elbowroom.service.reviewing import ReviewTools

NO_REVIEW = Absent(reason="These pages were opened without the review: open them with `elbowroom open`.")
"""Stands for pages that were put together without it."""


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
    plan: PlanTables
    """Tables of intake, exam and drills."""
    lock_after_s: float = 600.0
    """Seconds without a touch after which a session locks."""
    hosts: tuple[str, ...] = ("127.0.0.1", "localhost")
    """Names by which this machine may be asked."""
    is_sealed: bool = False
    """Whether the pages are served under TLS."""
    review: ReviewTools | Absent = NO_REVIEW
    """What the review of a visit works with, or why there is none."""


@dataclass(frozen=True, kw_only=True)
class TlsKeys:
    """The certificate under which pages are served to other machines, and its key."""

    path: Path
    """File with the certificate and its sealed key, as PEM text."""
    password: str = field(repr=False)
    """What unseals the key."""
    fingerprint: str
    """SHA-256 of the certificate, as browsers show it."""


@dataclass(frozen=True, kw_only=True)
class FirstTools:
    """What the first start works with, while there is no record."""

    code: str
    """What the opened address has to bring, once."""
    begin_record: Callable[[str], RecordTools]
    """Makes an empty record under a passphrase; raises `RecordError`."""
    build_tools: Callable[[RecordTools], WebTools]
    """Gives what the pages of the new record need."""
    load_demo: Callable[[RecordTools, Stamp], None] | None
    """Adds the invented demo club, where one comes with this version."""
    hosts: tuple[str, ...] = ("127.0.0.1", "localhost")
    """Names by which this machine may be asked."""
