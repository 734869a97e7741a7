"""The wiring of the pages: what stands behind `WebTools`."""

from __future__ import annotations

import secrets
from datetime import UTC, datetime

from elbowroom.adapters.passwords.hashing import Argon2Hasher
from elbowroom.bootstrap_papers import PackagedPapers
from elbowroom.service.people_ports import PasswordHasher
from elbowroom.service.record_tools import RecordTools
from elbowroom.service.web_tools import WebTools
from elbowroom.settings import WebSettings

SECRET_BYTES = 32


def build_web_tools(record: RecordTools, settings: WebSettings, hosts: tuple[str, ...], *, is_sealed: bool) -> WebTools:
    """Return what the pages of an opened record need."""
    return WebTools(
        record=record,
        hasher=build_hasher(),
        now=lambda: datetime.now(UTC),
        make_secret=lambda: secrets.token_urlsafe(SECRET_BYTES),
        papers=PackagedPapers(),
        lock_after_s=settings.lock_after_s,
        hosts=hosts,
        is_sealed=is_sealed,
    )


def build_hasher() -> PasswordHasher:
    """Return what hashes the passwords of people."""
    return Argon2Hasher()
